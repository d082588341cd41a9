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
  {{-23.03F, -18.03F, -13.03F, -8.02F, -3.02F, 1.97F, 6.92F, 11.59F, 15.29F,
    17.79F, 19.35F, 20.42F, 21.20F},
   {-19.53F, -14.54F, -9.54F, -4.55F, 0.42F, 5.29F, 9.88F, 13.72F, 16.51F,
    18.39F, 19.67F, 20.61F, 21.33F},
   {-18.04F, -13.04F, -8.04F, -3.06F, 1.90F, 6.69F, 10.94F, 14.28F, 16.73F,
    18.47F, 19.72F, 20.67F, 21.40F},
   {-17.75F, -12.75F, -7.76F, -2.79F, 2.05F, 6.49F, 10.41F, 13.73F, 16.32F,
    18.21F, 19.59F, 20.63F, 21.41F},
   {-20.06F, -15.09F, -10.15F, -5.30F, -0.62F, 3.90F, 8.25F, 12.17F, 15.41F,
    17.72F, 19.33F, 20.53F, 21.39F}},
  {{-27.77F, -22.77F, -17.77F, -12.77F, -7.78F, -2.85F, 1.95F, 6.46F, 10.57F,
    14.04F, 16.70F, 18.53F, 19.74F},
   {-20.58F, -15.58F, -10.57F, -5.58F, -0.60F, 4.30F, 8.91F, 12.86F, 15.79F,
    17.80F, 19.17F, 20.12F, 20.74F},
   {-17.49F, -12.49F, -7.49F, -2.50F, 2.45F, 7.16F, 11.31F, 14.54F, 16.91F,
    18.57F, 19.75F, 20.56F, 21.12F},
   {-16.88F, -11.89F, -6.90F, -1.96F, 2.80F, 7.13F, 10.92F, 14.15F, 16.67F,
    18.49F, 19.75F, 20.63F, 21.22F},
   {-21.66F, -16.69F, -11.77F, -6.94F, -2.33F, 2.04F, 6.05F, 9.66F, 12.87F,
    15.69F, 17.98F, 19.69F, 20.84F}},
  {{-32.50F, -27.51F, -22.51F, -17.52F, -12.54F, -7.58F, -2.69F, 2.06F, 6.55F,
    10.67F, 14.18F, 16.86F, 18.74F},
   {-21.63F, -16.64F, -11.65F, -6.66F, -1.71F, 3.16F, 7.79F, 11.97F, 15.19F,
    17.44F, 18.94F, 19.99F, 20.70F},
   {-16.94F, -11.94F, -6.95F, -1.98F, 2.95F, 7.64F, 11.73F, 14.86F, 17.12F,
    18.69F, 19.84F, 20.65F, 21.22F},
   {-16.02F, -11.02F, -6.04F, -1.09F, 3.66F, 7.98F, 11.68F, 14.74F, 17.05F,
    18.70F, 19.91F, 20.77F, 21.33F},
   {-23.22F, -18.22F, -13.24F, -8.31F, -3.55F, 0.95F, 5.12F, 8.88F, 12.21F,
    15.08F, 17.44F, 19.21F, 20.45F}},
};

// What sag_pc 100 and bright_db 12 add to that, at bias 0
static const float sag_lu[TUBE_STAGES_MAX][N_DRIVE] = {
  {0.00F, -0.01F, -0.01F, -0.03F, -0.06F, -0.22F, -0.61F, -1.12F, -1.67F,
   -2.13F, -2.48F, -2.80F, -3.06F},
  {-0.01F, -0.02F, -0.03F, -0.06F, -0.12F, -0.33F, -0.77F, -1.26F, -1.78F,
   -2.20F, -2.57F, -2.84F, -3.05F},
  {-0.01F, -0.03F, -0.05F, -0.09F, -0.18F, -0.43F, -0.90F, -1.41F, -1.91F,
   -2.30F, -2.64F, -2.90F, -3.10F},
};

static const float bright_lu[TUBE_STAGES_MAX][N_DRIVE] = {
  {6.43F, 6.42F, 6.38F, 6.20F, 5.94F, 5.18F, 4.06F, 3.01F, 2.23F, 1.71F, 1.40F,
   1.16F, 1.04F},
  {6.45F, 6.45F, 6.44F, 6.25F, 5.87F, 5.01F, 3.91F, 2.95F, 2.23F, 1.73F, 1.38F,
   1.11F, 0.91F},
  {6.45F, 6.43F, 6.39F, 6.18F, 5.84F, 4.99F, 3.84F, 2.83F, 2.13F, 1.69F, 1.36F,
   1.08F, 0.88F},
};

// Likeness of dry and tubed signal: mean product of both at equal loudness,
// from the loudness of their even mix
static const float likeness[TUBE_STAGES_MAX][N_DRIVE] = {
  {0.95F, 0.95F, 0.95F, 0.95F, 0.95F, 0.95F, 0.93F, 0.89F, 0.85F, 0.80F, 0.74F,
   0.71F, 0.68F},
  {0.92F, 0.92F, 0.92F, 0.92F, 0.92F, 0.92F, 0.90F, 0.86F, 0.81F, 0.75F, 0.70F,
   0.66F, 0.63F},
  {0.89F, 0.89F, 0.90F, 0.90F, 0.90F, 0.90F, 0.87F, 0.82F, 0.76F, 0.71F, 0.66F,
   0.61F, 0.59F},
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
