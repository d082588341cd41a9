// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "pickup.h"

#define MAINS_HZ      50.0
#define HUM_RMS       1.78e-4 // -75 dBFS
#define THERMAL_RMS   1.05e-4 // Before the resonance of the coil
#define CONVERTER_RMS 0.5e-4
#define COUPLING_HZ   10.0
#define LOW_CUT_HZ    36.0  // Of the input: a pick pulls strings aside slowly
#define ALONG         0.3   // Sensitivity to motion along the face, re across
#define FIELD_PER_M   130.0 // Change of sensitivity with displacement
#define FIELD_PER_M2  9.0e3
#define FIELD_LIMIT_M 1.5e-3

double
pickup_circuit_gain(const pickup_circuit* c, double f_hz)
{
  // V / E = 1 / (1 + (R + j w L) (1 / load + j w C))
  const double w  = 2.0 * RP_PI * f_hz;
  const double cf = c->coil_f + c->cable_f;
  const double re = 1.0 + c->coil_ohm / c->load_ohm - w * w * c->coil_h * cf;
  const double im = w * (c->coil_h / c->load_ohm + c->coil_ohm * cf);
  return 1.0 / sqrt(re * re + im * im);
}

pickup_filter
pickup_filter_of(const pickup_circuit* c, double rate_hz)
{
  // s^2 + 2 decay s + w0^2, with the gain at 0
  const double cf = c->coil_f + c->cable_f;
  const double dc = 1.0 / (1.0 + c->coil_ohm / c->load_ohm);
  const double w0 = sqrt(1.0 / (dc * c->coil_h * cf));
  const double decay =
    0.5 * (1.0 / (cf * c->load_ohm) + c->coil_ohm / c->coil_h);

  const double t = 1.0 / rate_hz;
  const double r = rp_exp(-decay * t);
  const double w =
    w0 * w0 > decay * decay ? sqrt(w0 * w0 - decay * decay) : 0.0;
  pickup_filter f = {.a1 = -2.0 * r * rp_cos(w * t), .a2 = r * r};

  // Squared magnitudes in phi = sin^2(w t / 2), Vicanek section 3
  const double p1 = rp_sin(0.5 * w0 * t) * rp_sin(0.5 * w0 * t);
  const double p0 = 1.0 - p1;
  const double p2 = 4.0 * p0 * p1;
  const double A0 = (1.0 + f.a1 + f.a2) * (1.0 + f.a1 + f.a2);
  const double A1 = (1.0 - f.a1 + f.a2) * (1.0 - f.a1 + f.a2);
  const double A2 = -4.0 * f.a2;
  const double g0 = pickup_circuit_gain(c, 0.0);
  const double gr = pickup_circuit_gain(c, 0.5 * w0 / RP_PI);
  const double gn = pickup_circuit_gain(c, 0.5 * rate_hz);
  const double B0 = A0 * g0 * g0;
  const double B1 = A1 * gn * gn;
  const double R1 = (A0 * p0 + A1 * p1 + A2 * p2) * gr * gr;
  const double B2 = (R1 - B0 * p0 - B1 * p1) / p2;

  const double even = 0.5 * (sqrt(B0) + sqrt(B1)); // b0 + b2
  const double q    = even * even + B2;
  f.b0              = 0.5 * (even + sqrt(q > 0.0 ? q : 0.0));
  f.b1              = 0.5 * (sqrt(B0) - sqrt(B1));
  f.b2              = -0.25 * B2 / f.b0;
  return f;
}

// Butterworth, second order, by the bilinear transform
static pickup_filter
low_cut_of(double f_hz, double rate_hz)
{
  const double k =
    rp_sin(RP_PI * f_hz / rate_hz) / rp_cos(RP_PI * f_hz / rate_hz);
  const double b0 = 1.0 / (1.0 + sqrt(2.0) * k + k * k);
  return (pickup_filter){.b0 = b0,
                         .b1 = -2.0 * b0,
                         .b2 = b0,
                         .a1 = 2.0 * (k * k - 1.0) * b0,
                         .a2 = (1.0 - sqrt(2.0) * k + k * k) * b0};
}

void
pickup_chain_init(pickup_chain*         p,
                  const pickup_circuit* circuit,
                  double                gain,
                  double                rate_hz,
                  uint64_t              seed)
{
  *p           = (pickup_chain){.coil     = pickup_filter_of(circuit, rate_hz),
                                .low_cut  = low_cut_of(LOW_CUT_HZ, rate_hz),
                                .rate_hz  = rate_hz,
                                .gain     = gain,
                                .dc_share = 2.0 * RP_PI * COUPLING_HZ / rate_hz,
                                .hum_hz   = MAINS_HZ,
                                .noise    = dice_of(seed)};
  p->hum_phase = 2.0 * RP_PI * dice_uniform(&p->noise);
}

// Flux through the coil, its slope 1 at rest.  The coil hears the change of
// flux, not velocity times field: so nothing is left when the string is back.
static double
flux_of(double place_m)
{
  const double d    = place_m > FIELD_LIMIT_M    ? FIELD_LIMIT_M
                      : place_m < -FIELD_LIMIT_M ? -FIELD_LIMIT_M
                                                 : place_m;
  const double over = place_m - d; // Beyond the limit the slope stays
  return d + FIELD_PER_M * d * d / 2.0 + FIELD_PER_M2 * d * d * d / 3.0 +
         over * (1.0 + FIELD_PER_M * d + FIELD_PER_M2 * d * d);
}

void
pickup_chain_string(pickup_chain* p,
                    uint32_t      string,
                    const double* across,
                    const double* along,
                    double*       emf,
                    uint32_t      n)
{
  const double pole  = guitar_strings[string].pole;
  const double leak  = 1.0 - 2.0 * RP_PI * 12.0 / p->rate_hz;
  double       place = p->place_m[string];
  double       flux  = flux_of(place);
  for (uint32_t i = 0; i < n; ++i) {
    place             = leak * place + across[i] / p->rate_hz;
    const double next = flux_of(place);
    emf[i] += pole * (p->rate_hz * (next - flux) + ALONG * along[i]);
    flux = next;
  }
  p->place_m[string] = place;
}

// Mains and its harmonics as a coil picks them up: odd ones from transformers,
// even ones from rectifiers, the upper ones buzzing.  Relative amplitudes [from
// memory]; together a mean square of 1.
static double
hum(pickup_chain* p)
{
  static const double in_phase[] = {1.129, 0.174,  -0.391, 0.166, 0.096,
                                    -0.1,  -0.073, 0.066,  -0.084};
  static const double shifted[]  = {0.0,    0.342, 0.438, 0.07, -0.325,
                                    -0.016, 0.214, 0.013, -0.12};

  // The harmonics as powers of one phasor
  const double re = rp_cos(p->hum_phase);
  const double im = rp_sin(p->hum_phase);
  double       c  = 1.0;
  double       d  = 0.0;
  double       y  = 0.0;
  for (uint32_t k = 0; k < 9; ++k) {
    const double next = c * re - d * im;
    d                 = c * im + d * re;
    c                 = next;
    y += in_phase[k] * d + shifted[k] * c;
  }
  // The mains frequency wanders by some mHz
  p->drift += 1e-7 * dice_between(&p->noise, -1.0, 1.0) - 1e-6 * p->drift;
  p->hum_phase += 2.0 * RP_PI * p->hum_hz * (1.0 + p->drift) / p->rate_hz;
  if (p->hum_phase > 2.0 * RP_PI) {
    p->hum_phase -= 2.0 * RP_PI;
  }
  return y;
}

void
pickup_chain_process(pickup_chain* p,
                     const double* emf,
                     double*       out,
                     uint32_t      n)
{
  for (uint32_t i = 0; i < n; ++i) {
    const double noise = THERMAL_RMS * dice_bell(&p->noise);
    const double x     = p->gain * emf[i] + HUM_RMS * hum(p) + noise;
    double       y     = pickup_filter_next(&p->coil, x);
    p->dc += p->dc_share * (y - p->dc);
    y      = pickup_filter_next(&p->low_cut, y - p->dc);
    out[i] = y + CONVERTER_RMS * dice_bell(&p->noise);
  }
}

int32_t
pickup_quantise(double x)
{
  const double top = 8388607.0;
  const double y   = floor(x * 8388608.0 + 0.5);
  return (int32_t)(y > top ? top : y < -8388608.0 ? -8388608.0 : y);
}
