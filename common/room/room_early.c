// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "room_early.h"

#include "common/core/air.h"

#define FADE_S 0.030

/// Four quarters, on every second line
enum { BUILD_LINES = 8 };

void
room_early_init(room_early* e, double rate_hz)
{
  e->rate_hz = rate_hz;
}

void
room_early_set(room_early* e, room_place place)
{
  e->wanted = place;
}

// ---------------------------------------------------------------------------
// Positions

static bool
same_place(const room_place* a, const room_place* b)
{
  return a->volume_m3 == b->volume_m3 && a->distance_m == b->distance_m &&
         a->spacing_m == b->spacing_m && a->predelay_s == b->predelay_s;
}

static uint32_t
group_of(uint32_t order)
{
  return (order < ROOM_ORDERS ? order : ROOM_ORDERS) - 1;
}

/// Computes the taps of one source at one microphone
static void
build_pair(room_bank* b, uint32_t microphone, uint32_t source, double rate_hz)
{
  const room_layout room =
    room_layout_of(b->place.volume_m3, b->place.distance_m, b->place.spacing_m);

  // Up to the mixing time; never so many unless the layout is changed
  image_source   images[ROOM_IMAGES + 1];
  const double   longest = room_mixing_s(b->place.volume_m3);
  const uint32_t found =
    image_sources(room.size, room.source[source], room.microphone[microphone],
                  longest * SPEED_OF_SOUND_M_S, images, ROOM_IMAGES + 1);
  const uint32_t n = found < ROOM_IMAGES + 1 ? found : ROOM_IMAGES + 1;

  // The dry signal is what arrives directly: time counts from there.  Two
  // amplifiers share the power of one.
  const double frames_per_m = rate_hz / SPEED_OF_SOUND_M_S;
  const double start_m =
    b->place.predelay_s * SPEED_OF_SOUND_M_S - room.distance_m;
  const double gain = sqrt(0.5) * room.distance_m;
  const double most = ROOM_PAST_FRAMES - CONTROL_FRAMES;

  const room_rise rise  = room_rise_of(b->place.volume_m3);
  room_tap*       tap   = b->tap[microphone][source];
  uint32_t* const first = b->first[microphone][source];
  uint32_t        used  = 0;
  for (uint32_t g = 0; g < ROOM_ORDERS; ++g) {
    first[g] = used;
    for (uint32_t i = 0; i < n; ++i) {
      if (images[i].order && group_of(images[i].order) == g) {
        const double path_m = (double)images[i].path_m;
        const double delay  = (path_m + start_m) * frames_per_m;
        tap[used].delay     = (uint32_t)(clampd(delay, 0.0, most) + 0.5);
        const double left =
          1.0 - room_risen(&rise, path_m / SPEED_OF_SOUND_M_S);
        tap[used].gain = (float)(gain * sqrt(left) / path_m);
        ++used;
      }
    }
  }
  first[ROOM_ORDERS] = used;
}

static void
build_quarter(room_bank* b, uint32_t quarter, double rate_hz)
{
  build_pair(b, quarter / 2, quarter % 2, rate_hz);
}

void
room_early_control(room_early* e, bool free)
{
  room_bank* const other = &e->bank[1 - e->active];
  if (crossfade_done(&e->fade)) {
    crossfade_stop(&e->fade);
    e->active = 1 - e->active;
  } else if (e->building) {
    // Not two quarters, nor one and the cost of both banks, in 64 frames
    if (e->step == BUILD_LINES) {
      e->building = false;
      crossfade_start(&e->fade, FADE_S, e->rate_hz);
    } else if (e->step % 2 == 0) {
      build_quarter(other, e->step / 2, e->rate_hz);
    }
    ++e->step;
  } else if (free && !crossfade_runs(&e->fade) &&
             !same_place(&e->wanted, &e->bank[e->active].place)) {
    other->place = e->wanted;
    e->building  = true;
    e->step      = 0;
  }
}

// ---------------------------------------------------------------------------
// Walls

static void
walls_of(loss_lanes* l, const decay_law* law, double volume_m3, double rate_hz)
{
  const double         path_s = room_mean_path_s(volume_m3);
  const absorption_fit fit    = absorption_fit_of(law, rate_hz, path_s);
  const absorption     a      = absorption_of(law, &fit, path_s);
  for (uint32_t k = 0; k < 4; ++k) {
    loss_set_lane(l, k, &a, 1.0);
  }
}

void
room_early_push_decay(room_early*      e,
                      const decay_law* law,
                      double           volume_m3,
                      uint32_t         n_lines)
{
  e->wall = e->wall_to;
  walls_of(&e->wall_to, law, volume_m3, e->rate_hz);
  e->wall_moving = loss_step_between(&e->wall, &e->wall_to,
                                     n_lines * CONTROL_FRAMES, &e->wall_step);
}

void
room_early_reset(room_early* e, const decay_law* law)
{
  e->building = false;
  crossfade_stop(&e->fade);
  if (!same_place(&e->wanted, &e->bank[e->active].place)) {
    room_bank* const b = &e->bank[e->active];
    b->place           = e->wanted;
    for (uint32_t quarter = 0; quarter < 4; ++quarter) {
      build_quarter(b, quarter, e->rate_hz);
    }
  }

  walls_of(&e->wall_to, law, e->wanted.volume_m3, e->rate_hz);
  e->wall        = e->wall_to;
  e->wall_moving = false;
  memset(e->hit, 0, sizeof(e->hit));
}

// ---------------------------------------------------------------------------
// Sound

/// Sums of one block by microphone and order
typedef float sums[2][ROOM_ORDERS][CONTROL_FRAMES];

#define TILE    16
#define N_LANES (TILE / 4)

_Static_assert(CONTROL_FRAMES % TILE == 0, "Whole tiles");

/// Adds up 16 frames from `t` on of all taps in one order, in registers
static inline void
add_taps(f32x4*          sum,
         const tap_line* source,
         const room_tap* tap,
         uint32_t        n_taps,
         uint32_t        t)
{
  for (uint32_t j = 0; j < n_taps; ++j) {
    const float* const x = tap_line_at(source, tap[j].delay) + t;
    const f32x4        g = f32x4_splat(tap[j].gain);
    for (size_t i = 0; i < N_LANES; ++i) {
      sum[i] += g * f32x4_load(x + 4 * i);
    }
  }
}

static void
sum_taps(const room_bank* b, const tap_line* source, sums to, uint32_t n)
{
  for (uint32_t m = 0; m < 2; ++m) {
    for (uint32_t g = 0; g < ROOM_ORDERS; ++g) {
      for (uint32_t t = 0; t < n; t += TILE) {
        f32x4 sum[N_LANES] = {{0}};
        for (uint32_t s = 0; s < 2; ++s) {
          const uint32_t from = b->first[m][s][g];
          const uint32_t to_g = b->first[m][s][g + 1];
          add_taps(sum, &source[s], &b->tap[m][s][from], to_g - from, t);
        }
        memcpy(&to[m][g][t], sum, sizeof(sum));
      }
    }
  }
}

static void
fade_sums(room_early* e, const tap_line* source, sums now, uint32_t n)
{
  sums  fresh;
  float share[CONTROL_FRAMES];
  sum_taps(&e->bank[1 - e->active], source, fresh, n);
  crossfade_shares(&e->fade, share, n);
  for (uint32_t m = 0; m < 2; ++m) {
    for (uint32_t g = 0; g < ROOM_ORDERS; ++g) {
      crossfade_mix(share, fresh[m][g], now[m][g], n);
    }
  }
}

/// Applies one wall after the other, from the highest order down
static inline __attribute__((always_inline)) void
hit_walls(room_early* e, sums in, float* const* out, uint32_t n, bool moving)
{
  loss_lanes wall = e->wall;
  for (uint32_t i = 0; i < n; ++i) {
    f32x4 x = {0};
    for (uint32_t g = ROOM_ORDERS; g-- > 0;) {
      x += (f32x4){in[0][g][i], in[1][g][i], 0, 0};
      x = loss_next(&wall, &e->hit[g], x);
    }
    out[0][i] = x[0];
    out[1][i] = x[1];
    if (moving) {
      loss_step(&wall, &e->wall_step);
    }
  }
  e->wall = wall;
}

void
room_early_process(room_early*     e,
                   const tap_line* source,
                   float* const*   out,
                   uint32_t        n)
{
  sums now;
  sum_taps(&e->bank[e->active], source, now, n);
  if (crossfade_runs(&e->fade)) {
    fade_sums(e, source, now, n);
  }
  if (e->wall_moving) {
    hit_walls(e, now, out, n, true);
  } else {
    hit_walls(e, now, out, n, false);
  }
}
