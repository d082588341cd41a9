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
///   bits   = 24
///   stems  = flac
///   listen = 0:21
///   cache  = rendered
///
/// Any number of tracks; `file` alone is needed, other keys have the defaults
/// below.  A send or bus without a section does not exist.  Paths are relative
/// to the folder of the session file.  Comments and quotes as in setup.h; the
/// name of a track may stand in quotes, too: [track "left ] 2"].

#ifndef PRESETS_DEMO_SESSION_FILE_SESSION_FILE_H
#define PRESETS_DEMO_SESSION_FILE_SESSION_FILE_H

#include "presets-demo/render/audio/audio_out.h"

#define SESSION_N_SENDS        2U
#define SESSION_OFF_DB         (-60.0F) ///< A send level that sends nothing
#define SESSION_ALIGN_AS_SETUP (-1.0F)
#define SESSION_LISTEN_CHOSEN  (-1.0F) ///< Where the takes tell most
#define SESSION_LISTEN_OFF     (-2.0F) ///< Cannot be heard in the report

/// "plate", "room"
extern const char* const session_send_names[SESSION_N_SENDS];

/// A track, a send or the bus; members that a kind does not have stay 0
typedef struct {
  uint32_t line; ///< Of its heading; 0: no such section
  char*    name; ///< UTF-8, unique among tracks
  char*    slug; ///< For file names and ids (slug.h), unique among tracks
  char*    file;
  uint32_t file_line;
  char*    setup; ///< NULL: none
  uint32_t setup_line;
  float    align;                 ///< 1: one gain before the setup; 0: none;
                                  ///< else as its setup says
  float gain_db;                  ///< -60 to 24, 0: after the setup
  float pan;                      ///< -100 (left) to 100, 0
  float send_db[SESSION_N_SENDS]; ///< SESSION_OFF_DB to 12, off; after pan
  float listen_s;                 ///< Where the report's excerpt of the track
                                  ///< begins; SESSION_LISTEN_CHOSEN: as the
                                  ///< output says
  uint32_t listen_line;
} session_strip;

typedef enum {
  STEMS_OFF,
  STEMS_WAV,
  STEMS_FLAC,
} stems_kind;

typedef struct {
  float    rate_hz;  ///< 0: the highest of the tracks
  float    bits;     ///< A sample_format
  float    tail_s;   ///< 0 to 60, 4: after the longest track
  float    stems;    ///< A stems_kind
  float    listen_s; ///< Where the report's excerpts begin
  uint32_t listen_line;
  char*    cache; ///< Folder of rendered tracks, which need not be there yet;
                  ///< NULL: none
  uint32_t cache_line;
  float    cache_gb; ///< 0 to 100000, 20: what older files in it may take
} session_output;

typedef struct {
  char*          path;
  session_strip* tracks;
  uint32_t       n_tracks;
  session_strip  sends[SESSION_N_SENDS];
  session_strip  bus;
  session_output output;
} session;

/// Reads a session.  Returns false at the first fault, with a failure
/// "file:line: what was found; what was expected"; then `s` is empty.  Checks
/// that the files named in it exist, not their contents.
bool
session_load(session* s, const char* path, failure* f);

void
session_clear(session* s);

#endif // PRESETS_DEMO_SESSION_FILE_SESSION_FILE_H
