// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The modal bank against what it stands for: each mode is a decaying cosine,
/// and its answer to a signal is the sum over its frames.  Judges are closed
/// forms and rotations in double, frame by frame.

#include "click.h"

#include "common/modal.h"

#include <complex.h>
#include <string.h>

#define RATE_HZ 48000.0
#define J       ((double complex)I)
enum { N = 96000, N_MODES = 300 };

static modal  bank;
static float  in[2][N], out[2][N];
static double want[2][N];

static modal_mode modes[N_MODES];
static uint32_t   n_modes;

static void
list_modes(double limit_hz, modal_visit visit, void* to)
{
  for (uint32_t i = 0; i < n_modes; ++i) {
    if (modes[i].f_hz < limit_hz) {
      visit(to, &modes[i]);
    }
  }
}

/// Modes everywhere, some close together, some at the edges of the grid
static void
random_modes(void)
{
  uint32_t seed = 3;
  n_modes       = N_MODES;
  for (uint32_t i = 0; i < N_MODES; ++i) {
    const double u = 0.5 + 0.5 * (double)check_noise(&seed);
    modes[i]       = (modal_mode){
            .f_hz  = 20.0 * pow(1000.0, u),
            .input = i % 2,
            .gain  = {(double)check_noise(&seed), (double)check_noise(&seed)},
    };
  }
  for (uint32_t i = 0; i < 20; ++i) {
    modes[i].f_hz =
      (i + 1.5) * RATE_HZ / MODAL_GRID * (1.0 + (i % 3 - 1) * 1e-9);
  }
}

static void
run(float* const* to, uint32_t from, uint32_t n)
{
  for (uint32_t i = from; i < from + n; i += CONTROL_FRAMES) {
    const float* ins[]  = {in[0] + i, in[1] + i};
    float*       outs[] = {to[0] + i, to[1] + i};
    modal_control(&bank, false);
    modal_process(&bank, ins, outs, CONTROL_FRAMES);
  }
}

static float* const outs[2] = {out[0], out[1]};

static void
start(modal_decay decay)
{
  memset(&bank, 0, sizeof(bank));
  assert_true(modal_init(&bank, RATE_HZ, list_modes));
  modal_set_decay(&bank, &decay);
  modal_reset(&bank);
  memset(in, 0, sizeof(in));
}

/// Frame by frame, all modes; the onset counts half, for it has no DC then
static void
judge(double time_s)
{
  memset(want, 0, sizeof(want));
  for (uint32_t m = 0; m < n_modes; ++m) {
    const double complex turn = cexp(
      (-log(1000.0) / time_s + 2.0 * DSP_PI * modes[m].f_hz * J) / RATE_HZ);
    double complex z = 0.0;
    for (uint32_t i = 0; i < N; ++i) {
      const double x = (double)in[modes[m].input][i];
      z              = z * turn + x;
      for (uint32_t k = 0; k < 2; ++k) {
        want[k][i] += modes[m].gain[k] * (creal(z) - 0.5 * x);
      }
    }
  }
}

/// Error over the frames from `from` to `to`, in dB of what is wanted there
static double
error_db(uint32_t from, uint32_t to)
{
  double error = 0.0;
  double power = 0.0;
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = from; i < to; ++i) {
      const double e = (double)out[k][i] - want[k][i];
      error += e * e;
      power += want[k][i] * want[k][i];
    }
  }
  return 10.0 * log10(error / power);
}

static void
test_impulse(void** state)
{
  (void)state;

  random_modes();
  for (uint32_t input = 0; input < 2; ++input) {
    start((modal_decay){2.0, 2.0, 2.0});
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
    start((modal_decay){times_s[t], times_s[t], times_s[t]});
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
    modes[0] = (modal_mode){.f_hz = f_hz[m], .gain = {1.0, 1.0}};
    start((modal_decay){12.0, 12.0, 12.0});
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

/// Level of a tone in 200 ms under a Hann window, for its beat with itself
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

  // Each mode by itself: a sixth of an octave at the most shares a loss
  const modal_decay decay = {3.0, 2.0, 1.0};
  for (uint32_t i = 0; i < 20; ++i) {
    const double f_hz = 30.0 * pow(1.37, i);
    n_modes           = 1;
    modes[0]          = (modal_mode){.f_hz = f_hz, .gain = {1.0, 1.0}};
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

/// Peak above 4 kHz of output 0 from `from` on, in dBFS
static double
residue_db(uint32_t from)
{
  static double x[N];
  for (uint32_t i = 0; i < N; ++i) {
    x[i] = (double)out[0][i];
  }
  click_high_pass(x, N, 4000.0, RATE_HZ);
  return click_peak_db(x + from, N - from);
}

static void
test_moving_losses(void** state)
{
  (void)state;

  // A mode at full scale rings, and is driven, while its loss jumps between the
  // extremes within a block.  Its level gets a corner: up to 22 nepers per
  // second, of which 22 / (pi 2 pi 4000), -71 dB, is above 4 kHz.  A step would
  // leave all of its height there.
  static const modal_decay ends[] = {{12.0, 6.0, 6.0}, {0.25, 0.5, 0.1}};
  n_modes                         = 1;
  modes[0] = (modal_mode){.f_hz = 300.0, .gain = {1.0, 1.0}};
  for (uint32_t driven = 0; driven < 2; ++driven) {
    for (uint32_t k = 0; k < 2; ++k) {
      start(ends[k]);
      for (uint32_t i = 0; i < 4000; ++i) { // Let it begin without a click
        const double at = 2.0 * DSP_PI * i / 4000.0;
        in[0][i]        = (float)(1e-3 * (0.5 - 0.5 * cos(at)) *
                           sin(2.0 * DSP_PI * 300.0 * i / RATE_HZ));
      }
      for (uint32_t i = 4000; driven && i < N; ++i) {
        in[0][i] = (float)(1e-3 * sin(2.0 * DSP_PI * 290.0 * i / RATE_HZ) *
                           fmin(1.0, (i - 4000) / 8000.0));
      }
      run(outs, 0, 19200);
      modal_set_decay(&bank, &ends[1 - k]);
      run(outs, 19200, N - 19200);
      print_message("# residue %.1f dB\n", residue_db(6000));
      assert_true(residue_db(19200) < -68.0);
    }
  }
}

static void
test_moved_losses_hold(void** state)
{
  (void)state;

  // After a move the bank is the same as one that was there from the start
  static float kept[2][N];
  random_modes();
  start((modal_decay){0.3, 0.7, 0.2});
  modal_set_decay(&bank, &(modal_decay){3.0, 2.0, 1.0});
  run(outs, 0, 2560); // Of silence
  in[0][2560] = in[1][2600] = 1.0F;
  run(outs, 2560, N - 2560);
  memcpy(kept, out, sizeof(out));

  start((modal_decay){3.0, 2.0, 1.0});
  in[0][2560] = in[1][2600] = 1.0F;
  run(outs, 0, N);
  assert_memory_equal(out, kept, sizeof(out));
}

static void
test_any_cut(void** state)
{
  (void)state;

  static float kept[2][N];
  random_modes();
  start((modal_decay){3.0, 2.0, 1.0});
  uint32_t seed = 9;
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = check_noise(&seed);
    in[1][i] = check_noise(&seed);
  }
  run(outs, 0, N);
  memcpy(kept, out, sizeof(out));

  modal_reset(&bank);
  for (uint32_t line = 0; line < N; line += CONTROL_FRAMES) {
    modal_control(&bank, false);
    for (uint32_t i = 0; i < CONTROL_FRAMES;) {
      const uint32_t most   = CONTROL_FRAMES - i;
      const uint32_t pick   = 1 + (uint32_t)(8.0F + 8.0F * check_noise(&seed));
      const uint32_t n      = pick < most ? pick : most;
      const float*   ins[]  = {in[0] + line + i, in[1] + line + i};
      float*         here[] = {out[0] + line + i, out[1] + line + i};
      modal_process(&bank, ins, here, n);
      i += n;
    }
  }
  assert_memory_equal(out, kept, sizeof(out));
}

static void
test_transform(void** state)
{
  (void)state;

  // The definition, point by point
  static modal_fft fft;
  modal_spectrum   x;
  modal_fft_init(&fft);
  uint32_t seed = 1;
  for (uint32_t t = 0; t < MODAL_FFT_SIZE; ++t) {
    x.re[t] = check_noise(&seed);
    x.im[t] = check_noise(&seed);
  }
  modal_spectrum forward  = x;
  modal_spectrum backward = x;
  modal_fft_forward(&fft, &forward);
  modal_fft_backward(&fft, &backward);
  for (uint32_t p = 0; p < MODAL_FFT_SIZE; ++p) {
    double complex f = 0.0;
    double complex b = 0.0;
    for (uint32_t t = 0; t < MODAL_FFT_SIZE; ++t) {
      const double complex v = (double)x.re[t] + (double)x.im[t] * J;
      const double         w =
        2.0 * DSP_PI * ((p * t) % MODAL_FFT_SIZE) / MODAL_FFT_SIZE;
      f += v * cexp(-w * J);
      b += v * cexp(w * J);
    }
    assert_near((double)forward.re[p], creal(f), 1e-5);
    assert_near((double)forward.im[p], cimag(f), 1e-5);
    assert_near((double)backward.re[p], creal(b), 1e-5);
    assert_near((double)backward.im[p], cimag(b), 1e-5);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_transform),
    cmocka_unit_test(test_impulse),
    cmocka_unit_test(test_noise),
    cmocka_unit_test(test_no_drift),
    cmocka_unit_test(test_losses),
    cmocka_unit_test(test_moving_losses),
    cmocka_unit_test(test_moved_losses_hold),
    cmocka_unit_test(test_any_cut),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
