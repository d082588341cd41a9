// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "tube_loudness.h"

#include "common/core/dsp.h"
#include "tube_gain.h"

// Measured with libebur128 (ITU-R BS.1770, integrated) on the demo's left
// rhythm and its lead, each at -18 dBFS RMS (gated) through tube_voice at 2x:
// loudness of the output, TUBE_LOUDNESS_FULL_V as 0 dBFS, minus that of the
// input, mean of both in LU.  The two takes differ from their mean by 0.6 LU or
// less.
//
// Columns: drive from -12 dB on, 5 dB apart.

#define DRIVE_MIN_DB  (-12.0)
#define DRIVE_STEP_DB 5.0
#define N_DRIVE       13

#define BIAS_MIN_PC  (-100.0)
#define BIAS_STEP_PC 50.0
#define N_BIAS       5

// By number of stages and bias from -100 % on, 50 % apart; sag 0, bright 0
static const float level_lu[TUBE_STAGES_MAX][N_BIAS][N_DRIVE] = {
  {{-22.96F, -17.96F, -12.96F, -7.97F, -2.99F, 1.99F, 6.86F, 11.14F, 14.48F,
    16.80F, 18.55F, 19.72F, 20.62F},
   {-19.38F, -14.38F, -9.39F, -4.43F, 0.49F, 5.28F, 9.55F, 13.04F, 15.56F,
    17.54F, 18.92F, 19.95F, 20.78F},
   {-17.86F, -12.86F, -7.87F, -2.90F, 1.99F, 6.59F, 10.48F, 13.44F, 15.86F,
    17.68F, 19.02F, 20.05F, 20.84F},
   {-17.57F, -12.57F, -7.59F, -2.67F, 2.02F, 6.24F, 9.95F, 12.96F, 15.49F,
    17.44F, 18.89F, 19.99F, 20.83F},
   {-19.94F, -14.96F, -10.05F, -5.26F, -0.63F, 3.81F, 8.02F, 11.57F, 14.59F,
    16.92F, 18.59F, 19.85F, 20.77F}},
  {{-27.69F, -22.69F, -17.69F, -12.70F, -7.72F, -2.82F, 1.84F, 6.20F, 10.04F,
    13.22F, 15.83F, 17.78F, 19.10F},
   {-20.43F, -15.43F, -10.43F, -5.46F, -0.52F, 4.29F, 8.66F, 12.23F, 14.90F,
    17.02F, 18.48F, 19.55F, 20.27F},
   {-17.32F, -12.32F, -7.32F, -2.35F, 2.52F, 7.01F, 10.80F, 13.70F, 16.06F,
    17.80F, 19.07F, 20.01F, 20.66F},
   {-16.71F, -11.72F, -6.74F, -1.86F, 2.73F, 6.82F, 10.40F, 13.35F, 15.80F,
    17.63F, 19.01F, 20.03F, 20.74F},
   {-21.54F, -16.61F, -11.71F, -6.95F, -2.45F, 1.77F, 5.57F, 8.98F, 12.11F,
    14.87F, 17.10F, 18.83F, 20.07F}},
  {{-32.43F, -27.43F, -22.44F, -17.45F, -12.48F, -7.54F, -2.68F, 1.99F, 6.36F,
    10.24F, 13.37F, 15.93F, 17.86F},
   {-21.50F, -16.50F, -11.51F, -6.54F, -1.62F, 3.18F, 7.66F, 11.49F, 14.32F,
    16.57F, 18.16F, 19.34F, 20.18F},
   {-16.78F, -11.78F, -6.80F, -1.84F, 3.00F, 7.47F, 11.20F, 14.00F, 16.29F,
    17.97F, 19.22F, 20.12F, 20.75F},
   {-15.85F, -10.86F, -5.89F, -1.01F, 3.56F, 7.61F, 11.06F, 13.90F, 16.24F,
    17.98F, 19.28F, 20.20F, 20.85F},
   {-23.09F, -18.11F, -13.16F, -8.32F, -3.68F, 0.67F, 4.68F, 8.19F, 11.44F,
    14.28F, 16.62F, 18.41F, 19.74F}},
};

// What sag_pc 100 and bright_db 12 add to that, at bias 0
static const float sag_lu[TUBE_STAGES_MAX][N_DRIVE] = {
  {0.00F, -0.01F, -0.02F, -0.04F, -0.11F, -0.32F, -0.70F, -1.14F, -1.59F,
   -2.04F, -2.38F, -2.70F, -2.96F},
  {-0.01F, -0.02F, -0.04F, -0.06F, -0.19F, -0.44F, -0.87F, -1.28F, -1.71F,
   -2.14F, -2.46F, -2.75F, -2.97F},
  {-0.02F, -0.04F, -0.06F, -0.10F, -0.23F, -0.56F, -1.00F, -1.42F, -1.81F,
   -2.22F, -2.55F, -2.83F, -3.03F},
};

static const float bright_lu[TUBE_STAGES_MAX][N_DRIVE] = {
  {7.69F, 7.66F, 7.57F, 7.38F, 6.82F, 5.67F, 4.33F, 3.36F, 2.49F, 1.94F, 1.57F,
   1.34F, 1.15F},
  {7.71F, 7.70F, 7.60F, 7.35F, 6.68F, 5.50F, 4.22F, 3.30F, 2.43F, 1.92F, 1.52F,
   1.22F, 0.96F},
  {7.67F, 7.61F, 7.54F, 7.30F, 6.64F, 5.40F, 4.11F, 3.21F, 2.39F, 1.88F, 1.48F,
   1.20F, 0.94F},
};

// Likeness of dry and tubed signal: mean product of both at equal loudness,
// from the loudness of their even mix
static const float likeness[TUBE_STAGES_MAX][N_DRIVE] = {
  {0.97F, 0.97F, 0.97F, 0.97F, 0.97F, 0.96F, 0.94F, 0.87F, 0.76F, 0.70F, 0.65F,
   0.59F, 0.57F},
  {0.96F, 0.96F, 0.95F, 0.95F, 0.95F, 0.96F, 0.92F, 0.87F, 0.73F, 0.67F, 0.61F,
   0.55F, 0.51F},
  {0.93F, 0.93F, 0.93F, 0.93F, 0.93F, 0.93F, 0.88F, 0.83F, 0.69F, 0.63F, 0.56F,
   0.51F, 0.48F},
};

/// Cubic (Catmull-Rom) interpolation of `n` values at `at`, counted from the
/// first
static double
interpolate(const double* y, uint32_t n, double at)
{
  const double   inside = clampd(at, 0.0, n - 1.0);
  const uint32_t i      = inside >= n - 1.0 ? n - 2 : (uint32_t)inside;
  const double   x      = inside - i;
  const double   y1     = y[i];
  const double   y2     = y[i + 1];
  const double   y0     = i > 0 ? y[i - 1] : 2.0 * y1 - y2;
  const double   y3     = i + 2 < n ? y[i + 2] : 2.0 * y2 - y1;
  const double   d1     = 0.5 * (y2 - y0);
  const double   d2     = 0.5 * (y3 - y1);
  const double   rise   = y2 - y1;
  return y1 + x * (d1 + x * (3.0 * rise - 2.0 * d1 - d2 +
                             x * (d1 + d2 - 2.0 * rise)));
}

static double
at_drive(const float* row, double drive_db)
{
  double y[N_DRIVE];
  for (uint32_t i = 0; i < N_DRIVE; ++i) {
    y[i] = (double)row[i];
  }
  return interpolate(y, N_DRIVE, (drive_db - DRIVE_MIN_DB) / DRIVE_STEP_DB);
}

double
tube_loudness_lu(const tube_loudness_setting* s)
{
  const uint32_t k = s->n_stages - 1;
  double         by_bias[N_BIAS];
  for (uint32_t i = 0; i < N_BIAS; ++i) {
    by_bias[i] = at_drive(level_lu[k][i], s->drive_db);
  }
  const double bias = (s->bias_pc - BIAS_MIN_PC) / BIAS_STEP_PC;
  const double bright =
    (db_to_gain(s->bright_db) - 1.0) / (db_to_gain(12.0) - 1.0);
  return interpolate(by_bias, N_BIAS, bias) +
         0.01 * s->sag_pc * at_drive(sag_lu[k], s->drive_db) +
         bright * at_drive(bright_lu[k], s->drive_db);
}

void
tube_loudness_blend(const tube_loudness_setting* s,
                    double                       blend,
                    double*                      dry,
                    double*                      wet)
{
  const double alike = at_drive(likeness[s->n_stages - 1], s->drive_db);
  const double rest  = 1.0 - blend;
  const double power = rest * rest + blend * blend + 2.0 * alike * rest * blend;
  const double gain  = 1.0 / sqrt(power);
  *dry               = rest * gain;
  const double full  = db_to_gain(-tube_loudness_lu(s)) / TUBE_LOUDNESS_FULL_V;
  *wet               = blend * gain * full;
}
