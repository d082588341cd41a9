// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_light.h"

#include "plate.h"

/// Shortest and longest line; log-spaced between, prime
#define SHORT_MS 8
#define LONG_MS  45

_Static_assert(DSP_LEAST_FRAMES(SHORT_MS) >= FDN_MIN_FRAMES, "Shortest line");
_Static_assert(DELAY_HOLDS(PLATE_LIGHT_PAST,
                           DSP_MOST_FRAMES(PLATE_LIGHT_LAST_MS)),
               "Last wave");

/// Frequencies of the shelves: see law_of()
#define LOW_HZ  350.0
#define HIGH_HZ 2800.0

/// Rows of the matrix that are heard, and the signs with which the lines are
/// fed: chosen from 6,300 so that each octave is as loud from either input at
/// either output, within 0.5 dB, and they do not correlate (computed)
#define LEFT_ROW  5
#define RIGHT_ROW 14

static const float sign[FDN_LINES] = {-1, 1, 1, -1, 1,  -1, 1, 1,
                                      -1, 1, 1, 1,  -1, 1,  1, 1};

/// Each line of the network is late with its first echo, 1/16 of the energy, by
/// more than a renewal would be: (1 - v^2) / 2 of it is missing at the start,
/// where v = 0.55 is the spread of the lengths over their mean (computed).  The
/// first wave and seven more until the lines begin make up for it, an eighth
/// of 0.35 / 16 each.
#define WAVE 0.0523F

/// Where the waves after the first come from, and when: a millisecond apart in
/// the mean, no two alike (our choice)
static const struct {
  double   ms;
  uint32_t input;
  float    gain;
} waves[2][PLATE_LIGHT_WAVES] = {
  {{1.13, 0, -WAVE},
   {2.11, 1, WAVE},
   {3.37, 0, WAVE},
   {4.19, 1, -WAVE},
   {5.41, 0, WAVE},
   {6.53, 1, WAVE},
   {7.61, 0, -WAVE}},
  {{0.89, 1, WAVE},
   {1.97, 0, -WAVE},
   {3.05, 1, -WAVE},
   {4.43, 0, WAVE},
   {5.29, 1, WAVE},
   {6.37, 0, -WAVE},
   {7.43, 1, WAVE}},
};

/// Distances from the drive to the two pick-ups, as on the plate (plate.c)
static const double distance_m[2] = {0.567, 0.611};

/// The shelves that come closest to the law of `decay`, whose loss is linear in
/// the logarithm of the frequency: least squares from 100 Hz to 10 kHz over the
/// losses themselves, frequencies of the shelves included (computed).  With
/// times of 3, 2 and 1 s the law is met within 3 %, at the ends of all ranges
/// within 19 %.
static decay_law
law_of(const plate_decay* decay)
{
  const double mid  = 1.0 / decay->mid_s;
  const double low  = 1.0 / decay->low_s - mid;
  const double high = 1.0 / decay->high_s - mid;

  const double m = mid - 0.0825 * low - 0.0880 * high;
  const double l = 1.0844 * low + 0.1098 * high;
  const double h = 0.1015 * low + 1.0816 * high;
  return (decay_law){.low_s   = 1.0 / (m + l),
                     .mid_s   = 1.0 / m,
                     .high_s  = 1.0 / (m + h),
                     .low_hz  = LOW_HZ,
                     .high_hz = HIGH_HZ};
}

/// Lays out the network's lines.  False if they do not fit.
static bool
lay_lines(plate_light* p)
{
  const double shortest_s = 1e-3 * SHORT_MS;
  const double longest_s  = 1e-3 * LONG_MS;
  uint32_t     used       = 0;
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const double   way = i / (FDN_LINES - 1.0);
    const double   s   = shortest_s * steady_pow(longest_s / shortest_s, way);
    const uint32_t n   = fdn_prime_from((uint32_t)(s * p->rate_hz));
    if (n > PLATE_LIGHT_FRAMES - used) {
      return false;
    }
    fdn_set_line(&p->network, i, p->line + used, n);
    used += n;
  }
  return true;
}

/// Sets the delays of the waves.  False if one of them does not fit.
static bool
lay_waves(plate_light* p)
{
  bool fits = true;
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_init(&p->past[k], p->past_line[k], PLATE_LIGHT_PAST);
    for (uint32_t i = 0; i < PLATE_LIGHT_WAVES; ++i) {
      p->wave[k][i] = (uint32_t)lround(1e-3 * waves[k][i].ms * p->rate_hz);
      fits          = fits && waves[k][i].ms <= PLATE_LIGHT_LAST_MS;
    }
  }
  return fits;
}

bool
plate_light_init(plate_light* p, double rate_hz)
{
  p->rate_hz = rate_hz;
  p->decay   = (plate_decay){1.0, 1.0, 1.0};
  if (!lay_lines(p) || !lay_waves(p) ||
      !plate_chirp_init(&p->chirp, rate_hz, distance_m)) {
    return false;
  }

  // The plate's modes end at 10 kHz
  for (uint32_t i = 0; i < 2; ++i) {
    const double q = eq_butterworth_q(4, i);
    svf_snap(&p->band[i], eq_low_pass(PLATE_HIGH_HZ, q, rate_hz));
  }

  // The network's power per frame is 1 / fdn_frames(), that of the plate's
  // modes half the sum of g^2 = 1/16, spread over 10 kHz instead of half the
  // rate.  The plate is weaker than that by 0.6 dB below 5 kHz (plate.c).
  const double per_hz =
    PLATE_LENGTH_M * PLATE_WIDTH_M / (2.0 * plate_stiffness());
  const double power = per_hz * rate_hz * fdn_frames(&p->network) / 64.0;
  p->gain            = (float)(db_to_gain(-0.6) * sqrt(power));
  plate_light_reset(p);
  return true;
}

void
plate_light_set_decay(plate_light* p, const plate_decay* decay)
{
  p->moving = p->moving || !plate_decay_equal(&p->decay, decay);
  p->decay  = *decay;
}

void
plate_light_reset(plate_light* p)
{
  memset(p->line, 0, plate_light_size(p));
  plate_light_restart(p);
}

void
plate_light_restart(plate_light* p)
{
  const decay_law law = law_of(&p->decay);
  fdn_snap_decay(&p->network, &law, p->rate_hz);
  fdn_restart(&p->network);
  plate_chirp_reset(&p->chirp);
  tap_line_reset(&p->past[0]);
  tap_line_reset(&p->past[1]);
  svf_reset(&p->band[0]);
  svf_reset(&p->band[1]);
  p->moving = false;
}

void
plate_light_control(plate_light* p)
{
  if (p->moving || p->network.moving) {
    const decay_law law = law_of(&p->decay);
    fdn_push_decay(&p->network, &law);
  }
  p->moving = false;
}

/// Adds to `out` the waves until the lines of the network begin
static void
add_waves(plate_light* p, float* const* in, float* const* out, uint32_t n)
{
  tap_line_push(&p->past[0], in[0], n);
  tap_line_push(&p->past[1], in[1], n);
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t t = 0; t < n; ++t) {
      out[k][t] += 0.5F * WAVE * (in[0][t] + in[1][t]);
    }
    for (uint32_t i = 0; i < PLATE_LIGHT_WAVES; ++i) {
      const tap_line* const from = &p->past[waves[k][i].input];
      const float* const    x    = tap_line_at(from, p->wave[k][i]);
      const float           gain = waves[k][i].gain;
      for (uint32_t t = 0; t < n; ++t) {
        out[k][t] += gain * x[t];
      }
    }
  }
}

void
plate_light_process(plate_light*        p,
                    const float* const* in,
                    float* const*       out,
                    uint32_t            n)
{
  float        data[2][CONTROL_FRAMES];
  float* const x[] = {data[0], data[1]};
  svf_cascade(p->band, 2, in, x, 2, n);

  // Each input feeds every second line; together, a vector of norm 1
  fdn_block put_in;
  fdn_block put_out;
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const float share = 0.25F * sign[i];
    for (uint32_t t = 0; t < n; ++t) {
      put_in[i][t] = share * x[i % 2][t];
    }
  }
  fdn_process(&p->network, put_in, put_out, n);

  float* const y[] = {put_out[LEFT_ROW], put_out[RIGHT_ROW]};
  add_waves(p, x, y, n);
  plate_chirp_process(&p->chirp, y[0], y[1], n);
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t t = 0; t < n; ++t) {
      out[k][t] = p->gain * y[k][t];
    }
  }
}
