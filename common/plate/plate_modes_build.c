// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_modes_parts.h"

/// Bands per octave, where the grid is not finer
#define BANDS_PER_OCTAVE 6.0

/// Below this, losses are constant
#define FLAT_BELOW_HZ 100.0

/// exp(i angle)
typedef struct {
  double re, im;
} turn;

static turn
turn_by(turn a, turn b)
{
  return (turn){a.re * b.re - a.im * b.im, a.re * b.im + a.im * b.re};
}

/// The bands around each node
typedef struct {
  plate_modes* bank;
  double       step_hz;
  uint32_t     first[PLATE_MODES_NODES + 1]; ///< Band of each node
  uint32_t     count[PLATE_MODES_MAX_BANDS][PLATE_MODES_INPUTS]; ///< Modes
} layout;

/// Where the bands of a node begin and end; above FLAT_BELOW_HZ
static void
node_range(const layout* l, uint32_t node, double* from_hz, double* to_hz)
{
  *from_hz = fmax((node - 0.5) * l->step_hz, FLAT_BELOW_HZ);
  *to_hz   = fmax((node + 0.5) * l->step_hz, FLAT_BELOW_HZ);
}

/// Cuts the axis into bands.  False if there are too many.
static bool
lay_out(layout* l, double top_hz)
{
  plate_modes* const b    = l->bank;
  const uint32_t     last = (uint32_t)lround(top_hz / l->step_hz);
  b->n_bands              = 0;
  for (uint32_t node = 0; node <= last; ++node) {
    double from_hz = 0.0;
    double to_hz   = 0.0;
    node_range(l, node, &from_hz, &to_hz);
    const double octaves = steady_log2(to_hz / from_hz);
    const double n       = fmax(1.0, ceil(octaves * BANDS_PER_OCTAVE));
    l->first[node]       = b->n_bands;
    for (uint32_t i = 0; i < n; ++i) {
      if (b->n_bands == PLATE_MODES_MAX_BANDS) {
        return false;
      }
      plate_modes_band* const band = &b->band[b->n_bands++];
      band->node                   = node;
      band->way =
        steady_log10(from_hz * steady_exp2(octaves * (i + 0.5) / n)) - 3.0;
    }
  }
  l->first[last + 1] = b->n_bands;
  return true;
}

static void
raise_top(void* to, const plate_mode* mode)
{
  double* const top_hz = to;
  *top_hz              = fmax(*top_hz, mode->f_hz);
}

static plate_modes_band*
band_of(const layout* l, double f_hz)
{
  const uint32_t node    = (uint32_t)lround(f_hz / l->step_hz);
  const uint32_t n       = l->first[node + 1] - l->first[node];
  double         from_hz = 0.0;
  double         to_hz   = 0.0;
  node_range(l, node, &from_hz, &to_hz);
  const double way = n > 1 ? steady_log2(fmax(f_hz, from_hz) / from_hz) /
                               steady_log2(to_hz / from_hz)
                           : 0.0;
  const double i   = clampd(floor(way * n), 0.0, n - 1.0);
  return &l->bank->band[l->first[node] + (uint32_t)i];
}

static void
count_mode(void* to, const plate_mode* mode)
{
  layout* const           l    = to;
  const plate_modes_band* band = band_of(l, mode->f_hz);
  ++l->count[band - l->bank->band][mode->input];
}

/// Assigns groups to the modes that were counted; the counts become the place
/// of the next mode.  False if there are too many.
static bool
assign_groups(layout* l)
{
  plate_modes* const b = l->bank;
  b->n_groups          = 0;
  for (uint32_t i = 0; i < b->n_bands; ++i) {
    for (uint32_t k = 0; k < PLATE_MODES_INPUTS; ++k) {
      b->band[i].first[k] = b->n_groups;
      b->n_groups += (l->count[i][k] + 3) / 4;
      l->count[i][k] = 4 * b->band[i].first[k];
    }
    b->band[i].first[PLATE_MODES_INPUTS] = b->n_groups;
  }
  return b->n_groups <= PLATE_MODES_MAX_GROUPS;
}

/// Adds the mode's output after an impulse, turned by `z`
static void
add_head(plate_modes_taps* head,
         const plate_mode* mode,
         const float*      weight,
         turn              z)
{
  for (uint32_t k = 0; k < PLATE_MODES_OUTPUTS; ++k) {
    const float re = (float)(mode->gain[k] * z.re);
    const float im = (float)(mode->gain[k] * z.im);
    for (uint32_t p = 0; p < 8; ++p) {
      head->re[k][p] += re * weight[p];
      head->im[k][p] += im * weight[p];
    }
  }
}

static void
place_mode(void* to, const plate_mode* mode)
{
  layout* const            l     = to;
  plate_modes* const       b     = l->bank;
  plate_modes_band* const  band  = band_of(l, mode->f_hz);
  const uint32_t           place = l->count[band - b->band][mode->input]++;
  plate_modes_group* const group = &b->group[place / 4];
  const uint32_t           lane  = place % 4;

  double exact[8];
  float  weight[8];
  plate_grid_weights(&b->grid, mode->f_hz / l->step_hz - band->node, exact);
  for (uint32_t p = 0; p < 8; ++p) {
    weight[p] = (float)exact[p];
  }
  for (uint32_t p = 0; p < PLATE_GRID_TAPS; ++p) {
    group->weight[p][lane] = weight[p];
  }
  const double angle   = DSP_PI * PLATE_GRID_BLOCK * mode->f_hz / b->rate_hz;
  const turn   half    = {steady_cos(angle), steady_sin(angle)};
  const turn   whole   = turn_by(half, half);
  group->turn_re[lane] = (float)whole.re;
  group->turn_im[lane] = (float)whole.im;
  for (uint32_t k = 0; k < PLATE_MODES_OUTPUTS; ++k) {
    group->gain[k][lane] = (float)mode->gain[k];
  }
  add_head(&band->head[mode->input][0], mode, weight, half);
  add_head(&band->head[mode->input][1], mode, weight, turn_by(half, whole));
}

/// Drops bands without a mode, so that each of the others has work
static void
drop_empty_bands(plate_modes* b)
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < b->n_bands; ++i) {
    if (b->band[i].first[0] < b->band[i].first[PLATE_MODES_INPUTS]) {
      b->band[n++] = b->band[i];
    }
  }
  b->n_bands = n;
}

bool
plate_modes_build(plate_modes* b, plate_mode_list list)
{
  layout l = {.bank = b, .step_hz = b->rate_hz / PLATE_GRID_SIZE};

  const double limit_hz = PLATE_MODES_TOP * b->rate_hz;
  double       top_hz   = 0.0;
  list(limit_hz, raise_top, &top_hz);
  if (!lay_out(&l, top_hz)) {
    return false;
  }
  list(limit_hz, count_mode, &l);
  if (!assign_groups(&l)) {
    return false;
  }
  list(limit_hz, place_mode, &l);
  drop_empty_bands(b);
  return true;
}
