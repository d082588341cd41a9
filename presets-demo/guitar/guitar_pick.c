// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "guitar_pick.h"

void
guitar_pick_land(guitar_pick* p, string_stroke stroke, double rate_hz)
{
  p->stroke         = stroke;
  p->rate_hz        = rate_hz;
  p->at             = 0;
  p->hold_frames    = (int32_t)(stroke.hold_s * rate_hz) + 1;
  p->release_frames = (int32_t)(30.0 * stroke.release_s * rate_hz) + 2;
}

// The pick damps what rang before, and no longer does when the new wave leaves.
// It lets go by and by: the string, pulled aside, would jump.
void
guitar_pick_damp(guitar_pick* p, int32_t before)
{
  const int32_t free_at = p->hold_frames - before;
  if (p->at < 0 || p->at >= free_at) {
    p->touch = 0.0;
    return;
  }
  const double x  = (double)p->at / free_at;
  const double on = p->touch + 0.7 * (1.0 - p->touch);
  const double to =
    x < 0.4 ? 1.0 : 0.5 * (1.0 - rp_cos(RP_PI * (1.0 - x) / 0.6));
  p->touch = on < to ? on : to;
}

double
guitar_pick_force(guitar_pick* p, dice* noise)
{
  const int32_t t = p->at++;
  if (t < p->hold_frames) {
    // Noise of the pick, around 2 to 6 kHz, strongest as it starts to slip
    const double push = 0.5 * (1.0 - rp_cos(RP_PI * t / p->hold_frames));
    const double x    = dice_between(noise, -1.0, 1.0);
    p->scrape_low += 0.5 * (x - p->scrape_low);
    p->scrape_high += 0.25 * (p->scrape_low - p->scrape_high);
    return push + p->stroke.scrape * push * (p->scrape_low - p->scrape_high);
  }

  const int32_t u = t - p->hold_frames;
  if (u >= p->release_frames) {
    p->at = -1;
    return 0.0;
  }
  const double x = u / (p->stroke.release_s * p->rate_hz);
  return (1.0 + x) * rp_exp(-x);
}
