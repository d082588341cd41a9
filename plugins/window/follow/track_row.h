// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One window's place in a row: the plugins of one track, which are compared as
/// a whole.  One window calls; all turn to the untreated sound, at equal
/// loudness, and back, and say so.
///
/// A row has a number, 1 to 8, which the user chooses, and a random mark, so
/// that the rows of two open songs do not hear each other.  Both are one hidden
/// control that the host saves.  It is not the mark of a group: groups of
/// different plugins have different ones, and a row has windows of them all.
///
/// For the user interface's thread.

#ifndef PLUGINS_WINDOW_FOLLOW_TRACK_ROW_H
#define PLUGINS_WINDOW_FOLLOW_TRACK_ROW_H

#include "message.h"

enum {
  TRACK_ROWS        = 8,
  TRACK_ROW_MEMBERS = 32, ///< Besides the window itself
  TRACK_ROW_OFFERS  = 3,
  TRACK_ROW_TEXT    = 64,
};

/// Stands in the hidden control while a comparison has turned the stage off: a
/// session that was saved then says so itself
#define TRACK_ROW_TURNED (1U << 23U)

/// So long the others have to answer
#define TRACK_ROW_ANSWER_S 0.1

/// What it asks of its window
typedef struct {
  void* handle;
  void (*post)(void* handle, const window_message* m);
  void (*save)(void* handle, uint32_t value);
  /// Sees to it that equal loudness is on
  void (*match)(void* handle);
  /// Whether that is on, and has settled
  bool (*is_ready)(void* handle);
  /// To the untreated sound, or back: what was off before stays off
  void (*turn)(void* handle, bool is_untreated);
  /// track_row_says() has something new
  void (*tell)(void* handle);
} track_row_host;

typedef struct {
  uint32_t sender;
  bool     is_ready, is_untreated;
  bool     has_turned; ///< It has answered the last turn
  double   heard_s;
} track_row_member;

typedef enum { ROW_RESTS, ROW_MEASURES, ROW_TURNS } track_row_phase;

typedef struct {
  track_row_host host;
  uint32_t       sender;
  uint32_t       number, mark; ///< 0: in no row
  bool           is_untreated;
  bool           leads; ///< It brought the row there, and has yet to go back
  bool           said_ready;
  double         now_s;

  // While this window leads
  track_row_phase phase;
  uint32_t        turn; ///< Its mark
  bool            is_told;
  uint32_t        told; ///< What it said last
  double          since_s;

  track_row_member members[TRACK_ROW_MEMBERS];
  uint32_t         n_members;
  /// Rows of other windows, as values of the control
  uint32_t offers[TRACK_ROW_OFFERS];
  uint32_t n_offers;
} track_row;

void
track_row_init(track_row* r, const track_row_host* host, uint32_t sender);

/// Turns back, the whole row if it led there, and says goodbye
void
track_row_end(track_row* r);

/// The hidden control as the host has it, whether turned or not
void
track_row_take(track_row* r, uint32_t value);

/// Enters the row of that number which windows of this process are in, else a
/// new one; 0: leaves
void
track_row_choose(track_row* r, uint32_t number);

/// Enters a row by its value, one of the offers
void
track_row_enter(track_row* r, uint32_t value);

/// Asks for the rows of other windows: they become the offers
void
track_row_ask(track_row* r);

/// The number of a value of the control, 1 to 8; 0: no row
uint32_t
track_row_number(uint32_t value);

/// To the untreated sound, once all are ready, or back; while it measures:
/// gives up
void
track_row_press(track_row* r);

/// Any message that came; its own are passed over
void
track_row_hear(track_row* r, const window_message* w);

void
track_row_tick(track_row* r, double now_s);

/// Whether the row plays untreated, here or elsewhere
bool
track_row_is_untreated(const track_row* r);

/// Writes "measuring: 5 of 7 ready" or "7 of 7 windows: untreated"
void
track_row_says(const track_row* r, char text[TRACK_ROW_TEXT]);

#endif // PLUGINS_WINDOW_FOLLOW_TRACK_ROW_H
