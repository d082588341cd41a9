// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "plate_modes_parts.h"

#define BLOCK PLATE_GRID_BLOCK

/// Cost of a band itself and of a transform, in groups (measured)
#define BAND_GROUPS      4.0
#define TRANSFORM_GROUPS 200.0

/// Cost of a part of the kernel, in renewed bands (measured)
#define PART_BANDS 18.0

/// Bands that plate_modes_prepare() works on in one call, at about the cost of
/// a part of the kernel
enum { PREPARED_BANDS = 16 };

/// The last two lines make the kernel, two parts each
enum { LAST = PLATE_MODES_LINES - 1 };

/// Shares out the bands so that all lines cost the same; the first and the last
/// have a transform each as well
static void
share_out_run(plate_modes* b)
{
  const double share =
    (2.0 * TRANSFORM_GROUPS + BAND_GROUPS * b->n_bands + b->n_groups) /
    (double)PLATE_MODES_LINES;
  double   done = TRANSFORM_GROUPS;
  uint32_t i    = 0;
  for (uint32_t line = 0; line < LAST; ++line) {
    while (i < b->n_bands && done < share * (line + 1)) {
      const plate_modes_band* const band = &b->band[i++];
      done += BAND_GROUPS + band->first[PLATE_MODES_INPUTS] - band->first[0];
    }
    b->run_to[line] = i;
  }
  b->run_to[LAST] = b->n_bands;
}

/// Does the same for the cost of changing losses.  The kernel needs all bands,
/// and none is run before it is renewed.
static void
share_out_renewal(plate_modes* b)
{
  const double share =
    (PART_BANDS * (double)PLATE_MODES_KERNEL_PARTS + b->n_bands) /
    (double)PLATE_MODES_LINES;
  for (uint32_t line = 0; line < PLATE_MODES_LINES; ++line) {
    const uint32_t bands = (uint32_t)ceil(share * (line + 1));
    const uint32_t least = bands > b->run_to[line] ? bands : b->run_to[line];
    const bool     all   = line >= LAST - 1 || least > b->n_bands;
    b->renew_to[line]    = all ? b->n_bands : least;
  }
}

bool
plate_modes_init(plate_modes* b, double rate_hz, plate_mode_list list)
{
  b->rate_hz = rate_hz;
  b->want    = (plate_decay){1.0, 1.0, 1.0};
  plate_grid_init(&b->grid);
  plate_fft_init(&b->fft);
  if (!plate_modes_build(b, list)) {
    return false;
  }
  share_out_run(b);
  share_out_renewal(b);
  return true;
}

void
plate_modes_set_decay(plate_modes* b, const plate_decay* decay)
{
  b->want = *decay;
}

static void
still_modes(plate_modes* b)
{
  memset(b->re, 0, plate_modes_size(b));
  memset(b->im, 0, plate_modes_size(b));
}

/// Forgets all signal but that of the modes
static void
forget(plate_modes* b)
{
  memset(b->history, 0, sizeof(b->history));
  memset(b->tail, 0, sizeof(b->tail));
  memset(b->next_tail, 0, sizeof(b->next_tail));
  memset(&b->gathered, 0, sizeof(b->gathered));
  memset(&b->spread, 0, sizeof(b->spread));
}

void
plate_modes_silence(plate_modes* b)
{
  still_modes(b);
  forget(b);
}

void
plate_modes_reset(plate_modes* b)
{
  still_modes(b);
  plate_modes_restart(b);
}

void
plate_modes_restart(plate_modes* b)
{
  forget(b);
  b->at = 0;
  while (plate_modes_prepare(b)) {
  }
}

/// Begins to jump to the losses set
static void
begin_jump(plate_modes* b)
{
  b->decay  = b->want;
  b->renew  = 0;
  b->fading = false;
  b->jump   = 0;
  memset(b->head, 0, sizeof(b->head));
}

/// Jumps with band `i`, or with a part of the kernel after the last one
static void
jump(plate_modes* b, uint32_t i)
{
  if (i < b->n_bands) {
    plate_modes_settle_band(b, &b->band[i], &b->decay);
    plate_modes_renew_band(b, &b->band[i], &b->decay);
    return;
  }
  plate_modes_make_kernel(b, i - b->n_bands);
  if (i == b->n_bands + PLATE_MODES_KERNEL_PARTS - 1) {
    memcpy(b->kernel, b->new_kernel, sizeof(b->kernel));
  }
}

bool
plate_modes_prepare(plate_modes* b)
{
  const uint32_t end = b->n_bands + PLATE_MODES_KERNEL_PARTS;
  if (b->renew || b->fading || !plate_decay_equal(&b->decay, &b->want)) {
    begin_jump(b);
  }
  if (b->jump == end) {
    return false;
  }
  const uint32_t n = b->jump < b->n_bands ? PREPARED_BANDS : 1;
  for (uint32_t i = 0; i < n && b->jump < end; ++i) {
    jump(b, b->jump++);
  }
  return true;
}

/// Sets the losses of the next block.  Once they have arrived, two more
/// renewals follow: the present input has been losing for two blocks when it is
/// heard.
static void
begin_decay(plate_modes* b)
{
  b->fading = b->renew > 0;
  if (!plate_decay_equal(&b->decay, &b->want)) {
    b->decay = b->want;
    b->renew = 3;
  } else if (b->renew > 0) {
    --b->renew;
  }
}

static void
begin_block(plate_modes* b, bool idle)
{
  if (b->fading) {
    memcpy(b->kernel, b->next_kernel, sizeof(b->kernel));
  }
  if (b->renew) {
    memcpy(b->next_kernel, b->new_kernel, sizeof(b->next_kernel));
  }
  begin_decay(b);
  if (b->renew) {
    memset(b->head, 0, sizeof(b->head));
  }
  if (idle) {
    return;
  }

  memcpy(b->tail, b->next_tail, sizeof(b->tail));
  for (uint32_t k = 0; k < PLATE_MODES_INPUTS; ++k) {
    float* const last = b->history[k] + PLATE_MODES_TILE;
    memmove(last, last + BLOCK, BLOCK * sizeof(float));
  }
  memset(&b->spread, 0, sizeof(b->spread));
  plate_modes_analyse(b, &b->gathered);
}

/// Renews, on one line, bands ahead of those that are run, and then the kernel
static void
renew(plate_modes* b, uint32_t line)
{
  for (uint32_t i = line ? b->renew_to[line - 1] : 0; i < b->renew_to[line];
       ++i) {
    plate_modes_renew_band(b, &b->band[i], &b->decay);
  }
  for (size_t i = 0; line >= LAST - 1 && i < 2; ++i) {
    plate_modes_make_kernel(b, 2 * (size_t)(line - (LAST - 1)) + i);
  }
}

void
plate_modes_control(plate_modes* b, bool idle)
{
  const uint32_t line = b->at / CONTROL_FRAMES;
  if (line == 0) {
    begin_block(b, idle);
  }
  if (b->renew) {
    renew(b, line);
  }
  if (idle) {
    return;
  }
  for (uint32_t i = line ? b->run_to[line - 1] : 0; i < b->run_to[line]; ++i) {
    plate_modes_run_band(b, &b->band[i]);
  }
  if (line == LAST) {
    plate_modes_synthesise(b, &b->spread, b->next_tail[0], b->next_tail[1], 1);
  }
}

void
plate_modes_process(plate_modes*        b,
                    const float* const* in,
                    float* const*       out,
                    uint32_t            n)
{
  for (uint32_t k = 0; k < PLATE_MODES_INPUTS; ++k) {
    float* const now = b->history[k] + PLATE_MODES_TILE + BLOCK + b->at;
    memcpy(now, in[k], n * sizeof(float));
  }

  float left[CONTROL_FRAMES];
  float right[CONTROL_FRAMES];
  plate_modes_filter(b, left, right, n);
  for (uint32_t i = 0; i < n; ++i) {
    out[0][i] = left[i] + b->tail[0][b->at + i];
    out[1][i] = right[i] + b->tail[1][b->at + i];
  }
  b->at = (b->at + n) % BLOCK;
}
