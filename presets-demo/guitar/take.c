// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take.h"

#include "pickup.h"
#include "player_hands.h"
#include "plucked_string.h"

#include <stdlib.h>
#include <string.h>

#define TAIL_S         4.0
#define BLOCK_FRAMES   64
#define FULL_SCALE_S_M 0.078 // Gain of the interface; our choice

// A single coil of medium strength, 4 m of cable of 100 pF a metre and 20 pF of
// the input (common practice).  The load is volume and tone control of 250 kohm
// each, an input of 1 Mohm, and the eddy currents in poles and cover, 350 kohm,
// in parallel: with them the peak is as low as measured ones are, not 7 dB.
static const pickup_circuit CIRCUIT = {.coil_h   = 2.6,
                                       .coil_ohm = 6.0e3,
                                       .coil_f   = 120e-12,
                                       .cable_f  = 420e-12,
                                       .load_ohm = 84e3};

// Between bridge and middle
static const pickup_place PLACE = {.position_m = 0.078, .aperture_m = 0.006};

// Velocity of the bridge per force of the other strings, m/s per N.  Twice the
// sum of the impedances of all strings times this, 6e-4, stays below the loss
// of any string in one period, so that the strings cannot feed each other.
#define BRIDGE_S_KG 1.25e-4

static const struct {
  const char* name;
  double      gain_db;
  player      who;
} TAKES[N_TAKES] = {{"rhythm-left",
                     -0.7,
                     {.seed      = 11,
                      .scatter_s = 0.0045,
                      .drift_s   = 0.006,
                      .late_s    = 0.002,
                      .spread_s  = 0.021,
                      .pick_m    = 0.125,
                      .palm      = 1.0,
                      .cents     = {-1.5, 0.8, 0.0, -1.2, 1.6, 0.4}}},
                    {"rhythm-right",
                     0.2,
                     {.seed      = 12,
                      .scatter_s = 0.0060,
                      .drift_s   = 0.008,
                      .late_s    = 0.005,
                      .spread_s  = 0.026,
                      .pick_m    = 0.140,
                      .palm      = 1.25,
                      .cents     = {1.2, -0.6, 1.9, 0.6, -1.4, 1.1}}},
                    {"lead",
                     3.3,
                     {.seed      = 13,
                      .scatter_s = 0.0060,
                      .drift_s   = 0.008,
                      .late_s    = 0.008,
                      .spread_s  = 0.020,
                      .pick_m    = 0.110,
                      .palm      = 1.0,
                      .cents     = {0.0, 0.5, -0.8, 0.7, -0.5, 1.0}}}};

// Everything that sounds, and the buffers of a block
typedef struct {
  plucked_string string[N_STRINGS];
  pickup_chain   chain;
  performance    score;
  // Forces on the bridge one block ago, by string and in total
  double force_n[N_STRINGS][BLOCK_FRAMES], total_n[BLOCK_FRAMES];
  double across[BLOCK_FRAMES], along[BLOCK_FRAMES], bridge[BLOCK_FRAMES];
  double emf[BLOCK_FRAMES];
} guitar;

const char*
take_name(take which)
{
  return TAKES[which].name;
}

uint32_t
take_frames(void)
{
  const double s =
    performance_start_s() + SCORE_BARS * 4.0 * SCORE_BEAT_S + TAIL_S;
  return (uint32_t)(s * TAKE_RATE_HZ);
}

static void
set_up(guitar* g, take which)
{
  const player* who = &TAKES[which].who;
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    plucked_string_init(&g->string[k], &guitar_strings[k], PLACE, TAKE_RATE_HZ,
                        who->seed * 100 + k);
  }
  pickup_chain_init(&g->chain, &CIRCUIT,
                    FULL_SCALE_S_M * rp_db(TAKES[which].gain_db), TAKE_RATE_HZ,
                    who->seed);
  if (which == TAKE_LEAD) {
    performance_of_lead(&g->score, who);
  } else {
    performance_of_rhythm(&g->score, who,
                          which == TAKE_RHYTHM_LEFT ? score_rhythm_left
                                                    : score_rhythm_right);
  }
}

static void
apply(plucked_string* s, const gesture* a)
{
  switch (a->kind) {
    case GESTURE_PLUCK:
      plucked_string_pluck(s, a->value, a->cents, a->stroke);
      break;
    case GESTURE_DAMP:
      string_hands_damp(&s->hands, a->hands, a->over_s);
      break;
    case GESTURE_SLIDE:
      string_hands_slide(&s->hands, a->value, a->over_s);
      break;
    case GESTURE_BEND:
      string_hands_bend(&s->hands, a->value, a->over_s);
      break;
    case GESTURE_VIBRATO:
      string_hands_vibrato(&s->hands, a->value, a->hz);
      break;
    case GESTURE_RUB:
      plucked_string_rub(s, a->value, a->hz, a->over_s);
      break;
  }
}

// `n` frames from frame `at` on, in which no hand moves.  The bridge passes
// everything on BLOCK_FRAMES later, whatever `n` is.
static void
render_block(guitar* g, int32_t* out, uint32_t at, uint32_t n)
{
  double force_n[BLOCK_FRAMES];
  double total_n[BLOCK_FRAMES] = {0.0};
  memset(g->emf, 0, sizeof(g->emf));
  for (uint32_t k = 0; k < N_STRINGS; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      const uint32_t j = (at + i) % BLOCK_FRAMES;
      g->bridge[i]     = BRIDGE_S_KG * (g->total_n[j] - g->force_n[k][j]);
    }
    plucked_string_process(
      &g->string[k], g->bridge,
      // cppcheck-suppress legacyUninitvar ; it is an output
      (string_output){g->across, g->along, force_n}, n);
    pickup_chain_string(&g->chain, k, g->across, g->along, g->emf, n);
    for (uint32_t i = 0; i < n; ++i) {
      g->force_n[k][(at + i) % BLOCK_FRAMES] = force_n[i];
      total_n[i] += force_n[i];
    }
  }
  for (uint32_t i = 0; i < n; ++i) {
    g->total_n[(at + i) % BLOCK_FRAMES] = total_n[i];
  }

  pickup_chain_process(&g->chain, g->emf, g->emf, n);
  for (uint32_t i = 0; i < n; ++i) {
    out[i] = pickup_quantise(g->emf[i]);
  }
}

// Everything in the score, `n` frames
static void
play(guitar* g, int32_t* out, uint32_t n)
{
  uint32_t next = 0;
  for (uint32_t at = 0; at < n;) {
    uint32_t until = at + BLOCK_FRAMES < n ? at + BLOCK_FRAMES : n;
    for (; next < g->score.n; ++next) {
      const gesture* a     = &g->score.list[next];
      const uint32_t frame = (uint32_t)(a->at_s * TAKE_RATE_HZ + 0.5);
      if (frame > at) {
        until = frame < until ? frame : until;
        break;
      }
      apply(&g->string[a->string], a);
    }
    render_block(g, out + at, at, until - at);
    at = until;
  }
}

bool
take_render(take which, int32_t* out)
{
  guitar* g = (guitar*)calloc(1, sizeof(*g));
  if (!g) {
    return false;
  }
  set_up(g, which);
  play(g, out, take_frames());
  free(g);
  return true;
}

bool
take_render_note(take whose, take_note note, int32_t* out, uint32_t n)
{
  guitar* g = (guitar*)calloc(1, sizeof(*g));
  if (!g) {
    return false;
  }
  set_up(g, whose);
  const player* who = &TAKES[whose].who;
  player_hands  h   = player_hands_of(&g->score, who);
  player_damp(&h, TAKE_NOTE_ONSET_S - 0.010, note.string, HAND_OFF, 0.006);
  player_pluck(&h, TAKE_NOTE_ONSET_S, note.string, (int)note.fret, note.force,
               who->pick_m);
  player_finish(&h);
  play(g, out, n);
  free(g);
  return true;
}
