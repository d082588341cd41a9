// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The shipped setups fit the built bundle, and keep the level of the demo's
/// guitars

#include "tests/support/render_check.h"
#include "tests/support/take_sound.h"

#include <math.h>

/// Tail in which the plate falls below the renderer's warning, -60 dBFS
#define TAIL_S 4

/// Plays a setup, which must succeed and change the signal
static void
check_setup(const char* name, const sound* in)
{
  char line[1024];
  (void)snprintf(line, sizeof(line),
                 "in.wav --setup %s/%s -o out.wav --bits float --tail %d",
                 SETUP_DIR, name, TAIL_S);
  const int status = render_status(line);
  if (status || *read_text("stderr")) {
    fail_msg("%s: status %d: %s", name, status, read_text("stderr"));
  }
  sound  out    = sound_read("out.wav");
  double change = 0.0;
  assert_int_equal(out.info.frames, 9600 + TAIL_S * RATE_HZ);
  for (int i = 0; i < 9600; ++i) {
    for (int k = 0; k < out.info.channels; ++k) {
      const double got = (double)out.x[i * out.info.channels + k];
      change           = fmax(change, fabs(got - (double)in->x[i]));
    }
  }
  assert_true(change > 0.01);
  sound_free(&out);
}

static void
shipped_setups_play(void** state)
{
  (void)state;
  sound      in = sound_noise(FLOAT_WAV, RATE_HZ, 1, 9600);
  DIR* const d  = opendir(SETUP_DIR);
  int        n  = 0;
  assert_non_null(d);
  for (int i = 0; i < 9600; ++i) {
    in.x[i] *= 0.4F; // About -19 dBFS RMS
  }
  sound_write(&in, "in.wav");
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (strstr(e->d_name, ".ini")) {
      check_setup(e->d_name, &in);
      ++n;
    }
  }
  assert_true(n >= 21);
  (void)closedir(d);
  sound_free(&in);
}

/// RMS of the playing, pauses left out: windows of 400 ms, 100 ms apart, above
/// -70 dBFS, less those more than 10 LU below their mean.  The gate of ITU-R
/// BS.1770-5, annex 1, on mean squares without its frequency weighting.
static double
playing_db(const sound* s)
{
  const sf_count_t n       = s->info.samplerate * 4L / 10;
  double           gate_db = -70.0;
  double           mean    = 0.0;
  for (int pass = 0; pass < 2; ++pass) {
    double sum   = 0.0;
    int    count = 0;
    for (sf_count_t at = 0; at + n <= s->info.frames; at += n / 4) {
      double square = 0.0;
      for (sf_count_t i = at; i < at + n; ++i) {
        square += (double)s->x[i] * (double)s->x[i];
      }
      square /= (double)n;
      if (10.0 * log10(square + 1e-30) > gate_db) {
        sum += square;
        ++count;
      }
    }
    assert_true(count > 0);
    mean    = sum / count;
    gate_db = 10.0 * log10(mean) - 10.0;
  }
  return 10.0 * log10(mean);
}

/// -18 dBFS RMS in and out, so that setups compare fairly, each on the part
/// that it is made for
static void
setups_keep_the_level(void** state)
{
  (void)state;
  static const struct {
    take        part;
    const char* setup;
  } rows[]  = {{TAKE_RHYTHM_LEFT, "rhythm"},
               {TAKE_RHYTHM_LEFT, "heavy-rhythm"},
               {TAKE_RHYTHM_LEFT, "clean-double"},
               {TAKE_RHYTHM_LEFT, "acoustic"},
               {TAKE_LEAD, "lead"},
               {TAKE_LEAD, "solo"}};
  take last = N_TAKES;
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    if (rows[i].part != last) {
      take_write(rows[i].part, "take.wav");
      last = rows[i].part;
    }
    char line[1024];
    (void)snprintf(line, sizeof(line),
                   "take.wav --setup %s/%s.ini -o out.wav --bits float --quiet",
                   SETUP_DIR, rows[i].setup);
    const int status = render_status(line);
    if (status || *read_text("stderr")) {
      fail_msg("%s: status %d: %s", rows[i].setup, status, read_text("stderr"));
    }
    sound        out   = sound_read("out.wav");
    const double level = playing_db(&out);
    sound_free(&out);
    if (fabs(level + 18.0) > 1.0) {
      fail_msg("%s: out at %.2f dBFS RMS, want -18", rows[i].setup, level);
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(shipped_setups_play),
    cmocka_unit_test(setups_keep_the_level),
  };
  return cmocka_run_group_tests_name("shipped-setups", tests, enter_folder,
                                     leave_folder);
}
