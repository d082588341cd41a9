// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "thickening_echo.h"

#include <string.h>

PARAMS_DEFINE(thickening_echo, THICKENING_ECHO_PARAMS)

#define LIFT_FROM_HZ 3000.0
#define PLAYBACK_HZ  12000.0
#define RUMBLE_HZ    30.0

// The tape makes less below the hearing than a tube does: an edge lower than
// INFRA_CUT_EDGE_HZ will do, with less delay
#define HEAD_EDGE_HZ 44.0

_Static_assert(OVERSAMPLE_MAX_LATENCY + TAPE_MAX_TAPS / 2 <=
                 BALANCE_MAX_LATENCY,
               "Latency fits the balance");

// Drive that puts a sine at ALIGN_RMS_DBFS at full level
#define FULL_LEVEL_DB 18.0

/// Returns 0 at the lowest setting, which is off
static double
gain_of_wet(double db)
{
  return db > -60.0 ? db_to_gain(db) : 0.0;
}

GLIDES_DEFINE(thickening_echo, THICKENING_ECHO_GLIDES)

bool
thickening_echo_init(thickening_echo* s, double rate_hz, uint32_t n_channels)
{
  s->rate_hz    = rate_hz;
  s->n_channels = n_channels;
  thickening_echo_glides_init(s, rate_hz);
  s->rumble = one_pole_average(1.0 / (2.0 * DSP_PI * RUMBLE_HZ), rate_hz);

  infra_cut_init(&s->head, HEAD_EDGE_HZ, rate_hz);

  tape_line_init(&s->line, rate_hz, n_channels);
  const bool  thins  = s->line.stride > 1;
  tape_limits limits = {.playback_hz = PLAYBACK_HZ,
                        .nothing_hz =
                          thins ? 0.5 * tape_line_rate_hz(&s->line) : 0.0};
  tape_machine_init(&s->machine, limits, rate_hz);
  balance_init(&s->even, rate_hz, n_channels);
  s->record_frames = (uint32_t)lround(tape_machine_latency(&s->machine));
  for (uint32_t k = 0; k < n_channels; ++k) {
    if (!tape_track_init(&s->machine, &s->track[k])) {
      return false;
    }
  }
  return true;
}

void
thickening_echo_set(thickening_echo* s, const thickening_echo_params* p)
{
  const double frames = 1e-3 * (double)p->time_ms * s->rate_hz;
  tape_line_set(&s->line, frames - tape_machine_latency(&s->machine),
                (double)p->flutter_pc);
  thickening_echo_glides_set(s, p);
}

/// Returns the gain from full scale to the input of the tangent
static double
drive_gain(const thickening_echo* s)
{
  const double full = TAPE_FULL_LEVEL * sqrt(0.5); // RMS
  return full * db_to_gain(s->drive.y - FULL_LEVEL_DB - ALIGN_RMS_DBFS);
}

/// Returns the gain that makes up the loss of playing by saturation.  More than
/// a Gaussian signal would lose, for hard strokes stand out, and recording
/// lifts their treble: measured on the demo's guitars (./dev levels).
static double
make_up(const thickening_echo* s)
{
  const double rms = drive_gain(s) * db_to_gain(ALIGN_RMS_DBFS);
  return steady_pow(1.0 + 12.0 * rms * rms, 0.345);
}

static biquad
low_cut_now(const thickening_echo* s)
{
  return eq_high_pass(steady_exp2(s->low_cut.y), sqrt(0.5), s->rate_hz);
}

static biquad
lift_now(const thickening_echo* s)
{
  return eq_high_shelf(LIFT_FROM_HZ, s->lift.y, s->rate_hz);
}

void
thickening_echo_reset(thickening_echo* s)
{
  thickening_echo_glides_snap(s);
  ramp_snap(&s->in_gain, drive_gain(s));
  ramp_snap(&s->out_gain, 1.0 / drive_gain(s));
  ramp_snap(&s->repeats_gain, s->repeats.y);
  ramp_snap(&s->wet_gain, s->wet.y * make_up(s));
  ramp_snap(&s->dry_gain, s->dry.y);

  svf_reset(&s->tone[0]);
  svf_reset(&s->tone[1]);
  svf_snap(&s->tone[0], low_cut_now(s));
  svf_snap(&s->tone[1], lift_now(s));
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    tape_track_reset(&s->track[k]);
    memset(&s->rumble_low[k], 0, sizeof(s->rumble_low[k]));
  }
  memset(s->below, 0, sizeof(s->below));
  balance_reset(&s->even);
  tape_line_restart(&s->line);
}

void
thickening_echo_control(thickening_echo* s)
{
  tape_line_control(&s->line);
  balance_control(&s->even);
  const bool low_cut = s->low_cut.moving || s->tone[0].moving;
  const bool lift    = s->lift.moving || s->tone[1].moving;
  const bool levels =
    s->drive.moving || s->wet.moving || s->in_gain.moving || s->wet_gain.moving;
  (void)thickening_echo_glides_next(s);
  if (low_cut) {
    svf_push(&s->tone[0], low_cut_now(s));
  }
  if (lift) {
    svf_push(&s->tone[1], lift_now(s));
  }
  if (levels) {
    ramp_push(&s->in_gain, drive_gain(s));
    ramp_push(&s->out_gain, 1.0 / drive_gain(s));
    ramp_push(&s->wet_gain, s->wet.y * make_up(s));
  }
  ramp_push(&s->repeats_gain, s->repeats.y);
  ramp_push(&s->dry_gain, s->dry.y);
}

/// Adds the input and the repeats from the tape, high-passed at 30 Hz
static void
feed_back(thickening_echo*    s,
          const float* const* in,
          float* const*       off,
          float* const*       sum,
          uint32_t            n)
{
  float repeats[CONTROL_FRAMES];
  float gain[CONTROL_FRAMES];
  ramp_values(&s->repeats_gain, repeats, n);
  ramp_values(&s->in_gain, gain, n);
  const uint32_t n_channels = s->n_channels == 2 ? 2 : 1;
  for (uint32_t k = 0; k < n_channels; ++k) {
    float rumble[CONTROL_FRAMES];
    one_pole_run(&s->rumble, &s->rumble_low[k], off[k], rumble, n);
    for (uint32_t i = 0; i < n; ++i) {
      sum[k][i] = gain[i] * (in[k][i] + repeats[i] * (off[k][i] - rumble[i]));
    }
  }
}

/// Mixes dry and wet; exact when only the dry signal passes
static void
mix(thickening_echo*    s,
    const float* const* in,
    float* const*       wet,
    float* const*       out,
    uint32_t            n)
{
  if (ramp_rests_at(&s->wet_gain, 0.0f) && ramp_rests_at(&s->dry_gain, 1.0f)) {
    for (uint32_t k = 0; k < s->n_channels; ++k) {
      memmove(out[k], in[k], n * sizeof(float));
    }
    return;
  }
  float wet_gain[CONTROL_FRAMES];
  float dry_gain[CONTROL_FRAMES];
  ramp_values(&s->wet_gain, wet_gain, n);
  ramp_values(&s->dry_gain, dry_gain, n);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = dry_gain[i] * in[k][i] + wet_gain[i] * wet[k][i];
    }
  }
}

void
thickening_echo_process(thickening_echo*    s,
                        const float* const* in,
                        float* const*       out,
                        uint32_t            n)
{
  float        off[MAX_CHANNELS][CONTROL_FRAMES];
  float        on[MAX_CHANNELS][CONTROL_FRAMES];
  float* const off_at[] = {off[0], off[1]};
  float* const on_at[]  = {on[0], on[1]};

  tape_line_read(&s->line, off_at, n);
  feed_back(s, in, off_at, on_at, n);

  balance_listen(&s->even, (const float* const*)on_at, n);
  balance_take(&s->even, on_at, n);
  float gain[CONTROL_FRAMES];
  ramp_values(&s->out_gain, gain, n);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    tape_track_process(&s->machine, &s->track[k], on[k], n);
    for (uint32_t i = 0; i < n; ++i) {
      on[k][i] *= gain[i];
    }
  }
  balance_give(&s->even, on_at, s->record_frames, n);
  tape_line_write(&s->line, (const float* const*)on_at, n);

  svf_cascade(s->tone, 2, (const float* const*)off_at, off_at, s->n_channels,
              n);
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    infra_cut_run(&s->head, &s->below[k], off[k], off[k], n);
  }
  mix(s, in, off_at, out, n);
}

uint32_t
thickening_echo_latency_frames(const thickening_echo* s)
{
  (void)s;
  return 0;
}

static bool
memory(void* state, uint32_t i, memory_part* part) NONBLOCKING
{
  thickening_echo* const s = state;
  *part = (memory_part){s->line.tape, tape_line_size(&s->line)};
  return i == 0;
}

STAGE_DEFINE_WITH(thickening_echo, .memory = memory)
