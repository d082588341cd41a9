// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "fret_slap.h"

#include "repeatable.h"

#define LAST_FRET 22
#define NUT_M     4.0e-4
#define AWAKE_S   0.15

// String, windings, fret and neck give; as stiff and as lossy as makes hard
// strokes as bright, and as high in crest, as recorded ones (our choice)
#define CONTACT_N_M 4e4
#define LOSS        0.3 // Resistance re 2 Z

// Takes an offset out of the displacement without reaching the first partial
#define LEAK_HZ 2.0

// Clearance over the 12th fret, low E first: a low to medium action (common
// practice)
static const double ACTION_M[N_STRINGS] = {1.9e-3, 1.8e-3, 1.7e-3,
                                           1.6e-3, 1.5e-3, 1.4e-3};

// Contacts are spread over the board, denser near the finger, where the string
// comes closest
static const uint32_t BEYOND[FRET_CONTACTS] = {1, 2, 3, 5, 8, 12, 16};

static double
fret_from_bridge_m(double fret)
{
  return SCALE_M * rp_cents(-100.0 * fret);
}

void
fretboard_stop(fretboard*          b,
               const string_gauge* gauge,
               double              fret,
               double              rate_hz)
{
  const double action_m     = ACTION_M[gauge - guitar_strings];
  const double saddle_m     = NUT_M + 2.0 * (action_m - NUT_M);
  const double end_m        = fret_from_bridge_m(fret);
  const double end_up_m     = fret > 0.0 ? 0.0 : NUT_M;
  const double frames_per_m = rate_hz / string_speed_m_s(gauge);

  *b           = (fretboard){.rate_hz    = rate_hz,
                             .resistance = LOSS,
                             .awake      = (int32_t)(AWAKE_S * rate_hz)};
  b->stiffness = CONTACT_N_M / (2.0 * string_impedance(gauge));
  for (uint32_t i = 0; i < FRET_CONTACTS; ++i) {
    const double under = ceil(fret) + BEYOND[i];
    if (under > LAST_FRET) {
      break;
    }
    const double x_m = fret_from_bridge_m(under);
    b->at[b->n++]    = (fret_contact){
         .frames      = (uint32_t)(x_m * frames_per_m + 0.5),
         .clearance_m = end_up_m + (saddle_m - end_up_m) * (1.0 - x_m / end_m)};
  }
}

void
fretboard_touch(fretboard*    b,
                string_wave*  wave,
                const double* axis,
                uint32_t      at)
{
  const double step_s = 1.0 / b->rate_hz;
  const double leak   = 1.0 - 2.0 * RP_PI * LEAK_HZ * step_s;
  --b->awake;
  for (uint32_t i = 0; i < b->n; ++i) {
    fret_contact* c = &b->at[i];
    if (c->frames + 4.0 > 0.5 * wave[1].delay) {
      continue; // A slide has passed this fret
    }
    double* there[2];
    double* back[2];
    double  v = 0.0;
    for (uint32_t k = 0; k < 2; ++k) {
      string_wave*   w      = &wave[k];
      const uint32_t middle = (uint32_t)(0.5 * w->delay);
      const uint32_t tap    = c->frames;
      there[k] = &w->line[(at - (middle - tap)) & STRING_LINE_MASK];
      back[k]  = &w->line[(at - (middle + tap)) & STRING_LINE_MASK];
      v += axis[k] * (*there[k] - *back[k]);
    }

    // Force / 2 Z of a contact that is `deep` in the fret at the end of the
    // frame, which its own effect is part of
    const double deep = -c->clearance_m - (c->place_m + v * step_s);
    double       push = 0.0;
    if (deep > 0.0) {
      push = (b->stiffness * deep - b->resistance * v) /
             (1.0 + b->stiffness * step_s + b->resistance);
      push     = push > 0.0 ? push : 0.0;
      b->awake = (int32_t)(AWAKE_S * b->rate_hz);
      for (uint32_t k = 0; k < 2; ++k) {
        *there[k] += axis[k] * push;
        *back[k] -= axis[k] * push;
      }
    }
    c->place_m = leak * c->place_m + (v + push) * step_s;
  }
}
