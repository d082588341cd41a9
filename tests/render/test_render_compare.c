// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The dry recording beside the treated one: equally loud, in step, and changed
/// in level only.  libebur128 reads the files that were written.

#include "tests/support/render_check.h"

#include <ebur128.h>

/// Returns the integrated loudness; mono as heard from two loudspeakers
static double
lufs_of(const sound* s, double* true_peak_db)
{
  const uint32_t       n_channels = (uint32_t)s->info.channels;
  ebur128_state* const e =
    ebur128_init(n_channels, (unsigned long)s->info.samplerate,
                 EBUR128_MODE_I | EBUR128_MODE_TRUE_PEAK);
  double lufs = 0.0, top = 1e-9;
  assert_non_null(e);
  if (n_channels == 1) {
    ebur128_set_channel(e, 0, EBUR128_DUAL_MONO);
  }
  assert_int_equal(ebur128_add_frames_float(e, s->x, (size_t)s->info.frames),
                   0);
  assert_int_equal(ebur128_loudness_global(e, &lufs), 0);
  for (uint32_t k = 0; k < n_channels; ++k) {
    double peak = 0.0;
    assert_int_equal(ebur128_true_peak(e, k, &peak), 0);
    top = fmax(top, peak);
  }
  ebur128_destroy((ebur128_state*[]){e});
  *true_peak_db = 20.0 * log10(top);
  return lufs;
}

/// Six seconds of plucked notes; `peak` is about the highest sample
static sound
plucks_of(int n_channels, double peak)
{
  sound s = sound_new(FLOAT_WAV, RATE_HZ, n_channels, 6 * RATE_HZ);
  for (sf_count_t i = 0; i < s.info.frames; ++i) {
    const double t     = (double)(i % (RATE_HZ / 2)) / RATE_HZ;
    const double f0_hz = 110.0 * (double)(1 + i / (RATE_HZ / 2) % 3);
    double       x     = 0.0;
    for (int h = 1; h < 8; ++h) {
      x += exp(-(2.0 + h) * t) * sin(2.0 * DSP_PI * f0_hz * h * t) / h;
    }
    for (int k = 0; k < n_channels; ++k) {
      s.x[i * n_channels + k] = (float)(peak * x / 1.6 / (1 + k));
    }
  }
  return s;
}

/// Renders in.wav and reads both files
static void
compare_on(const char* bundle, const char* line, sound* out, sound* dry)
{
  char text[1024];
  (void)snprintf(text, sizeof(text),
                 "--bundle %s in.wav --setup s.ini -o out.wav --compare %s",
                 bundle, line);
  const int status = render_status(text);
  if (status || *read_text("stderr")) {
    fail_msg("%s: status %d: %s", line, status, read_text("stderr"));
  }
  *out = sound_read("out.wav");
  *dry = sound_read("out-dry.wav");
}

/// Checks a pair: equally loud, equally long; `dry` is `in` with one gain, then
/// silence
static void
check_pair(const sound* in, const sound* out, const sound* dry)
{
  double       out_peak_db, dry_peak_db;
  const double out_lufs = lufs_of(out, &out_peak_db);
  const double dry_lufs = lufs_of(dry, &dry_peak_db);
  print_message("# %.2f and %.2f LUFS, %.2f and %.2f dBTP\n", out_lufs,
                dry_lufs, out_peak_db, dry_peak_db);
  assert_near(dry_lufs, out_lufs, 0.02);
  assert_true(fmax(out_peak_db, dry_peak_db) < -1.0 + 0.01);
  assert_int_equal(out->info.frames, dry->info.frames);
  assert_int_equal(in->info.channels, dry->info.channels);

  const sf_count_t n    = in->info.frames * in->info.channels;
  double           both = 0.0, one = 0.0;
  for (sf_count_t i = 0; i < n; ++i) {
    both += (double)in->x[i] * (double)dry->x[i];
    one += (double)in->x[i] * (double)in->x[i];
  }
  for (sf_count_t i = 0; i < dry->info.frames * dry->info.channels; ++i) {
    const double want = i < n ? both / one * (double)in->x[i] : 0.0;
    assert_near((double)dry->x[i], want, 2e-7); // 24 bits
  }
}

static void
dry_is_as_loud_as_treated(void** state)
{
  // Mono and stereo; softer and louder than the output
  static const double peaks[] = {0.04, 0.9};
  (void)state;
  write_text("s.ini", "[input-compressor]\nthreshold_db = -30\n"
                      "[tube-stage]\ndrive_db = 30\n[speaker-breakup]\n");
  for (int k = 0; k < 4; ++k) {
    sound in = plucks_of(1 + k % 2, peaks[k / 2]);
    sound out, dry;
    sound_write(&in, "in.wav");
    compare_on(BUNDLE_DIR, "", &out, &dry);
    check_pair(&in, &out, &dry);
    sound_free(&in);
    sound_free(&out);
    sound_free(&dry);
  }
}

/// Returns the one gain by which the treated file differs from the one written
/// without --compare
static double
turned_down_db(const char* trim)
{
  char text[1024];
  (void)snprintf(text, sizeof(text),
                 "align = yes\n[tube-stage]\ntrim_db = %s\n", trim);
  write_text("s.ini", text);
  (void)snprintf(text, sizeof(text),
                 "--bundle %s in.wav --setup s.ini -o plain.wav --bits float",
                 BUNDLE_DIR);
  assert_int_equal(render_status(text), 0);
  sound plain = sound_read("plain.wav");
  sound out, dry;
  compare_on(BUNDLE_DIR, "--bits float", &out, &dry);
  assert_int_equal(plain.info.frames, out.info.frames);
  double both = 0.0, one = 0.0;
  for (sf_count_t i = 0; i < out.info.frames; ++i) {
    both += (double)plain.x[i] * (double)out.x[i];
    one += (double)plain.x[i] * (double)plain.x[i];
  }
  for (sf_count_t i = 0; i < out.info.frames; ++i) {
    assert_near((double)out.x[i], both / one * (double)plain.x[i], 1e-6);
  }
  double out_peak_db = 0.0, dry_peak_db = 0.0;
  assert_near(lufs_of(&out, &out_peak_db), lufs_of(&dry, &dry_peak_db), 0.02);
  if (both < 0.999 * one) { // Then by no more than it takes
    assert_near(fmax(out_peak_db, dry_peak_db), -1.0, 0.02);
  }
  sound_free(&out);
  sound_free(&dry);
  sound_free(&plain);
  return -20.0 * log10(both / one);
}

static void
treated_is_turned_down_if_need_be(void** state)
{
  (void)state;
  sound in = plucks_of(1, 0.5);
  sound_write(&in, "in.wav");
  assert_near(turned_down_db("-6"), 0.0, 1e-6);
  assert_non_null(strstr(read_text("stdout"), "out-dry.wav: dry, "));
  assert_null(strstr(read_text("stdout"), "turned down"));
  const double hot_db = turned_down_db("18");
  print_message("# turned down by %.1f dB\n", hot_db);
  assert_true(hot_db > 3.0);
  assert_non_null(strstr(read_text("stdout"), "turned down by"));
  sound_free(&in);
}

/// With a pure delay of 37 frames and 6 dB both files are the same, in time and
/// level
static void
both_line_up(void** state)
{
  (void)state;
  write_text("s.ini", "[delay]\ngain_db = 6\n");
  sound in = plucks_of(2, 0.25);
  sound out, dry;
  sound_write(&in, "in.wav");
  compare_on(FIXTURE_DIR, "--bits float --tail 0.5", &out, &dry);
  assert_int_equal(out.info.frames, in.info.frames + RATE_HZ / 2);
  assert_int_equal(out.info.frames, dry.info.frames);
  for (sf_count_t i = 0; i < 2 * out.info.frames; ++i) {
    assert_near((double)dry.x[i], (double)out.x[i], 1e-6);
  }
  sound_free(&in);
  sound_free(&out);
  sound_free(&dry);
}

static void
another_rate(void** state)
{
  (void)state;
  write_text("s.ini", "[air-shelf]\n");
  sound  in = plucks_of(1, 0.25);
  sound  out, dry;
  double peak_db;
  sound_write(&in, "in.wav");
  compare_on(BUNDLE_DIR, "--rate 44100", &out, &dry);
  assert_int_equal(dry.info.samplerate, 44100);
  assert_int_equal(out.info.frames, dry.info.frames);
  assert_near(lufs_of(&dry, &peak_db), lufs_of(&out, &peak_db), 0.02);
  sound_free(&in);
  sound_free(&out);
  sound_free(&dry);
}

/// One line, status 1, and no new file
static void
check_failure(const char* line, const char* want)
{
  const int before = count_files(".");
  char      text[1024];
  (void)snprintf(text, sizeof(text), "--bundle %s --compare --quiet %s",
                 FIXTURE_DIR, line);
  const int status = render_status(text);
  assert_int_equal(WEXITSTATUS(status), 1);
  assert_string_equal(read_text("stderr"), want);
  assert_int_equal(count_files("."), before);
}

static void
failures_leave_nothing(void** state)
{
  (void)state;
  write_text("s.ini", "[delay]\n");
  sound in = sound_new(FLOAT_WAV, RATE_HZ, 1, RATE_HZ);
  sound_write(&in, "in.wav");
  sound_write(&in, "a-dry.wav");
  check_failure("in.wav --setup s.ini -o new.wav",
                "dustcap-render: warning: in.wav: no playing: nothing is above "
                "-70 dBFS; check the file\n"
                "dustcap-render: --compare: the input has no loudness (it is "
                "silent, or shorter than 400 ms)\n");
  check_failure("a-dry.wav --setup s.ini -o a.wav",
                "dustcap-render: a-dry.wav: is the input; expected another "
                "file to write\n");
  sound_free(&in);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(dry_is_as_loud_as_treated),
    cmocka_unit_test(treated_is_turned_down_if_need_be),
    cmocka_unit_test(both_line_up),
    cmocka_unit_test(another_rate),
    cmocka_unit_test(failures_leave_nothing),
  };
  return cmocka_run_group_tests_name("render_compare", tests, enter_folder,
                                     leave_folder);
}
