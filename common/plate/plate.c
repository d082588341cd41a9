// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate.h"

#define YOUNGS_MODULUS_PA 210e9
#define POISSONS_RATIO    0.30
#define DENSITY_KG_M3     7850.0

#define DETUNE_HZ        1.0
#define DETUNE_FROM_0_HZ 300.0

/// Level that the modes of up to 5 kHz lack: near the edges there are fewer,
/// and at the chosen points the low ones give less than the mean (computed from
/// the response)
#define LACK_DB 0.6

/// Highest m and n with a mode below PLATE_HIGH_HZ
#define MAX_M 180U
#define MAX_N 91U

/// As shares of length and width
static const double drive_at[2] = {0.413, 0.371};
static const double left_at[2]  = {0.170, 0.660};
static const double right_at[2] = {0.710, 0.230};

double
plate_stiffness(void)
{
  return PLATE_THICKNESS_M *
         sqrt(YOUNGS_MODULUS_PA /
              (12.0 * DENSITY_KG_M3 * (1.0 - POISSONS_RATIO * POISSONS_RATIO)));
}

double
plate_mode_hz(uint32_t m, uint32_t n)
{
  const double x = m / PLATE_LENGTH_M;
  const double y = n / PLATE_WIDTH_M;
  return 0.5 * DSP_PI * plate_stiffness() * (x * x + y * y);
}

/// Returns a number of mean 0 and deviation 1, near enough to a normal
/// distribution: made of four uniform numbers
static double
next_normal(uint32_t* seed)
{
  double sum = 0.0;
  for (int i = 0; i < 4; ++i) {
    *seed = *seed * 1664525U + 1013904223U;
    sum += *seed / 4294967296.0;
  }
  return sqrt(3.0) * (sum - 2.0);
}

/// Shapes along one edge at the three points: drive, left, right
typedef struct {
  double drive, left, right;
} shape;

static void
fill_shapes(shape* s, uint32_t n, uint32_t axis)
{
  for (uint32_t i = 1; i <= n; ++i) {
    s[i].drive = steady_sin(i * DSP_PI * drive_at[axis]);
    s[i].left  = steady_sin(i * DSP_PI * left_at[axis]);
    s[i].right = steady_sin(i * DSP_PI * right_at[axis]);
  }
}

void
plate_list_modes(double limit_hz, plate_mode_visit visit, void* to)
{
  // Hz per square of half waves along each edge, as in plate_mode_hz()
  const double across_hz = plate_mode_hz(1, 0);
  const double along_hz  = plate_mode_hz(0, 1);

  shape    x[MAX_M + 1];
  shape    y[MAX_N + 1];
  uint32_t seed = 1;
  fill_shapes(x, MAX_M, 0);
  fill_shapes(y, MAX_N, 1);

  for (uint32_t m = 1; m <= MAX_M; ++m) {
    for (uint32_t n = 1; n <= MAX_N; ++n) {
      const double f_hz = across_hz * m * m + along_hz * n * n;
      if (f_hz > PLATE_HIGH_HZ) {
        break;
      }
      const double off_hz = DETUNE_HZ * next_normal(&seed);
      if (f_hz < PLATE_LOW_HZ || f_hz > limit_hz) {
        continue;
      }
      const double     drive = x[m].drive * y[n].drive;
      const plate_mode mode  = {
         .f_hz  = f_hz + off_hz * fmin(1.0, f_hz / DETUNE_FROM_0_HZ),
         .input = (m + n) % 2,
         .gain  = {drive * x[m].left * y[n].left,
                   drive * x[m].right * y[n].right},
      };
      visit(to, &mode);
    }
  }
}

/// Mean of 1 / loss over the logarithm of the frequency, where the loss goes
/// from `a` to `b`
static double
mean_inverse(double a, double b)
{
  const double ratio = b / a;
  return fabs(ratio - 1.0) < 1e-4 ? 2.0 / (a + b) : steady_log(ratio) / (b - a);
}

double
plate_level(const plate_decay* decay, double rate_hz)
{
  // A mode of gain g and loss s responds to noise of density P per Hz with a
  // power of P g^2 rate^2 / (8 s).  The mean of g^2 is 1/16, of pink noise the
  // density times the width of a band is the same in each octave.
  const double low   = plate_decay_loss(decay, 100.0);
  const double mid   = plate_decay_loss(decay, 1000.0);
  const double high  = plate_decay_loss(decay, 5000.0);
  const double share = 1.0 / steady_log10(50.0); // Of the decade up to 1 kHz
  const double ring =
    share * mean_inverse(low, mid) + (1.0 - share) * mean_inverse(mid, high);
  const double per_hz =
    PLATE_LENGTH_M * PLATE_WIDTH_M / (2.0 * plate_stiffness());
  const double power = per_hz * rate_hz * rate_hz * ring / (8.0 * 16.0);
  return db_to_gain(LACK_DB) / sqrt(power);
}
