// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_body.h"

#include "plate.h"

/// Time in which a quality opens, and for which the sound of the other one
/// still rings (our choice)
#define GATE_S 0.02
#define RING_S 0.4

bool
plate_body_init(plate_body* p, double rate_hz)
{
  p->rate_hz = rate_hz;
  return plate_light_init(&p->light, rate_hz) &&
         plate_modes_init(&p->modes, rate_hz, plate_list_modes);
}

void
plate_body_choose(plate_body* p, plate_quality quality)
{
  p->voice[PLATE_FULL].chosen  = quality == PLATE_FULL;
  p->voice[PLATE_LIGHT].chosen = quality == PLATE_LIGHT;
}

void
plate_body_set_decay(plate_body* p, const plate_decay* decay)
{
  plate_modes_set_decay(&p->modes, decay);
  plate_light_set_decay(&p->light, decay);
}

static void
reset_voices(plate_body* p)
{
  for (uint32_t k = 0; k < 2; ++k) {
    plate_voice* const v = &p->voice[k];
    v->running           = v->chosen;
    v->gate = v->sound = v->chosen ? 1.0 : 0.0;
    ramp_snap(&v->gate_ramp, v->gate);
    ramp_snap(&v->sound_ramp, v->sound);
  }
}

void
plate_body_reset(plate_body* p)
{
  plate_modes_reset(&p->modes);
  plate_light_reset(&p->light);
  reset_voices(p);
}

void
plate_body_restart(plate_body* p)
{
  plate_modes_restart(&p->modes);
  plate_light_restart(&p->light);
  reset_voices(p);
}

// ---------------------------------------------------------------------------

/// Begins with an empty plate
static void
start(plate_body* p, plate_quality k)
{
  if (k == PLATE_FULL) {
    plate_modes_silence(&p->modes);
  } else {
    plate_light_reset(&p->light);
  }
  p->voice[k].running = true;
}

static void
control_voice(plate_body* p, plate_quality k)
{
  plate_voice* const v    = &p->voice[k];
  const double       line = CONTROL_FRAMES / p->rate_hz;
  if (v->chosen && !v->running) {
    start(p, k);
  }
  if (!v->running) {
    return;
  }
  const double way   = v->chosen ? line : -line;
  const double sound = v->sound + way / (v->chosen ? GATE_S : RING_S);
  v->gate            = clampd(v->gate + way / GATE_S, 0.0, 1.0);
  v->sound           = clampd(sound, 0.0, 1.0);
  (void)ramp_push(&v->gate_ramp, smoothstepd(v->gate));
  v->running = ramp_push(&v->sound_ramp, smoothstepd(v->sound)) || v->chosen;
}

void
plate_body_control(plate_body* p)
{
  control_voice(p, PLATE_FULL);
  control_voice(p, PLATE_LIGHT);
  plate_modes_control(&p->modes, !p->voice[PLATE_FULL].running);
  if (p->voice[PLATE_LIGHT].running) { // Otherwise start() takes its decay
    plate_light_control(&p->light);
  }
}

// ---------------------------------------------------------------------------

/// Multiplies both channels by one ramp
static void
apply(ramp* r, float* const* x, uint32_t n)
{
  float gain[CONTROL_FRAMES];
  if (ramp_rests_at(r, 1.0F)) {
    return;
  }
  ramp_values(r, gain, n);
  for (uint32_t i = 0; i < n; ++i) {
    x[0][i] *= gain[i];
    x[1][i] *= gain[i];
  }
}

/// Adds the response of a quality to `in` to `out`
static void
run_voice(plate_body*         p,
          plate_quality       k,
          const float* const* in,
          float* const*       out,
          uint32_t            n)
{
  float              data[2][CONTROL_FRAMES];
  float* const       x[] = {data[0], data[1]};
  const float* const y[] = {data[0], data[1]};
  memcpy(x[0], in[0], n * sizeof(float));
  memcpy(x[1], in[1], n * sizeof(float));
  apply(&p->voice[k].gate_ramp, x, n);
  if (k == PLATE_FULL) {
    plate_modes_process(&p->modes, y, x, n);
  } else {
    plate_light_process(&p->light, y, x, n);
  }
  apply(&p->voice[k].sound_ramp, x, n);
  for (uint32_t i = 0; i < n; ++i) {
    out[0][i] += x[0][i];
    out[1][i] += x[1][i];
  }
}

void
plate_body_process(plate_body*         p,
                   const float* const* in,
                   float* const*       out,
                   uint32_t            n)
{
  memset(out[0], 0, n * sizeof(float));
  memset(out[1], 0, n * sizeof(float));
  for (uint32_t k = 0; k < 2; ++k) {
    if (p->voice[k].running) {
      run_voice(p, (plate_quality)k, in, out, n);
    }
  }
  if (!p->voice[PLATE_FULL].running) {
    plate_modes_skip(&p->modes, n);
  }
}
