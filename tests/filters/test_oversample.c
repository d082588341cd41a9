// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The oversampler against the closed form of its transfer: the Fourier sum
/// over its measured impulse response

#include "tests/support/check.h"

#include "common/filters/oversample.h"

#include <string.h>

#define N_FRAMES 96
#define N_INNER  (N_FRAMES * OVERSAMPLE_MAX_FACTOR)
#define RATE_HZ  48000.0

static const uint32_t factors[] = {2, 4, 8};

/// |sum of h[i] exp(-2 pi j f i / rate)|, in dB
static double
response_db(const double* h, uint32_t n, double f_hz, double rate_hz)
{
  double re = 0.0;
  double im = 0.0;
  for (uint32_t i = 0; i < n; ++i) {
    const double phase = 2.0 * DSP_PI * f_hz * i / rate_hz;
    re += h[i] * cos(phase);
    im += h[i] * sin(phase);
  }
  return gain_to_db(hypot(re, im) + 1e-12);
}

/// Impulse response at the inner rate, with gain 1 at low frequencies
static void
up_response(uint32_t factor, double* h)
{
  oversampler o;
  assert_true(oversample_init(&o, factor));

  for (uint32_t t = 0; t < N_FRAMES; t += CONTROL_FRAMES) {
    float in[CONTROL_FRAMES] = {t == 0 ? 1.0F : 0.0F};
    float inner[OVERSAMPLE_MAX_SAMPLES];
    oversample_up(&o, in, inner, CONTROL_FRAMES);
    for (uint32_t i = 0; i < CONTROL_FRAMES * factor; ++i) {
      h[t * factor + i] = (double)inner[i] / factor;
    }
  }
}

/// The decimator's filter, put together from its responses to an impulse on
/// each of the inner samples of a frame
static void
down_response(uint32_t factor, double* h)
{
  for (uint32_t at = 0; at < factor; ++at) {
    oversampler o;
    assert_true(oversample_init(&o, factor));
    for (uint32_t t = 0; t < N_FRAMES; t += CONTROL_FRAMES) {
      float inner[OVERSAMPLE_MAX_SAMPLES] = {0};
      float out[CONTROL_FRAMES];
      inner[at] = t == 0 ? 1.0F : 0.0F;
      oversample_down(&o, inner, out, CONTROL_FRAMES);
      for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
        const uint32_t pos = (t + i + 1) * factor - 1 - at;
        if (pos < N_FRAMES * factor) {
          h[pos] = (double)out[i];
        }
      }
    }
  }
}

/// Round trip of `n` frames, in calls of `block` frames (0: of random size)
static void
round_trip(oversampler* o,
           const float* in,
           float*       out,
           uint32_t     n,
           uint32_t     block,
           uint32_t     delay_samples)
{
  uint32_t seed = 1;
  float    held = 0.0F;
  for (uint32_t t = 0; t < n;) {
    (void)check_noise(&seed);
    uint32_t m = block ? block : 1 + (seed >> 16U) % CONTROL_FRAMES;
    m          = m < n - t ? m : n - t;
    float inner[OVERSAMPLE_MAX_SAMPLES];
    oversample_up(o, in + t, inner, m);
    if (delay_samples) { // One sample of delay at the inner rate
      for (uint32_t i = 0; i < m * o->factor; ++i) {
        const float now = inner[i];
        inner[i]        = held;
        held            = now;
      }
    }
    oversample_down(o, inner, out + t, m);
    t += m;
  }
}

/// Images (up) and aliases (down) of 0 to 20 kHz lie within 20 kHz of the
/// multiples of 48 kHz
static void
check_bands(const double* h, uint32_t n, uint32_t factor)
{
  const double inner_hz = RATE_HZ * factor;
  for (uint32_t f = 0; f <= 20000; f += 50) {
    assert_near(response_db(h, n, f, inner_hz), 0.0, 0.0005);
    for (uint32_t k = 1; k <= factor / 2; ++k) {
      const double below = response_db(h, n, k * RATE_HZ - f, inner_hz);
      const double above = response_db(h, n, k * RATE_HZ + f, inner_hz);
      assert_true(below <= -103.0);
      assert_true(above <= -103.0);
    }
  }
}

static void
test_bands_of_each_way(void** state)
{
  (void)state;
  for (uint32_t k = 0; k < 3; ++k) {
    double h[N_INNER] = {0};
    up_response(factors[k], h);
    check_bands(h, N_FRAMES * factors[k], factors[k]);
    memset(h, 0, sizeof(h));
    down_response(factors[k], h);
    check_bands(h, N_FRAMES * factors[k], factors[k]);
  }
}

/// A filter whose impulse response is symmetric about a frame has that frame as
/// its delay at every frequency
static void
check_round_trip(oversampler* o, uint32_t latency, uint32_t delay_samples)
{
  float in[N_FRAMES] = {1.0F};
  float out[N_FRAMES];
  round_trip(o, in, out, N_FRAMES, CONTROL_FRAMES, delay_samples);

  double h[N_FRAMES];
  for (uint32_t i = 0; i < N_FRAMES; ++i) {
    h[i]                    = (double)out[i];
    const int64_t  mirror   = 2 * (int64_t)latency - i;
    const uint32_t in_range = mirror >= 0 && mirror < N_FRAMES;
    assert_near(h[i], in_range ? (double)out[mirror] : 0.0, 2e-7);
  }
  for (uint32_t f = 0; f <= 20000; f += 50) {
    assert_near(response_db(h, N_FRAMES, f, RATE_HZ), 0.0, 0.001);
  }
}

static void
test_round_trip(void** state)
{
  (void)state;
  // B - 1 samples for each branch of B, each way: 2 x 37 at 2x; 4 x 37 + 2 x 9
  // at 4x, of which two are won back; 8 x 37 + 4 x 9 + 2 x 5 at 8x, less six
  static const uint32_t latency[] = {37, 41, 42};
  for (uint32_t k = 0; k < 3; ++k) {
    oversampler o;
    assert_true(oversample_init(&o, factors[k]));
    assert_int_equal(oversample_latency_frames(factors[k]), latency[k]);
    check_round_trip(&o, latency[k], 0);
    assert_true(oversample_init_delayed(&o, factors[k], 1));
    assert_int_equal(oversample_latency_frames_delayed(factors[k], 1),
                     latency[k]);
    check_round_trip(&o, latency[k], 1);
  }
  assert_int_equal(oversample_latency_frames(1), 0);
  assert_true(oversample_latency_frames(8) <= OVERSAMPLE_MAX_LATENCY);
  assert_int_equal(oversample_latency_frames_delayed(4, 2), 42);
  assert_int_equal(oversample_latency_frames_delayed(4, 5), 42);
  assert_int_equal(oversample_latency_frames_delayed(4, 6), 43);
}

static void
test_any_cut_gives_the_same_bits(void** state)
{
  (void)state;
  enum { n = 1000 };
  static const uint32_t blocks[] = {0, 1, 7, 31, CONTROL_FRAMES};
  static float          in[n], want[n], got[n];
  uint32_t              seed = 9;
  for (uint32_t i = 0; i < n; ++i) {
    in[i] = check_noise(&seed);
  }
  for (uint32_t factor = 1; factor <= OVERSAMPLE_MAX_FACTOR; factor *= 2) {
    static oversampler o;
    assert_true(oversample_init(&o, factor));
    round_trip(&o, in, want, n, 16, 0);
    for (uint32_t k = 0; k < sizeof(blocks) / sizeof(blocks[0]); ++k) {
      oversample_reset(&o);
      round_trip(&o, in, got, n, blocks[k], 0);
      assert_memory_equal(got, want, sizeof(want));
    }
  }
}

static void
test_one_is_a_wire(void** state)
{
  (void)state;
  oversampler o;
  assert_true(oversample_init(&o, 1));
  float in[8], out[8];
  check_sine(in, 8, 1000.0, 1.0, RATE_HZ);
  round_trip(&o, in, out, 8, 8, 0);
  assert_memory_equal(in, out, sizeof(in));
}

static void
test_factor(void** state)
{
  (void)state;
  static const struct {
    double   rate_hz;
    uint32_t factor[3];
  } rows[] = {
    {8000.0, {8, 8, 8}},   {11025.0, {8, 8, 8}},  {22050.0, {4, 8, 8}},
    {32000.0, {2, 4, 8}},  {44100.0, {2, 4, 8}},  {48000.0, {2, 4, 8}},
    {88200.0, {1, 2, 4}},  {96000.0, {1, 2, 4}},  {176400.0, {1, 1, 2}},
    {192000.0, {1, 1, 2}}, {384000.0, {1, 1, 1}},
  };
  for (uint32_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    for (uint32_t q = 0; q < 3; ++q) {
      assert_int_equal(oversample_factor(q, rows[i].rate_hz),
                       rows[i].factor[q]);
    }
  }

  oversampler o;
  assert_false(oversample_init(&o, 0));
  assert_false(oversample_init(&o, 3));
  assert_false(oversample_init(&o, 16));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_bands_of_each_way),
    cmocka_unit_test(test_round_trip),
    cmocka_unit_test(test_any_cut_gives_the_same_bits),
    cmocka_unit_test(test_one_is_a_wire),
    cmocka_unit_test(test_factor),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
