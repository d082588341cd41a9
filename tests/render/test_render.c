// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The renderer from end to end: the output is the input, in step with it, in
/// every format.  The plugins of render-fixture/ delay by 37 frames and do
/// nothing else by default, so every sample is known.

#include "tests/support/render_check.h"

/// Checks that `got` is `want` times `gain`, then silence
static void
check_same(const sound* got, const sound* want, float gain)
{
  assert_int_equal(got->info.channels, want->info.channels);
  assert_int_equal(got->info.samplerate, want->info.samplerate);
  const sf_count_t n = want->info.frames * want->info.channels;
  for (sf_count_t i = 0; i < got->info.frames * got->info.channels; ++i) {
    const float x = i < n ? gain * want->x[i] : 0.0F;
    if (got->x[i] != x) {
      fail_msg("sample %lld: %.9g, want %.9g", (long long)i, (double)got->x[i],
               (double)x);
    }
  }
}

/// Two stages, late by 2 x 37 frames, both switched off
static void
latency_is_taken_out(void** state)
{
  (void)state;
  static const sf_count_t lengths[] = {1, 36, 511, 512, 513, 1024, 4801};
  write_text("off.ini", "[delay]\nenabled = off\ngain_db = 6\n"
                        "[widener]\nenabled = off\nmode = upside down\n");
  for (size_t i = 0; i < sizeof(lengths) / sizeof(lengths[0]); ++i) {
    sound in = sound_noise(FLOAT_WAV, 48000, 2, lengths[i]);
    sound_write(&in, "in.wav");
    render_well("in.wav --setup off.ini -o out.wav --bits float --tail 0.25 "
                "--quiet");
    sound out = sound_read("out.wav");
    assert_int_equal(out.info.frames, lengths[i] + 12000);
    check_same(&out, &in, 1.0F);
    sound_free(&out);
    sound_free(&in);
  }
}

static void
stages_are_played(void** state)
{
  (void)state;
  write_text("once.ini", "[delay]\nmode = upside down\n");
  write_text("twice.ini", "[delay]\nmode = upside down\n"
                          "[breaker]\nmode = upside down\n");
  sound in = sound_noise(FLOAT_WAV, 44100, 1, 900);
  sound_write(&in, "in.wav");
  render_well("in.wav --setup once.ini -o out.wav --bits float --tail 0");
  sound out = sound_read("out.wav");
  assert_int_equal(out.info.frames, 900);
  check_same(&out, &in, -1.0F);
  sound_free(&out);
  render_well("in.wav --setup twice.ini -o out.wav --bits float --tail 0");
  out = sound_read("out.wav");
  check_same(&out, &in, 1.0F);
  sound_free(&out);
  sound_free(&in);
}

static void
mono_becomes_stereo_where_a_stage_does(void** state)
{
  (void)state;
  write_text("split.ini", "[delay]\n[splitter]\n[widener]\n");
  write_text("wide.ini", "[widener]\n");
  sound in = sound_noise(FLOAT_WAV, 48000, 1, 2000);
  sound_write(&in, "in.wav");
  for (int split = 0; split < 2; ++split) {
    render_well(split ? "in.wav --setup split.ini -o out.wav --bits float"
                      : "in.wav --setup wide.ini -o out.wav --bits float");
    sound out = sound_read("out.wav");
    assert_int_equal(out.info.channels, 2);
    assert_int_equal(out.info.frames, 2000 + 48000);
    for (sf_count_t i = 0; i < 2000; ++i) {
      assert_true(out.x[2 * i] == in.x[i]);
      assert_true(out.x[2 * i + 1] == (split ? -in.x[i] : in.x[i]));
    }
    sound_free(&out);
  }
  sound_free(&in);
}

/// Every input format comes back unchanged when written with as many bits
static void
formats(void** state)
{
  (void)state;
  static const struct {
    const char* in;
    int         format;
    const char* out;
    const char* bits;
  } rows[] = {
    {"in.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_16, "o.wav", "24"},
    {"in.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, "o.wav", "24"},
    {"in.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, "o.flac", "24"},
    {"in.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_24, "o.aiff", "24"},
    {"in.wav", SF_FORMAT_WAV | SF_FORMAT_PCM_32, "o.wav", "float"},
    {"in.wav", SF_FORMAT_WAV | SF_FORMAT_FLOAT, "o.WAV", "float"},
    {"in.wav", SF_FORMAT_WAVEX | SF_FORMAT_PCM_24, "o.aif", "float"},
    {"in.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_16, "o.wav", "24"},
    {"in.flac", SF_FORMAT_FLAC | SF_FORMAT_PCM_24, "o.flac", "24"},
    {"in.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_16, "o.wav", "24"},
    {"in.aiff", SF_FORMAT_AIFF | SF_FORMAT_PCM_24, "o.wav", "24"},
    {"in.aiff", SF_FORMAT_AIFF | SF_FORMAT_FLOAT, "o.aiff", "float"},
  };
  write_text("off.ini", "[delay]\n");
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    char  line[256];
    sound noise = sound_noise(rows[i].format, 96000, 2, 3000);
    sound_write(&noise, rows[i].in);
    sound in = sound_read(rows[i].in); // Rounded to its format
    (void)snprintf(line, sizeof(line), "%s --setup off.ini -o %s --bits %s",
                   rows[i].in, rows[i].out, rows[i].bits);
    render_well(line);
    sound out = sound_read(rows[i].out);
    check_same(&out, &in, 1.0F);
    const int samples = out.info.format & SF_FORMAT_SUBMASK;
    assert_int_equal(samples,
                     *rows[i].bits == 'f' ? SF_FORMAT_FLOAT : SF_FORMAT_PCM_24);
    sound_free(&out);
    sound_free(&in);
    sound_free(&noise);
    (void)unlink(rows[i].in);
    (void)unlink(rows[i].out);
  }
}

static void
rates_are_kept(void** state)
{
  (void)state;
  static const int rates_hz[] = {8000, 44100, 192000, 384000};
  write_text("off.ini", "[delay]\n");
  for (size_t i = 0; i < sizeof(rates_hz) / sizeof(rates_hz[0]); ++i) {
    sound in = sound_noise(FLOAT_WAV, rates_hz[i], 1, 2000);
    sound_write(&in, "in.wav");
    render_well("in.wav --setup off.ini -o out.wav --bits float");
    sound out = sound_read("out.wav");
    assert_int_equal(out.info.frames, 2000 + rates_hz[i]);
    check_same(&out, &in, 1.0F);
    sound_free(&out);
    sound_free(&in);
  }
}

/// A sine at one rate is the same sine at another: checked against the closed
/// form
static void
rates_are_converted(void** state)
{
  (void)state;
  static const int rates_hz[][2] = {
    {44100, 48000}, {96000, 44100}, {8000, 8001}};
  write_text("off.ini", "[delay]\n");
  for (size_t i = 0; i < 3; ++i) {
    const int from_hz = rates_hz[i][0];
    const int to_hz   = rates_hz[i][1];
    sound     in      = sound_new(FLOAT_WAV, from_hz, 1, from_hz);
    check_sine(in.x, (uint32_t)from_hz, 1000.0, 0.5, from_hz);
    sound_write(&in, "in.wav");
    char line[128];
    (void)snprintf(line, sizeof(line),
                   "in.wav --setup off.ini -o out.wav --bits float --rate %d "
                   "--tail 0",
                   to_hz);
    render_well(line);
    sound out = sound_read("out.wav");
    assert_int_equal(out.info.samplerate, to_hz);
    assert_int_equal(out.info.frames, to_hz); // One second of each
    double worst = 0.0;
    for (int k = to_hz / 4; k < to_hz * 3 / 4; ++k) {
      const double want = 0.5 * sin(2.0 * DSP_PI * 1000.0 * k / to_hz);
      worst             = fmax(worst, fabs((double)out.x[k] - want));
    }
    assert_near(worst, 0.0, 3e-7); // -130 dBFS: the rounding of floats
    sound_free(&out);
    sound_free(&in);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(latency_is_taken_out),
    cmocka_unit_test(stages_are_played),
    cmocka_unit_test(mono_becomes_stereo_where_a_stage_does),
    cmocka_unit_test(formats),
    cmocka_unit_test(rates_are_kept),
    cmocka_unit_test(rates_are_converted),
  };
  return cmocka_run_group_tests_name("render", tests, enter_folder,
                                     leave_folder);
}
