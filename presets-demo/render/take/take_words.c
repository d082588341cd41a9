// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_words.h"

#include "common/core/dsp.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#define FORMAT(n) __attribute__((format(printf, n, (n) + 1)))

typedef struct {
  char text[32];
} place;

/// m:ss.mmm
static place
place_of(double s)
{
  place               p;
  const unsigned long ms = (unsigned long)llround(1000.0 * s);
  (void)snprintf(p.text, sizeof(p.text), "%lu:%02lu.%03lu", ms / 60000,
                 ms / 1000 % 60, ms % 1000);
  return p;
}

/// Adds a line, whose text follows
FORMAT(6)
static void
say(take_lines* l,
    const char* kind,
    double      at_s,
    double      value,
    const char* unit,
    const char* format,
    ...)
{
  take_line* const line = &l->lines[l->n++];
  va_list          args;
  line->at_s  = at_s;
  line->value = value;
  (void)snprintf(line->kind, sizeof(line->kind), "%s", kind);
  (void)snprintf(line->unit, sizeof(line->unit), "%s", unit);
  va_start(args, format);
  // Clang 14's checker forgets va_start() from its second file of a run on
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized)
  (void)vsnprintf(line->text, sizeof(line->text), format, args);
  va_end(args);
}

static const char*
in_channel(const take_figures* f, uint32_t k)
{
  static const char* const names[] = {" in the left channel",
                                      " in the right channel"};
  return f->n_channels == 2 ? names[k] : "";
}

static void
say_clipping(take_lines* l, const take_figures* f)
{
  if (f->clipped > 0.0) {
    say(l, "clipping", f->clipped_s, 100.0 * f->clipped, "%",
        "clipped%s: %.2g %% of the frames are flat tops at %.1f dBFS, first at "
        "%s; record with less gain",
        in_channel(f, f->clipped_channel), 100.0 * f->clipped, f->rail_db,
        place_of(f->clipped_s).text);
  }
}

static void
say_dropouts(take_lines* l, const take_figures* f)
{
  if (f->n_dropouts) {
    say(l, "dropouts", f->dropout_s, f->dropouts_s, "s",
        "%u dropout%s, %.1f ms of zeros in the midst of the playing, first at "
        "%s; export or record it again",
        f->n_dropouts, f->n_dropouts == 1 ? "" : "s", 1000.0 * f->dropouts_s,
        place_of(f->dropout_s).text);
  }
}

static void
say_channel(take_lines* l, const take_figures* f)
{
  if (f->mend.channels != MEND_ALL_CHANNELS) {
    const bool is_left = f->mend.channels == MEND_LEFT_ONLY;
    say(l, "silent_channel", (double)NAN, is_left ? 2.0 : 1.0, "",
        "the %s channel is silent: the %s one is played as mono",
        is_left ? "right" : "left", is_left ? "left" : "right");
  }
}

static void
say_dc(take_lines* l, const take_figures* f)
{
  const bool   is_right = fabs(f->dc[1]) > fabs(f->dc[0]);
  const double dc       = f->dc[is_right];
  const bool   is_both  = f->dc[0] != 0.0 && f->dc[1] != 0.0;
  if (dc != 0.0) {
    say(l, "dc", (double)NAN, dc, "FS",
        "DC of %+.2g of full scale (%.1f dBFS)%s: it is removed before the "
        "stages; mend the interface or the export",
        dc, 20.0 * log10(fabs(dc)), is_both ? "" : in_channel(f, is_right));
  }
}

static void
say_hum(take_lines* l, const take_figures* f, double mains_hz)
{
  const hum_found* const h = &f->hum;
  if (h->mains_hz <= 0.0 || h->mains_hz == mains_hz) {
    return;
  }
  if (f->has_playing) {
    const double below_db = f->level_db - h->level_db;
    say(l, "hum", h->first_s, -below_db, "dB",
        "hum of %.0f Hz and its harmonics in the pauses, %.1f dB below the "
        "playing, first at %s; set hum = %.0f Hz in [di-cleanup]",
        h->mains_hz, below_db, place_of(h->first_s).text, h->mains_hz);
  } else {
    say(l, "hum", h->first_s, h->level_db, "dBFS",
        "hum of %.0f Hz and its harmonics at %.1f dBFS, first at %s; set hum = "
        "%.0f Hz in [di-cleanup]",
        h->mains_hz, h->level_db, place_of(h->first_s).text, h->mains_hz);
  }
}

static void
say_no_playing(take_lines* l, const take_figures* f, bool is_aligned)
{
  const char* const what =
    is_aligned ? "it is not aligned; check the file" : "check the file";
  if (isinf(f->level_db)) {
    say(l, "no_playing", (double)NAN, f->level_db, "dBFS",
        "no playing: nothing is above -70 dBFS; %s", what);
  } else {
    say(l, "no_playing", (double)NAN, f->level_db, "dBFS",
        "no playing, only steady noise or hum at %.1f dBFS; %s", f->level_db,
        what);
  }
}

static void
say_level(take_lines* l, const take_figures* f, bool is_aligned)
{
  const double above_db = f->level_db - ALIGN_RMS_DBFS;
  if (!f->has_playing) {
    say_no_playing(l, f, is_aligned);
  } else if (f->level_db < TAKE_QUIET_DBFS) {
    say(l, "quiet", (double)NAN, f->level_db, "dBFS",
        "very quiet: the playing is at %.1f dBFS RMS, %.1f dB below the level "
        "of the stages; %s",
        f->level_db, -above_db,
        is_aligned ? "alignment lifts its noise as well: record with more gain"
                   : "set align = yes, or record with more gain");
  } else if (f->level_db > TAKE_HOT_DBFS) {
    say(l, "hot", (double)NAN, f->level_db, "dBFS",
        "hot: the playing is at %.1f dBFS RMS, %.1f dB above the level of the "
        "stages (peak %+.1f dBFS); %s",
        f->level_db, above_db, f->peak_db,
        is_aligned ? "record with less gain"
                   : "set align = yes, or record with less gain");
  }
}

take_lines
take_words(const take_figures* f, bool is_aligned, double mains_hz)
{
  take_lines l = {.n = 0};
  say_clipping(&l, f);
  say_dropouts(&l, f);
  say_channel(&l, f);
  say_dc(&l, f);
  say_hum(&l, f, mains_hz);
  if (!isnan(f->level_db)) {
    say_level(&l, f, is_aligned);
  }
  return l;
}
