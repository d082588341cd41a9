// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "player_hands.h"

// Everything after the onset of a note: slide, bend, vibrato
static void
shape_note(player_hands* h, double at_s, const score_note* n)
{
  if (n->touch == LEAD_SLIDE) {
    const double over_s = dice_between(&h->chance, 0.06, 0.10);
    player_add(h, (gesture){.at_s   = at_s + 0.045,
                            .kind   = GESTURE_SLIDE,
                            .string = n->string,
                            .value  = n->fret,
                            .over_s = over_s});
  }
  if (n->touch == LEAD_BEND || n->touch == LEAD_RELEASE) {
    gesture g = {.kind = GESTURE_BEND, .string = n->string};
    g.at_s    = at_s + dice_between(&h->chance, 0.05, 0.09);
    g.value   = n->by * 100.0 + 6.0 * dice_bell(&h->chance); // Never exact
    g.over_s  = dice_between(&h->chance, 0.14, 0.24);
    player_add(h, g);
    if (n->touch == LEAD_RELEASE) {
      g.at_s   = at_s + 0.55 * n->beats * SCORE_BEAT_S;
      g.value  = 0.0;
      g.over_s = dice_between(&h->chance, 0.12, 0.20);
      player_add(h, g);
    }
  }
  if (n->vibrato_cents > 0.0) {
    const double wait_s = n->touch == LEAD_BEND ? 0.40 : 0.24;
    player_add(h, (gesture){.at_s   = at_s + wait_s,
                            .kind   = GESTURE_VIBRATO,
                            .string = n->string,
                            .value  = n->vibrato_cents,
                            .hz     = dice_between(&h->chance, 5.0, 5.8)});
  }
}

static void
play_note(player_hands* h, const score_note* n)
{
  const double   at_s = player_onset_s(h, n->beat * SCORE_BEAT_S);
  const uint32_t k    = n->string;
  if (n->touch == LEAD_HAMMER) {
    const double over_s = dice_between(&h->chance, 0.008, 0.014);
    player_add(h, (gesture){.at_s   = at_s,
                            .kind   = GESTURE_SLIDE,
                            .string = k,
                            .value  = n->fret,
                            .over_s = over_s});
  } else {
    const int below = n->touch == LEAD_SLIDE ? (int)n->by : 0;
    player_damp(h, at_s - 0.010, k, HAND_OFF, 0.006);
    player_pluck(h, at_s, k, (int)n->fret - below, n->force, h->who->pick_m);
  }
  shape_note(h, at_s, n);
}

void
performance_of_lead(performance* p, const player* who)
{
  player_hands h = player_hands_of(p, who);
  for (uint32_t i = 0; i < score_lead_notes; ++i) {
    const score_note* n = &score_lead[i];
    play_note(&h, n);

    // The finger lifts at the end of the note, unless the next one is on the
    // same string
    const bool last = i + 1 == score_lead_notes;
    if (!last && n[1].string != n->string) {
      const double off_s = performance_start_s() +
                           (n->beat + n->beats) * SCORE_BEAT_S +
                           dice_between(&h.chance, -0.02, 0.03);
      player_damp(&h, off_s, n->string, HAND_LIFT, 0.030);
    }
  }
  player_finish(&h);
}
