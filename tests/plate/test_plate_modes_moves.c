// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A modal bank whose losses change while it rings

#include "plate_modes_rig.h"

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
  // extremes within a block.  Its level gets a corner of up to 22 nepers per
  // second, of which 22 / (pi 2 pi 4000), -71 dB, is above 4 kHz.  A step would
  // leave its full height there.
  static const plate_decay ends[] = {{12.0, 6.0, 6.0}, {0.25, 0.5, 0.1}};
  n_modes                         = 1;
  modes[0] = (plate_mode){.f_hz = 300.0, .gain = {1.0, 1.0}};
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
      plate_modes_set_decay(&bank, &ends[1 - k]);
      run(outs, 19200, N - 19200);
      print_message("# residue %.1f dB\n", residue_db(6000));
      assert_true(residue_db(19200) < -68.0);
    }
  }
}

static void
test_moving_losses_are_exact(void** state)
{
  (void)state;

  // Losses asked for in block 9 hold from block 11 on, for what rings already
  // and for what follows: a rotation per frame, whose loss changes there.  Only
  // in that block and the next are the first 512 frames of the response between
  // the old and the new filter.
  const uint32_t then = 11 * PLATE_GRID_BLOCK;
  random_modes();
  start((plate_decay){2.0, 2.0, 2.0});
  uint32_t seed = 6;
  for (uint32_t i = 0; i < N; ++i) {
    in[0][i] = check_noise(&seed);
    in[1][i] = check_noise(&seed);
  }
  run(outs, 0, 9 * PLATE_GRID_BLOCK + 64);
  plate_modes_set_decay(&bank, &(plate_decay){0.2, 0.2, 0.2});
  run(outs, 9 * PLATE_GRID_BLOCK + 64, 96 * PLATE_GRID_BLOCK);

  memset(want, 0, sizeof(want));
  for (uint32_t m = 0; m < n_modes; ++m) {
    const double complex turn =
      cexp(2.0 * DSP_PI * modes[m].f_hz / RATE_HZ * J);
    double complex z = 0.0;
    for (uint32_t i = 0; i < 100 * PLATE_GRID_BLOCK; ++i) {
      const double x      = (double)in[modes[m].input][i];
      const double time_s = i <= then ? 2.0 : 0.2;
      z                   = z * turn * pow(10.0, -3.0 / (time_s * RATE_HZ)) + x;
      for (uint32_t k = 0; k < 2; ++k) {
        want[k][i] += modes[m].gain[k] * (creal(z) - 0.5 * x);
      }
    }
  }
  const uint32_t after = then + 2 * PLATE_GRID_BLOCK;
  print_message("# before %.1f, in %.1f, after %.1f dB\n", error_db(0, then),
                error_db(then, after), error_db(after, 100 * PLATE_GRID_BLOCK));
  assert_true(error_db(0, then) < -110.0);
  assert_true(error_db(then, after) < -40.0);
  assert_true(error_db(after, 100 * PLATE_GRID_BLOCK) < -110.0);
}

static void
test_moved_losses_hold(void** state)
{
  (void)state;

  // After a move the bank is the same as one that was there from the start
  static float kept[2][N];
  random_modes();
  start((plate_decay){0.3, 0.7, 0.2});
  plate_modes_set_decay(&bank, &(plate_decay){3.0, 2.0, 1.0});
  run(outs, 0, 2560); // Silence
  in[0][2560] = in[1][2600] = 1.0F;
  run(outs, 2560, N - 2560);
  memcpy(kept, out, sizeof(out));

  start((plate_decay){3.0, 2.0, 1.0});
  in[0][2560] = in[1][2600] = 1.0F;
  run(outs, 0, N);
  assert_memory_equal(out, kept, sizeof(out));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_moving_losses),
    cmocka_unit_test(test_moving_losses_are_exact),
    cmocka_unit_test(test_moved_losses_hold),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
