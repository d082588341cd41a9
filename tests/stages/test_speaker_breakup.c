// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

// The whole loudspeaker

#include "tests/support/promises.h"

#include "common/stages/speaker_breakup.h"

#define MAX_FRAMES 240000

static float wave[MAX_FRAMES];

/// A control's value; a row of them ends with NULL
typedef struct {
  const char* symbol;
  double      value;
} setting;

static rig
rig_with(double rate_hz, const setting* settings)
{
  rig r = rig_open(&speaker_breakup_ops, rate_hz, 1, NULL);
  for (; settings->symbol; ++settings) {
    *rig_value(&r, settings->symbol) = (float)settings->value;
  }
  stage_set(&r.st, r.values);
  stage_reset(&r.st);
  return r;
}

static void
test_promises(void** state)
{
  (void)state;
  rig r = rig_open(&speaker_breakup_ops, 48000.0, 1, NULL);
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  *rig_value(&r, "back")    = 1.0F;
  *rig_value(&r, "quality") = 2.0F;
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  *rig_value(&r, "mix_pc") = 0.0F; // Neither modes nor breakup run
  promise_any_blocks(&r, NULL);
  promise_stereo_is_mono(&r, NULL);
  rig_close(&r);
}

static void
test_finite(void** state)
{
  (void)state;
  promise_finite(&speaker_breakup_ops, 2);
  promise_finite_held(&speaker_breakup_ops, 2);
}

/// Control i of `r` jumps to v and back: nothing above 4 kHz that is not there
/// before or after
static double
jump_db(const rig* r, uint32_t i, float v)
{
  float to[RIG_MAX_PARAMS];
  memcpy(to, r->values, sizeof(to));
  to[i] = v;

  double worst = -240.0;
  for (int back = 0; back < 2; ++back) {
    const float* const from = back ? to : r->values;
    const click_peaks  p =
      click_of_jump(&speaker_breakup_ops, 48000.0, from, back ? r->values : to);
    const double steady = fmax(p.before_db, p.after_db);
    if (p.jump_db > fmax(CLICK_LIMIT_DB, steady + 3.0)) {
      fail_msg("%s to %g: %.1f dBFS, steady %.1f",
               speaker_breakup_param_info[i].symbol, (double)v, p.jump_db,
               steady);
    }
    worst = fmax(worst, steady > CLICK_LIMIT_DB ? worst : p.jump_db);
  }
  return worst;
}

// All controls, with breakup in the sound and without
static void
test_no_click(void** state)
{
  (void)state;
  static const setting none[] = {{NULL, 0.0}};
  static const setting dry[]  = {{"mix_pc", 0.0}, {NULL, 0.0}};

  double worst = -240.0;
  for (int k = 0; k < 2; ++k) {
    rig r = rig_with(48000.0, k ? dry : none);
    for (uint32_t i = 0; i < speaker_breakup_n_params; ++i) {
      const param_info* p = &speaker_breakup_param_info[i];
      worst               = fmax(worst, jump_db(&r, i, p->min));
      worst               = fmax(worst, jump_db(&r, i, p->max));
    }
    rig_close(&r);
  }
  print_message("# worst click %.1f dBFS above 4 kHz\n", worst);
}

static double
response_db(uint32_t n, double f_hz, double rate_hz)
{
  return gain_to_db(0.5 * n * check_tone(wave, n, f_hz, rate_hz));
}

/// Records the response of a rig to an impulse of -60 dBFS in `wave`
static void
impulse(rig* r, uint32_t n)
{
  memset(wave, 0, n * sizeof(float));
  wave[0] = 1e-3F;
  stage_reset(&r->st);
  rig_run(r, wave, wave, n);
  for (uint32_t i = 0; i < n; ++i) {
    wave[i] *= 1000.0F;
  }
}

// With `cabinet` off and no breakup only the latency is left
static void
test_latency(void** state)
{
  (void)state;
  static const double rates[] = {22050.0, 44100.0, 48000.0, 96000.0, 192000.0};
  for (size_t k = 0; k < sizeof(rates) / sizeof(rates[0]); ++k) {
    for (int quality = 0; quality < 3; ++quality) {
      const setting flat[] = {
        {"cabinet", 0.0}, {"mix_pc", 0.0}, {"quality", quality}, {NULL, 0.0}};
      rig            r = rig_with(rates[k], flat);
      const uint32_t n = 1024;
      impulse(&r, n);
      const uint32_t late = r.st.ops->latency_frames(r.st.state);
      for (double f = 100.0; f < 5001.0; f += 700.0) {
        // Phase beyond that of the latency, as a time
        double re = 0.0;
        double im = 0.0;
        for (uint32_t i = 0; i < n; ++i) {
          const double w = 2.0 * DSP_PI * f * ((double)i - late) / rates[k];
          re += (double)wave[i] * cos(w);
          im += (double)wave[i] * sin(w);
        }
        const double frames = atan2(im, re) / (2.0 * DSP_PI * f) * rates[k];
        assert_near(frames, 0.0, 0.01);
      }

      // The cabinet does not change what is reported
      *rig_value(&r, "cabinet") = 1.0F;
      stage_set(&r.st, r.values);
      assert_int_equal(r.st.ops->latency_frames(r.st.state), late);
      rig_close(&r);
    }
  }
}

/// Returns the settled gain of a 1 kHz sine
static double
gain_db(rig* r, double peak_dbfs)
{
  const uint32_t n = 96000;
  check_sine(wave, n, 1000.0, db_to_gain(peak_dbfs), 48000.0);
  stage_reset(&r->st);
  rig_run(r, wave, wave, n);
  return gain_to_db(check_tone(wave + 48000, 48000, 1000.0, 48000.0)) -
         peak_dbfs;
}

// A squeeze alone shows the position: by the follower's law (smooth step from
// -36 to -9 dBFS RMS) with follow 100, everywhere with follow 0
static void
test_follow(void** state)
{
  (void)state;
  static const double levels[] = {-60.0, -40.0, -30.0, -24.0, -18.0, -12.0};
  for (int follow = 0; follow <= 100; follow += 50) {
    const setting squeeze[] = {{"follow_pc", follow}, {"mix_pc", 0.0},
                               {"squeeze_db", 12.0},  {"shift_oct", 0.0},
                               {"cabinet", 0.0},      {NULL, 0.0}};
    rig           r         = rig_with(48000.0, squeeze);
    const double  soft      = gain_db(&r, -80.0);
    for (size_t i = 0; i < sizeof(levels) / sizeof(levels[0]); ++i) {
      const double u    = clampd((levels[i] - 3.0103 + 36.0) / 27.0, 0.0, 1.0);
      const double c    = u * u * (3.0 - 2.0 * u);
      const double want = -12.0 * 0.01 * follow * c;
      assert_near(gain_db(&r, levels[i]) - soft, want, follow ? 0.06 : 1e-4);

      float meter;
      r.st.ops->meter(r.st.state, &meter);
      assert_near((double)meter, 100.0 * c, 1.0);
    }
    rig_close(&r);
  }
}

// With follow 0 soft playing has the tone of hard playing: presence 2 dB up, as
// the bell's effect scaled; low-pass 0.15 octaves down, from 6498 to 5856 Hz.
// From the analog formulas of both (computed to 0.05 dB)
static void
test_static_tone(void** state)
{
  (void)state;
  static const setting soft[] = {{"mix_pc", 0.0}, {NULL, 0.0}};
  static const setting hard[] = {
    {"mix_pc", 0.0}, {"follow_pc", 0.0}, {NULL, 0.0}};
  static const double want[][2] = {
    {2600.0, 1.95}, {5000.0, 0.3}, {9000.0, -3.2}, {12500.0, -3.5}};
  double soft_db[4];
  rig    r = rig_with(96000.0, soft);
  impulse(&r, 48000);
  const double soft_low = response_db(48000, 300.0, 96000.0);
  for (int i = 0; i < 4; ++i) {
    soft_db[i] = response_db(48000, want[i][0], 96000.0) - soft_low;
  }
  rig_close(&r);

  r = rig_with(96000.0, hard);
  impulse(&r, 48000);
  const double hard_low = response_db(48000, 300.0, 96000.0);
  for (int i = 0; i < 4; ++i) {
    const double db = response_db(48000, want[i][0], 96000.0) - hard_low;
    print_message("# %5.0f Hz: %+.2f dB\n", want[i][0], db - soft_db[i]);
    assert_near(db - soft_db[i], want[i][1], 0.2);
  }
  rig_close(&r);
}

// Linked: the louder channel moves both
static void
test_linked(void** state)
{
  (void)state;
  rig          r = rig_open(&speaker_breakup_ops, 48000.0, 2, NULL);
  static float right[48000];
  check_sine(wave, 48000, 300.0, 1e-3, 48000.0);
  check_sine(right, 48000, 500.0, 0.5, 48000.0);
  float* const bus[] = {wave, right};
  stage_process(&r.st, (const float* const*)bus, bus, 2, 48000);
  float meter;
  r.st.ops->meter(r.st.state, &meter);
  assert_near((double)meter, 100.0, 0.5); // -9.03 dBFS RMS
  rig_close(&r);
}

static void
test_memory(void** state)
{
  (void)state;
  print_message("# %zu bytes\n", sizeof(speaker_breakup));
  assert_true(sizeof(speaker_breakup) < 512U * 1024U);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_promises), cmocka_unit_test(test_finite),
    cmocka_unit_test(test_no_click), cmocka_unit_test(test_latency),
    cmocka_unit_test(test_follow),   cmocka_unit_test(test_static_tone),
    cmocka_unit_test(test_linked),   cmocka_unit_test(test_memory),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
