// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sessions: which recordings go through which setups into one mix, in an INI
/// file.
///
///   [track rhythm left]
///   file     = di/rhythm-left.wav
///   setup    = setups/rhythm.ini
///   align    = yes
///   gain_db  = -3
///   pan      = -70
///   plate_db = -20
///   room_db  = -14
///
///   [send plate]
///   setup = setups/plate.ini
///
///   [send room]
///   setup = setups/room.ini
///
///   [bus]
///   setup = setups/bus.ini
///
///   [output]
///   bits = 24
///
/// Any number of tracks; `file` alone is needed, other keys have the defaults
/// below.  A send or bus without a section is not there.  Files are seen from
/// the folder of the session file.  Comments as in setup.h.

#ifndef PRESETS_DEMO_SESSION_FILE_SESSION_FILE_H
#define PRESETS_DEMO_SESSION_FILE_SESSION_FILE_H

#include "presets-demo/render/audio/audio_out.h"

#define SESSION_N_SENDS        2U
#define SESSION_OFF_DB         (-60.0F) ///< A send level that sends nothing
#define SESSION_ALIGN_AS_SETUP (-1.0F)

/// "plate", "room"
extern const char* const session_send_names[SESSION_N_SENDS];

/// A track, a send or the bus; members a kind does not have stay 0
typedef struct {
  uint32_t line; ///< Of its heading; 0: not there
  char*    name; ///< Fit for the name of a file, unique among tracks
  char*    file;
  char*    setup;                 ///< NULL: none
  float    align;                 ///< 1: gain in front, once for the file; 0:
                                  ///< none; else what its setup says
  float gain_db;                  ///< -60 to 24, 0: behind the setup
  float pan;                      ///< -100 (left) to 100, 0
  float send_db[SESSION_N_SENDS]; ///< SESSION_OFF_DB to 12, off; behind pan
} session_strip;

typedef struct {
  float rate_hz; ///< 0: the highest of the tracks
  float bits;    ///< A sample_format
  float tail_s;  ///< 0 to 60, 4: behind the longest track
  float stems;   ///< 1: write them
} session_output;

typedef struct {
  char*          path;
  session_strip* tracks;
  uint32_t       n_tracks;
  session_strip  sends[SESSION_N_SENDS];
  session_strip  bus;
  session_output output;
} session;

/// False, with a line "file:line: what was found; what was expected", at the
/// first fault; `s` is empty then.  That files named in it exist is checked,
/// not what is in them.
bool
session_load(session* s, const char* path, failure* f);

void
session_clear(session* s);

#endif // PRESETS_DEMO_SESSION_FILE_SESSION_FILE_H
