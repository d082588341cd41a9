// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What every plugin promises, through the built bundle: each test runs over
/// all forms of all plugins.

#include "bundle.h"

#include "common/denormals.h"

#define RATE_HZ 48000.0
#define N       24000U

static bundle the_bundle;

static int
load(void** state)
{
  (void)state;
  the_bundle = bundle_load();
  return 0;
}

static int
unload(void** state)
{
  (void)state;
  bundle_free(&the_bundle);
  return 0;
}

/// Audio for one run: two channels in and out
typedef struct {
  float  in_data[2][N], out_data[2][N];
  float* in[2];
  float* out[2];
} audio;

/// A decaying mixture of tones and noise around -18 dBFS RMS, with a pause
static void
audio_fill(audio* a)
{
  uint32_t seed = 1;
  for (uint32_t k = 0; k < 2; ++k) {
    a->in[k]  = a->in_data[k];
    a->out[k] = a->out_data[k];
    for (uint32_t i = 0; i < N; ++i) {
      const double t     = i / RATE_HZ;
      const double decay = exp(-8.0 * fmod(t, 0.25));
      const double tone  = sin(2.0 * DSP_PI * 110.0 * (k + 1) * t) +
                          0.5 * sin(2.0 * DSP_PI * 1730.0 * t);
      a->in[k][i] =
        i > N / 2 && i < N * 5 / 8
          ? 0.0F
          : (float)(decay * (0.3 * tone + 0.05 * (double)check_noise(&seed)));
    }
  }
}

/// Controls somewhere in their ranges, another place for each `seed`
static void
player_shuffle(player* y, uint32_t seed)
{
  for (uint32_t i = 1; i < y->n_params; ++i) {
    const param_info* const p = shell_param(y->form.plugin, i);
    const float             u = 0.5F * (1.0F + check_noise(&seed));
    y->control[i]             = p->min + u * (p->max - p->min);
  }
}

static void
assert_same(const audio* a, const audio* b, const plugin_form* form)
{
  for (uint32_t k = 0; k < form->n_out; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      if (memcmp(&a->out[k][i], &b->out[k][i], sizeof(float)) != 0) {
        fail_msg("%s: frame %u of output %u is %.9g, not %.9g", form->uri, i, k,
                 (double)a->out[k][i], (double)b->out[k][i]);
      }
    }
  }
}

static void
assert_finite(const float* x, uint32_t n, const char* what)
{
  for (uint32_t i = 0; i < n; ++i) {
    if (!isfinite(x[i])) {
      fail_msg("%s: frame %u is not finite", what, i);
    }
  }
}

static audio one, two;

/// Play `a` from fresh with a player set up by `prepare`
static void
play_fresh(const plugin_form* form, audio* a, uint32_t block, uint32_t shuffle)
{
  player y = player_new(&the_bundle, form, RATE_HZ);
  if (shuffle) {
    player_shuffle(&y, shuffle);
  }
  player_start(&y);
  player_play(&y, a->in, a->out, N, block);
  player_free(&y);
}

// ---------------------------------------------------------------------------

static void
check_blocks(const plugin_form* form, void* data)
{
  static const uint32_t blocks[] = {1, 7, 64, 333, 4096, 8192};
  (void)data;

  audio_fill(&one);
  audio_fill(&two);
  for (uint32_t shuffle = 0; shuffle < 3; ++shuffle) {
    play_fresh(form, &one, 32, shuffle);
    for (size_t b = 0; b < sizeof(blocks) / sizeof(blocks[0]); ++b) {
      play_fresh(form, &two, blocks[b], shuffle);
      assert_same(&one, &two, form);
    }
  }
}

static void
test_any_block_size_gives_the_same_bits(void** state)
{
  (void)state;
  for_each_form(check_blocks, NULL);
}

static void
check_mixed(const plugin_form* form, void* data)
{
  uint32_t seed = 7;
  (void)data;

  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  for (uint32_t at = 0; at < N;) {
    uint32_t n = (uint32_t)(200.0F * fabsf(check_noise(&seed))); // 0 as well
    n          = n < N - at ? n : N - at;
    player_run(&y, two.in, two.out, at, n);
    at += n;
  }
  player_free(&y);
  assert_same(&one, &two, form);
}

static void
test_mixed_blocks_with_empty_ones(void** state)
{
  (void)state;
  for_each_form(check_mixed, NULL);
}

static void
check_in_place(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 1);
  for (uint32_t k = 0; k < 2; ++k) {
    two.out[k] = two.in[k];
  }
  play_fresh(form, &two, 64, 1);
  assert_same(&one, &two, form);
}

static void
test_in_place(void** state)
{
  (void)state;
  for_each_form(check_in_place, NULL);
}

static void
check_replay(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_shuffle(&y, 3);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 100);
  lilv_instance_deactivate(y.instance);
  lilv_instance_activate(y.instance);
  player_play(&y, two.in, two.out, N, 100);
  player_free(&y);
  assert_same(&one, &two, form);
}

static void
test_activation_replays_the_same_bits(void** state)
{
  (void)state;
  for_each_form(check_replay, NULL);
}

static void
check_bypass(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);

  player y = player_new(&the_bundle, form, RATE_HZ);
  player_shuffle(&y, 5);
  y.control[player_port(&y, "enabled")] = 0.0F;
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  const uint32_t latency =
    (uint32_t)y.control[player_port(&y, "latency_frames")];
  player_free(&y);

  for (uint32_t k = 0; k < form->n_out; ++k) {
    const float* const in = one.in[k < form->n_in ? k : 0];
    for (uint32_t i = 0; i < N; ++i) {
      const float want = i < latency ? 0.0F : in[i - latency];
      assert_memory_equal(&one.out[k][i], &want, sizeof(float));
    }
  }
}

static void
test_bypass_is_the_input_late_by_the_latency(void** state)
{
  (void)state;
  for_each_form(check_bypass, NULL);
}

/// Peak of what is left above 4 kHz: an eighth-order Butterworth high-pass
static double
residue_above_4_khz(const float* x, uint32_t n)
{
  // Zverev, "Handbook of Filter Synthesis" (1967): pole qualities, from memory
  static const double q[4]    = {0.5098, 0.6013, 0.9000, 2.5629};
  double              s[4][2] = {{0}};
  const double        g       = tan(DSP_PI * 4000.0 / RATE_HZ);
  double              peak    = 0.0;

  for (uint32_t i = 0; i < n; ++i) {
    double v = (double)x[i];
    for (int j = 0; j < 4; ++j) {
      const double k  = 1.0 / q[j];
      const double hp = (v - (k + g) * s[j][0] - s[j][1]) / (1.0 + g * (g + k));
      const double bp = g * hp + s[j][0];
      const double lp = g * bp + s[j][1];
      s[j][0]         = g * hp + bp;
      s[j][1]         = g * bp + lp;
      v               = hp;
    }
    if (i > 2000) { // Past the start of the sine
      peak = fabs(v) > peak ? fabs(v) : peak;
    }
  }
  return peak;
}

static void
check_switch(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  for (uint32_t k = 0; k < 2; ++k) {
    check_sine(one.in[k], N, 220.0, 0.178, RATE_HZ); // -18 dBFS RMS
  }

  // What the stage itself has above 4 kHz, on and off, bounds what is left
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  const double on = residue_above_4_khz(one.out[0], N);

  lilv_instance_deactivate(y.instance);
  lilv_instance_activate(y.instance);
  for (uint32_t at = 0; at < N; at += 100) {
    y.control[0] = at / 6000 % 2 == 0;
    player_run(&y, one.in, one.out, at, 100);
  }
  player_free(&y);
  const double switched = residue_above_4_khz(one.out[0], N);
  if (switched > on + 1e-4) { // -80 dBFS
    fail_msg("%s: switching leaves %.1f dBFS above 4 kHz", form->uri,
             gain_to_db(switched));
  }
}

static void
test_bypass_does_not_click(void** state)
{
  (void)state;
  for_each_form(check_switch, NULL);
}

static void
check_trim(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  player y = player_new(&the_bundle, form, RATE_HZ);
  y.control[player_port(&y, "trim_db")] = -6.0F;
  player_start(&y);
  player_play(&y, two.in, two.out, N, 64);
  player_free(&y);
  const double step = check_rms_db(two.out[0], N) - check_rms_db(one.out[0], N);
  assert_near(step, -6.0, 1e-3);
}

static void
test_trim_is_plain_gain(void** state)
{
  (void)state;
  for_each_form(check_trim, NULL);
}

static void
check_unconnected(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  player y = player_new(&the_bundle, form, RATE_HZ);
  lilv_instance_activate(y.instance); // Without player_start(): no control
  player_play(&y, two.in, two.out, N, 64);
  player_free(&y);
  assert_same(&one, &two, form);
}

static void
test_unconnected_controls_are_defaults(void** state)
{
  (void)state;
  for_each_form(check_unconnected, NULL);
}

/// The second player gets for each control what must be heard as `meant`
static void
check_odd_values(const plugin_form* form,
                 float              odd,
                 float (*meant)(const param_info*))
{
  audio_fill(&one);
  audio_fill(&two);
  player a = player_new(&the_bundle, form, RATE_HZ);
  player b = player_new(&the_bundle, form, RATE_HZ);
  for (uint32_t i = 1; i < a.n_params; ++i) {
    a.control[i] = odd;
    b.control[i] = meant(shell_param(form->plugin, i));
  }
  player_start(&a);
  player_start(&b);
  player_play(&a, one.in, one.out, N, 64);
  player_play(&b, two.in, two.out, N, 64);
  player_free(&a);
  player_free(&b);
  assert_same(&one, &two, form);
}

static float
meant_default(const param_info* p)
{
  return p->def;
}

static float
meant_max(const param_info* p)
{
  return p->max;
}

static float
meant_min(const param_info* p)
{
  return p->min;
}

static void
check_odd(const plugin_form* form, void* data)
{
  (void)data;
  check_odd_values(form, NAN, meant_default);
  check_odd_values(form, INFINITY, meant_max);
  check_odd_values(form, -1e9F, meant_min);
}

static void
test_values_clamp_and_nan_is_the_default(void** state)
{
  (void)state;
  for_each_form(check_odd, NULL);
}

static void
check_extremes_at(const plugin_form* form, double rate_hz)
{
  audio_fill(&one);
  for (uint32_t i = 0; i < shell_param_count(form->plugin); ++i) {
    for (int end = 0; end < 2; ++end) {
      player                  y = player_new(&the_bundle, form, rate_hz);
      const param_info* const p = shell_param(form->plugin, i);
      y.control[i]              = end ? p->max : p->min;
      player_start(&y);
      player_play(&y, one.in, one.out, 4000, 500);
      for (uint32_t k = 0; k < form->n_out; ++k) {
        assert_finite(one.out[k], 4000, p->symbol);
      }
      for (uint32_t m = y.n_params; m < y.n_params + y.n_meters; ++m) {
        assert_finite(&y.control[m], 1, form->uri);
      }
      player_free(&y);
    }
  }
}

static void
check_extremes(const plugin_form* form, void* data)
{
  static const double rates[] = {8000, 44100, 96000, 192000, 384000};
  (void)data;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    check_extremes_at(form, rates[r]);
  }
}

static void
test_both_ends_of_every_range_at_every_rate(void** state)
{
  (void)state;
  for_each_form(check_extremes, NULL);
}

static void
check_rates_refused(const plugin_form* form, void* data)
{
  static const double rates[] = {0.0, 7999.0, 384001.0, -48000.0};
  (void)data;
  for (size_t r = 0; r < sizeof(rates) / sizeof(rates[0]); ++r) {
    assert_null(lilv_plugin_instantiate(bundle_plugin(&the_bundle, form->uri),
                                        rates[r], NULL));
  }
}

static void
test_other_rates_are_refused(void** state)
{
  (void)state;
  for_each_form(check_rates_refused, NULL);
}

static void
check_bad_audio(const plugin_form* form, void* data)
{
  static const float bad[] = {NAN, INFINITY, -INFINITY, 1e30F, -1e30F};
  (void)data;
  for (size_t b = 0; b < sizeof(bad) / sizeof(bad[0]); ++b) {
    audio_fill(&one);
    for (uint32_t i = 1000; i < 1064; ++i) {
      one.in[0][i] = bad[b];
    }
    play_fresh(form, &one, 64, 0);
    for (uint32_t k = 0; k < form->n_out; ++k) {
      assert_finite(one.out[k], N, form->uri);
    }
  }
}

static void
test_bad_samples_do_not_stay(void** state)
{
  (void)state;
  for_each_form(check_bad_audio, NULL);
}

static void
check_empty_run(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  for (uint32_t m = y.n_params; m < y.n_params + y.n_meters; ++m) {
    y.control[m] = NAN;
  }
  player_run(&y, one.in, one.out, 0, 0);
  for (uint32_t m = y.n_params; m < y.n_params + y.n_meters; ++m) {
    const meter_info* const info = shell_meter(form->plugin, m - y.n_params);
    assert_true(y.control[m] >= info->min && y.control[m] <= info->max);
  }
  player_free(&y);
}

static void
test_empty_run_writes_all_meters(void** state)
{
  (void)state;
  for_each_form(check_empty_run, NULL);
}

static void
check_level(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  for (uint32_t k = 0; k < 2; ++k) {
    check_sine(one.in[k], N, 1000.0, 0.5, RATE_HZ);
  }
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  // A sine of peak a has the RMS a / sqrt(2)
  assert_near((double)y.control[player_port(&y, "in_db")],
              gain_to_db(0.5 / sqrt(2.0)), 0.02);
  // 19200 frames are 400 ms, in whole periods; the window is a bin shorter
  assert_near((double)y.control[player_port(&y, "out_db")],
              check_rms_db(one.out[0] + N - 19200, 19200), 0.1);
  player_free(&y);
}

static void
test_levels_are_rms_of_400_ms(void** state)
{
  (void)state;
  for_each_form(check_level, NULL);
}

static void
check_mode(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  const fp_mode before = denormals_flush();
  denormals_restore(before);
  player_play(&y, one.in, one.out, 256, 64);
  const fp_mode after = denormals_flush();
  denormals_restore(after);
  assert_true(before == after);
  player_free(&y);
}

static void
test_denormal_mode_is_left_as_found(void** state)
{
  (void)state;
  for_each_form(check_mode, NULL);
}

static void
check_twins(const plugin_form* form, void* data)
{
  (void)data;
  // Alone, and beside an instance at other settings: the same bits
  audio_fill(&one);
  audio_fill(&two);
  play_fresh(form, &one, 64, 0);

  static audio other;
  audio_fill(&other);
  player a = player_new(&the_bundle, form, RATE_HZ);
  player b = player_new(&the_bundle, form, RATE_HZ);
  player_shuffle(&b, 9);
  player_start(&a);
  player_start(&b);
  for (uint32_t at = 0; at < N; at += 64) {
    const uint32_t n = N - at < 64 ? N - at : 64;
    player_run(&a, two.in, two.out, at, n);
    player_run(&b, other.in, other.out, at, n);
  }
  player_free(&a);
  player_free(&b);
  assert_same(&one, &two, form);
}

static void
test_instances_do_not_meet(void** state)
{
  (void)state;
  for_each_form(check_twins, NULL);
}

/// Same signal on both sides of the stereo form, and through the mono form
static void
test_equal_channels_are_the_mono_form(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (p->forms != FORMS_TRACK) {
      continue;
    }
    const plugin_form mono   = shell_form(p, 0);
    const plugin_form stereo = shell_form(p, 1);
    audio_fill(&one);
    audio_fill(&two);
    memcpy(two.in[1], two.in[0], sizeof(two.in_data[0]));
    play_fresh(&mono, &one, 64, 2);
    play_fresh(&stereo, &two, 64, 2);
    assert_same(&one, &two, &mono);
    assert_memory_equal(two.out[0], two.out[1], sizeof(two.out_data[0]));
  }
}

/// -200 dBFS is nothing; a stage may ring, but not on and on
static void
check_silence(const plugin_form* form, void* data)
{
  (void)data;
  audio_fill(&one);
  player y = player_new(&the_bundle, form, RATE_HZ);
  player_start(&y);
  player_play(&y, one.in, one.out, N, 64);
  memset(one.in_data, 0, sizeof(one.in_data));
  for (int halves = 0; halves < 16; ++halves) { // 8 s
    player_play(&y, one.in, one.out, N, 64);
  }
  player_free(&y);
  for (uint32_t k = 0; k < form->n_out; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      assert_true(fabsf(one.out[k][i]) < 1e-7F);
    }
  }
}

static void
test_silence_follows_silence(void** state)
{
  (void)state;
  for_each_form(check_silence, NULL);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_any_block_size_gives_the_same_bits),
    cmocka_unit_test(test_mixed_blocks_with_empty_ones),
    cmocka_unit_test(test_in_place),
    cmocka_unit_test(test_activation_replays_the_same_bits),
    cmocka_unit_test(test_bypass_is_the_input_late_by_the_latency),
    cmocka_unit_test(test_bypass_does_not_click),
    cmocka_unit_test(test_trim_is_plain_gain),
    cmocka_unit_test(test_unconnected_controls_are_defaults),
    cmocka_unit_test(test_values_clamp_and_nan_is_the_default),
    cmocka_unit_test(test_both_ends_of_every_range_at_every_rate),
    cmocka_unit_test(test_other_rates_are_refused),
    cmocka_unit_test(test_bad_samples_do_not_stay),
    cmocka_unit_test(test_empty_run_writes_all_meters),
    cmocka_unit_test(test_levels_are_rms_of_400_ms),
    cmocka_unit_test(test_denormal_mode_is_left_as_found),
    cmocka_unit_test(test_instances_do_not_meet),
    cmocka_unit_test(test_equal_channels_are_the_mono_form),
    cmocka_unit_test(test_silence_follows_silence),
  };
  return cmocka_run_group_tests_name("bundle", tests, load, unload);
}
