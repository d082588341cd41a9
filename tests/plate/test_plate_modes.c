// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The modal bank against the sum of its modes

#include "plate_modes_rig.h"

static void
test_transform(void** state)
{
  (void)state;

  // The definition, point by point
  static plate_fft fft;
  plate_spectrum   x;
  plate_fft_init(&fft);
  uint32_t seed = 1;
  for (uint32_t t = 0; t < PLATE_FFT_SIZE; ++t) {
    x.re[t] = check_noise(&seed);
    x.im[t] = check_noise(&seed);
  }
  plate_spectrum forward  = x;
  plate_spectrum backward = x;
  plate_fft_forward(&fft, &forward);
  plate_fft_backward(&fft, &backward);
  for (uint32_t p = 0; p < PLATE_FFT_SIZE; ++p) {
    double complex f = 0.0;
    double complex b = 0.0;
    for (uint32_t t = 0; t < PLATE_FFT_SIZE; ++t) {
      const double complex v = (double)x.re[t] + (double)x.im[t] * J;
      const double         w =
        2.0 * DSP_PI * ((p * t) % PLATE_FFT_SIZE) / PLATE_FFT_SIZE;
      f += v * cexp(-w * J);
      b += v * cexp(w * J);
    }
    assert_near((double)forward.re[p], creal(f), 1e-5);
    assert_near((double)forward.im[p], cimag(f), 1e-5);
    assert_near((double)backward.re[p], creal(b), 1e-5);
    assert_near((double)backward.im[p], cimag(b), 1e-5);
  }
}

static void
test_impulse(void** state)
{
  (void)state;

  random_modes();
  for (uint32_t input = 0; input < 2; ++input) {
    start((plate_decay){2.0, 2.0, 2.0});
    in[input][input ? 77 : 0] = 1.0F;
    run(outs, 0, N);
    judge(2.0);
    print_message("# impulse: %.1f, %.1f, %.1f, %.1f dB\n", error_db(0, 512),
                  error_db(512, 1024), error_db(1024, 9600),
                  error_db(86400, N));
    assert_true(error_db(0, 512) < -115.0);
    assert_true(error_db(512, 1024) < -110.0);
    assert_true(error_db(1024, 9600) < -110.0);
    assert_true(error_db(86400, N) < -95.0); // At -54 dB of the onset
  }
}

static void
test_noise(void** state)
{
  (void)state;

  static const double times_s[] = {0.1, 0.5, 3.0, 12.0};
  random_modes();
  for (uint32_t t = 0; t < 4; ++t) {
    start((plate_decay){times_s[t], times_s[t], times_s[t]});
    uint32_t seed = 5;
    for (uint32_t i = 0; i < N; ++i) {
      in[0][i] = check_noise(&seed);
      in[1][i] = check_noise(&seed);
    }
    run(outs, 0, N);
    judge(times_s[t]);
    print_message("# noise, %.1f s: %.1f dB\n", times_s[t], error_db(0, N));
    assert_true(error_db(0, N) < -105.0);
  }
}

static void
test_no_drift(void** state)
{
  (void)state;

  // The longest time there is, after 6 s: amplitude and phase of single modes
  static const double f_hz[] = {20.0, 147.3, 1010.1, 9999.0};
  for (uint32_t m = 0; m < 4; ++m) {
    n_modes  = 1;
    modes[0] = (plate_mode){.f_hz = f_hz[m], .gain = {1.0, 1.0}};
    start((plate_decay){12.0, 12.0, 12.0});
    in[0][0] = 1.0F;
    for (uint32_t second = 0; second < 6; second += 2) {
      run(outs, 0, N);
      in[0][0] = 0.0F;
    }
    double complex got = 0.0;
    double complex ref = 0.0;
    for (uint32_t i = N - 9600; i < N; ++i) {
      const double         t = (i + 2 * N) / RATE_HZ;
      const double complex c = cexp(-2.0 * DSP_PI * f_hz[m] * t * J);
      const double         y =
        exp(-log(1000.0) * t / 12.0) * cos(2.0 * DSP_PI * f_hz[m] * t);
      got += (double)out[0][i] * c;
      ref += y * c;
    }
    assert_near(cabs(got / ref), 1.0, 5e-4);
    assert_near(carg(got / ref), 0.0, 5e-4);
  }
}

/// Level of a tone in 200 ms, under a Hann window because it beats with itself
static double
tone_db(const float* y, double f_hz)
{
  double complex sum = 0.0;
  for (uint32_t i = 0; i < 9600; ++i) {
    const double hann = 1.0 - cos(2.0 * DSP_PI * i / 9600.0);
    sum += hann * (double)y[i] * cexp(-2.0 * DSP_PI * f_hz / RATE_HZ * i * J);
  }
  return gain_to_db(cabs(sum));
}

static void
test_losses(void** state)
{
  (void)state;

  // Each mode by itself: at most a sixth of an octave shares a loss
  const plate_decay decay = {3.0, 2.0, 1.0};
  for (uint32_t i = 0; i < 20; ++i) {
    const double f_hz = 30.0 * pow(1.37, i);
    n_modes           = 1;
    modes[0]          = (plate_mode){.f_hz = f_hz, .gain = {1.0, 1.0}};
    start(decay);
    in[0][0] = 1.0F;
    run(outs, 0, N / 4);
    const double fall =
      tone_db(out[0] + 4800, f_hz) - tone_db(out[0] + 14400, f_hz);
    const double way  = clampd(log10(f_hz) - 3.0, -1.0, 1.0);
    const double loss = // Per second, of the reverberation time 60 dB
      way < 0.0 ? 60.0 / 2.0 + (60.0 / 3.0 - 60.0 / 2.0) * -way
                : 60.0 / 2.0 + (60.0 / 1.0 - 60.0 / 2.0) * way;
    assert_near(fall / 0.2 / loss, 1.0, 0.02);
  }
}

static void
test_any_cut(void** state)
{
  (void)state;

  static float kept[2][N];
  random_modes();
  start((plate_decay){3.0, 2.0, 1.0});
  uint32_t seed = 9;
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = check_noise(&seed);
    in[1][i] = check_noise(&seed);
  }
  run(outs, 0, N);
  memcpy(kept, out, sizeof(out));

  plate_modes_reset(&bank);
  for (uint32_t line = 0; line < N; line += CONTROL_FRAMES) {
    plate_modes_control(&bank, false);
    for (uint32_t i = 0; i < CONTROL_FRAMES;) {
      const uint32_t most   = CONTROL_FRAMES - i;
      const uint32_t pick   = 1 + (uint32_t)(8.0F + 8.0F * check_noise(&seed));
      const uint32_t n      = pick < most ? pick : most;
      const float*   ins[]  = {in[0] + line + i, in[1] + line + i};
      float*         here[] = {out[0] + line + i, out[1] + line + i};
      plate_modes_process(&bank, ins, here, n);
      i += n;
    }
  }
  assert_memory_equal(out, kept, sizeof(out));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_transform), cmocka_unit_test(test_impulse),
    cmocka_unit_test(test_noise),     cmocka_unit_test(test_no_drift),
    cmocka_unit_test(test_losses),    cmocka_unit_test(test_any_cut),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
