// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "speaker.h"

#include "common/core/fastmath.h"
#include "cone_modes_run.h"
#include "motor_run.h"

#include <assert.h>
#include <string.h>

// Centre of the resonator of a 12 inch cone
#define RESONANCE_HZ 2600.0

// Rise of the presence bell: LIFT_DB * shift / (shift + LIFT_OCT), 2 dB at the
// default; fall of the low-pass per octave of shift, 0.15 octaves there
#define LIFT_DB  4.0
#define LIFT_OCT 0.25
#define FALL     0.6

static double
fall_oct(const speaker_line* line)
{
  return line->shift_oct * line->position;
}

static cabinet_line
cabinet_line_of(const speaker_line* line)
{
  const double shift = line->shift_oct;
  return (cabinet_line){.lift_db =
                          LIFT_DB * shift / (shift + LIFT_OCT) * line->position,
                        .fall_oct = FALL * fall_oct(line),
                        .off_axis = line->off_axis};
}

void
speaker_start(speaker*            p,
              speaker_choice      choice,
              const speaker_line* line,
              double              rate_hz)
{
  const motor_driver driver = cone_driver(choice.size, choice.is_open);

  p->choice  = choice;
  p->rate_hz = rate_hz;
  p->heat    = (motor_heat){0};
  motor_init(&p->coil, &driver, line->source_ohm, rate_hz);
  cone_modes_init(&p->modes, choice.size, rate_hz);
  breakup_init(&p->cone, choice.factor, rate_hz);
  cabinet_init(&p->box, choice.size, choice.is_open, rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    oversample_init(&p->rates[k], choice.factor);
    delay_init(&p->late[k], p->late_memory[k], SPEAKER_LATE_FRAMES);
    delay_reset(&p->late[k]);
  }
  assert(oversample_latency_frames(choice.factor) <= SPEAKER_LATENCY);
  p->wait = SPEAKER_LATENCY - oversample_latency_frames(choice.factor);
  const cabinet_line box = cabinet_line_of(line);
  breakup_set_resonance(&p->cone, RESONANCE_HZ / cone_scale(choice.size));
  breakup_snap(&p->cone, fall_oct(line));
  cabinet_snap(&p->box, &box);
}

void
speaker_push(speaker* p, const speaker_line* line)
{
  // The last line's current changes the coil's resistance
  const double power_w = motor_take_power(&p->coil, CONTROL_FRAMES);
  motor_heat_step(&p->heat, power_w, CONTROL_FRAMES / p->rate_hz);
  motor_push(&p->coil, line->source_ohm,
             motor_warm_ohm(&p->coil.driver, p->heat.coil_k));

  const cabinet_line box = cabinet_line_of(line);
  breakup_push(&p->cone, fall_oct(line));
  cabinet_push(&p->box, &box);
}

/// Runs both in one loop: while a frame of one waits for the frame before, the
/// processor works on the other.  `n_channels` is known to the compiler.
static inline __attribute__((always_inline)) void
run_coil_and_modes_of(speaker*             p,
                      const speaker_moves* moves,
                      const float* const*  in,
                      float* const*        out,
                      uint32_t             n_channels,
                      uint32_t             n)
{
  motor_run      coil = motor_begin(&p->coil);
  cone_modes_run modes;
  cone_modes_begin(&modes, &p->modes);
  for (uint32_t i = 0; i < n; ++i) {
    const f64x2 x    = motor_next(&coil, motor_load(in, n_channels, i));
    const float left = (float)x[0];
    const float now[MAX_CHANNELS] = {left,
                                     n_channels == 1 ? left : (float)x[1]};
    cone_modes_next(&modes, moves->position[i], now);
    for (uint32_t k = 0; k < n_channels; ++k) {
      out[k][i] = now[k] + moves->mix[i] * cone_modes_sound(&modes, k);
    }
  }
  motor_end(&p->coil, &coil);
  cone_modes_end(&p->modes, &modes);
}

WIDE_CLONES static void
run_coil_and_modes(speaker*             p,
                   const speaker_moves* moves,
                   const float* const*  in,
                   float* const*        out,
                   uint32_t             n_channels,
                   uint32_t             n)
{
  if (n_channels == 1) {
    run_coil_and_modes_of(p, moves, in, out, 1, n);
  } else {
    run_coil_and_modes_of(p, moves, in, out, 2, n);
  }
}

/// Runs what comes before the breakup.  Modes that are not heard forget the
/// signal.
static void
run_cone(speaker*             p,
         const speaker_moves* moves,
         const float* const*  in,
         float* const*        out,
         uint32_t             n_channels,
         uint32_t             n)
{
  if (moves->is_dry) {
    cone_modes_reset(&p->modes);
  }
  if (p->choice.has_cabinet && !moves->is_dry && wide_clones_run()) {
    run_coil_and_modes(p, moves, in, out, n_channels, n);
    return;
  }
  if (p->choice.has_cabinet) {
    motor_process(&p->coil, in, out, n_channels, n);
  } else {
    for (uint32_t k = 0; k < n_channels; ++k) {
      memcpy(out[k], in[k], n * sizeof(float));
    }
  }
  if (!moves->is_dry) {
    cone_modes_process(&p->modes, moves->position, moves->mix, out, n_channels,
                       n);
  }
}

void
speaker_run(speaker*             p,
            const speaker_moves* moves,
            const float* const*  in,
            float* const*        out,
            uint32_t             n_channels,
            uint32_t             n)
{
  assert(n_channels <= MAX_CHANNELS);
  const breakup_moves gains = {.drive    = moves->drive + 1,
                               .dry      = moves->dry + 1,
                               .wet      = moves->wet + 1,
                               .feedback = moves->feedback};

  float  inner[MAX_CHANNELS][OVERSAMPLE_MAX_SAMPLES];
  float* at[MAX_CHANNELS] = {inner[0], inner[1]};

  run_cone(p, moves, in, out, n_channels, n);
  for (uint32_t k = 0; k < n_channels; ++k) {
    oversample_up(&p->rates[k], out[k], inner[k], n);
  }
  if (moves->is_dry) {
    breakup_pass(&p->cone, &gains, at, n_channels, n);
  } else {
    breakup_process(&p->cone, &gains, at, n_channels, n);
  }
  for (uint32_t k = 0; k < n_channels; ++k) {
    oversample_down(&p->rates[k], inner[k], out[k], n);
    if (p->wait) {
      delay_process(&p->late[k], p->wait, out[k], out[k], n);
    }
  }
  if (p->choice.has_cabinet) {
    cabinet_process(&p->box, (const float* const*)out, out, n_channels, n);
  }
}
