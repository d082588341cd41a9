// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the renderer says about a take, and what it does about it

#include "tests/support/render_check.h"

#include "common/core/dsp.h"

#define N (6 * RATE_HZ)

/// Notes of 1 s, of all phases, between seconds of silence; RMS of the
/// playing about -17 dBFS for a `peak` of 0.5
static float
note_at(int i, double peak)
{
  const double t      = (double)(i % RATE_HZ) / RATE_HZ;
  const int    number = i / RATE_HZ;
  const bool   is_in  = i >= RATE_HZ && i < N - RATE_HZ;
  return is_in ? (float)(peak * exp(-2.0 * t) *
                         sin(2.0 * DSP_PI * 220.0 * t + 1.7 * number))
               : 0.0F;
}

static sound
notes(uint32_t n_channels, double peak)
{
  sound s = sound_new(FLOAT_WAV, RATE_HZ, (int)n_channels, N);
  for (int i = 0; i < N; ++i) {
    s.x[(long)i * n_channels] = note_at(i, peak);
  }
  return s;
}

/// Renders in.wav on the bundle; what it says must end with `want`
static sound
rendered(const char* option, const char* want)
{
  char line[512];
  char text[1024] = "";
  (void)snprintf(line, sizeof(line),
                 "--bundle %s in.wav --setup s.ini -o out.wav --bits float %s",
                 BUNDLE_DIR, option);
  if (*want) {
    (void)snprintf(text, sizeof(text), "dustcap-render: warning: in.wav: %s\n",
                   want);
  }
  assert_int_equal(render_status(line), 0);
  assert_string_equal(read_text("stderr"), text);
  return sound_read("out.wav");
}

static sound
rendered_of(sound* in, const char* option, const char* want)
{
  sound_write(in, "in.wav");
  sound_free(in);
  return rendered(option, want);
}

/// Checks that two sounds are the same within a share of full scale
static void
check_same(const sound* a, const sound* b, double tolerance)
{
  assert_int_equal(a->info.channels, b->info.channels);
  assert_int_equal(a->info.frames, b->info.frames);
  for (sf_count_t i = 0; i < a->info.frames * a->info.channels; ++i) {
    assert_near((double)a->x[i], (double)b->x[i], tolerance);
  }
}

static const char aligned[] =
  "align = yes\n[di-cleanup]\n[tube-stage]\ndrive_db = 20\n";

/// One line each, also with --quiet, and the status is still 0
static void
each_fault_has_its_line(void** state)
{
  (void)state;
  write_text("s.ini", aligned);
  sound in  = notes(1, 0.5);
  sound out = rendered_of(&in, "", "");
  sound_free(&out);

  in = notes(1, 0.5);
  for (int i = 0; i < N; ++i) {
    in.x[i] = fminf(in.x[i], 0.4F);
  }
  out = rendered_of(&in, "--quiet",
                    "clipped: 1 % of the frames are flat tops at -8.0 dBFS, "
                    "first at 0:01.000; record with less gain");
  sound_free(&out);

  in = notes(1, 0.5);
  memset(in.x + 2 * RATE_HZ + 4800, 0, 480 * sizeof(float));
  out = rendered_of(&in, "",
                    "1 dropout, 10.0 ms of zeros in the midst of the playing, "
                    "first at 0:02.100; export or record it again");
  sound_free(&out);

  in = notes(1, 0.5);
  for (int i = 0; i < N; ++i) {
    in.x[i] += 0.003F * sinf((float)(2.0 * DSP_PI * 50.0 / RATE_HZ) *
                             (float)(i % RATE_HZ));
  }
  sound_write(&in, "in.wav");
  out = rendered("", "hum of 50 Hz and its harmonics in the pauses, 38.2 dB "
                     "below the playing, first at 0:00.000; set hum = 50 Hz in "
                     "[di-cleanup]");
  sound_free(&out);
  // The setup does it
  write_text("s.ini", "align = yes\n[di-cleanup]\nhum = 50 Hz\n");
  out = rendered_of(&in, "", "");
  sound_free(&out);

  write_text("s.ini", "[di-cleanup]\n");
  in  = notes(1, 0.004);
  out = rendered_of(&in, "",
                    "very quiet: the playing is at -57.2 dBFS RMS, 39.2 dB "
                    "below the level of the stages; set align = yes, or record "
                    "with more gain");
  sound_free(&out);
}

static void
without_playing_nothing_is_aligned(void** state)
{
  (void)state;
  write_text("s.ini", aligned);
  uint32_t seed = 3;
  sound    in   = notes(1, 0.0);
  for (int i = 0; i < N; ++i) {
    in.x[i] = 0.001F * check_noise(&seed);
  }
  sound out = rendered_of(&in, "",
                          "no playing, only steady noise or hum at -64.8 dBFS; "
                          "it is not aligned; check the file");
  assert_non_null(strstr(read_text("stdout"),
                         "Not aligned to -18 dBFS RMS: there is no playing\n"));
  sound_free(&out);
}

/// The same as of the mono file, in level too
static void
silent_channel_makes_it_mono(void** state)
{
  (void)state;
  write_text("s.ini", aligned);
  sound in  = notes(1, 0.3);
  sound one = rendered_of(&in, "", "");
  in        = notes(2, 0.3);
  sound two = rendered_of(&in, "--compare",
                          "the right channel is silent: the left one is played "
                          "as mono");
  sound dry = sound_read("out-dry.wav");
  assert_int_equal(two.info.channels, 1);
  assert_int_equal(dry.info.channels, 1);
  check_same(&one, &two, 0.0);
  sound_free(&dry);
  sound_free(&two);
  // The other one, at another rate
  in = notes(2, 0.3);
  for (int i = 0; i < N; ++i) {
    in.x[2 * i + 1] = in.x[2 * i];
    in.x[2 * i]     = 0.0F;
  }
  sound_free(&one);
  two = rendered_of(&in, "--rate 44100",
                    "the left channel is silent: the right one is played as "
                    "mono");
  in  = notes(1, 0.3);
  one = rendered_of(&in, "--rate 44100", "");
  check_same(&one, &two, 0.0);
  sound_free(&one);
  sound_free(&two);
}

/// No thump, the same gain, the same sound; nothing of it in the dry file
static void
dc_is_removed(void** state)
{
  (void)state;
  write_text("s.ini", aligned);
  uint32_t seed = 5; // Pauses as they are, for 0 would be no DC
  sound    in   = notes(1, 0.3);
  for (int i = 0; i < N; ++i) {
    in.x[i] += 1e-5F * check_noise(&seed);
  }
  sound with = sound_new(FLOAT_WAV, RATE_HZ, 1, N);
  for (int i = 0; i < N; ++i) {
    with.x[i] = in.x[i] + 0.2F;
  }
  sound  want = rendered_of(&in, "", "");
  sound  got  = rendered_of(&with, "--compare",
                            "DC of +0.2 of full scale (-14.0 dBFS): it is "
                              "removed before the stages; mend the interface or "
                              "the export");
  sound  dry  = sound_read("out-dry.wav");
  double sum  = 0.0;
  for (int i = 0; i < RATE_HZ / 4; ++i) {
    sum += (double)dry.x[i];
  }
  assert_near(4.0 * sum / RATE_HZ, 0.0, 1e-4);
  check_same(&want, &got, 2e-3);
  for (int i = 0; i < RATE_HZ / 4; ++i) { // A thump would be here
    assert_near((double)got.x[i], 0.0, 1e-3);
  }
  sound_free(&dry);
  sound_free(&got);
  sound_free(&want);
}

/// However quiet it is, or hot: the same sound behind the alignment
static void
alignment_has_no_end(void** state)
{
  (void)state;
  write_text("s.ini", aligned);
  sound in   = notes(1, 0.3);
  sound want = rendered_of(&in, "", "");
  static const struct {
    double      gain_db;
    const char* line;
  } rows[] = {{-28.0, "very quiet: the playing is at -47.7 dBFS RMS, 29.7 dB "
                      "below the level of the stages; alignment lifts its "
                      "noise as well: record with more gain"},
              {-49.0, "very quiet: the playing is at -67.1 dBFS RMS, 49.1 dB "
                      "below the level of the stages; alignment lifts its "
                      "noise as well: record with more gain"},
              {45.0, "hot: the playing is at 25.3 dBFS RMS, 43.3 dB above the "
                     "level of the stages (peak +34.5 dBFS); record with less "
                     "gain"}};
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    in        = notes(1, 0.3 * pow(10.0, rows[i].gain_db / 20.0));
    sound got = rendered_of(&in, "", rows[i].line);
    check_same(&want, &got, 1e-3);
    sound_free(&got);
  }
  sound_free(&want);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(each_fault_has_its_line),
    cmocka_unit_test(without_playing_nothing_is_aligned),
    cmocka_unit_test(silent_channel_makes_it_mono),
    cmocka_unit_test(dc_is_removed),
    cmocka_unit_test(alignment_has_no_end),
  };
  return cmocka_run_group_tests_name("takes-rendered", tests, enter_folder,
                                     leave_folder);
}
