// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The end of a tail (common/core/stage.h) cannot be heard, nor a silence too
/// short for a rest.  The judge is the same stage made to work all the time:
/// its verbs called line by line here, without the runner that lets it rest.
/// What comes after a rest is test_as_new.c's business.

#include "tests/support/rig.h"
#include "tests/support/stage_rows.h"

#include "plugins/shell.h"

STAGE_DECLARE(tube_stage)

#define RATE_HZ 48000.0
#define RATE    48000

enum {
  SOUND    = 24000,
  SHORT    = 5 * RATE / 2,   ///< Below STAGE_STOP_S, with the longest delays
  CLEARING = 29 * RATE / 10, ///< While memory is being cleared
  LONG     = 14 * RATE,      ///< The longest tail, and STAGE_REST_S
  ODD      = 13,             ///< Into the middle of a grid line
  FRAMES   = 2 * SOUND + LONG + ODD
};

/// Largest difference allowed: -120 dBFS
#define SAME 1e-6F

typedef struct {
  const char*      name;
  const stage_ops* ops;
  uint32_t         n_channels;
  const char*      listens;
} subject;

/// Finds plugin `n`, in stereo; false beyond the last
static bool
find_subject(uint32_t n, subject* s)
{
  const plugin* const p = shell_plugin(n);
  if (!p) {
    return false;
  }
  const stage_row* const row = stage_row_of(p->stem);
  assert_non_null(row);
  *s = (subject){p->stem, p->ops, 2, row->listens};
  return true;
}

typedef float audio[MAX_CHANNELS][FRAMES];

static audio sound, want, got, again;

/// Makes noise that dies away, louder left than right, twice, with `gap` frames
/// in between.  Returns its length.
static uint32_t
make_sound(uint32_t gap)
{
  const uint32_t second = SOUND + gap + ODD;
  const uint32_t n      = second + SOUND;
  uint32_t       seed   = 5;
  for (uint32_t i = 0; i < n; ++i) {
    const bool     rests = i >= SOUND && i < second;
    const uint32_t since = i < SOUND ? i : i - second;
    const float    level = 0.5F * expf(-(float)since / 9600.0F);
    const float    noise = check_noise(&seed);
    sound[0][i]          = rests ? 0.0F : level * noise;
    sound[1][i]          = 0.5F * sound[0][i];
  }
  return n;
}

/// Values of all controls: the defaults, except where they would hide something
static void
values_of(const subject* s, float* values)
{
  rig_values(s->ops, s->listens, values);
}

/// Plays the judge: never at rest
static void
work(const subject* s, uint32_t frames, audio out)
{
  float values[RIG_MAX_PARAMS];
  values_of(s, values);
  rig r = rig_open(s->ops, RATE_HZ, s->n_channels, values);
  for (uint32_t i = 0; i < frames; i += CONTROL_FRAMES) {
    const uint32_t left = frames - i;
    const float*   x[]  = {sound[0] + i, sound[1] + i};
    float*         y[]  = {out[0] + i, out[1] + i};
    s->ops->control(r.st.state);
    s->ops->process(r.st.state, x, y,
                    left < CONTROL_FRAMES ? left : CONTROL_FRAMES);
  }
  rig_close(&r);
}

/// Plays in blocks of `block` frames, or of any length
static void
play(rig* r, uint32_t frames, uint32_t block, audio out)
{
  uint32_t seed = 3;
  for (uint32_t i = 0; i < frames;) {
    uint32_t n = block;
    if (block == 0) {
      check_noise(&seed);
      n = 1 + (seed >> 16) % 700;
    }
    n                = frames - i < n ? frames - i : n;
    const float* x[] = {sound[0] + i, sound[1] + i};
    float*       y[] = {out[0] + i, out[1] + i};
    stage_process(&r->st, x, y, r->n_channels, n);
    i += n;
  }
}

static rig
open_subject(const subject* s)
{
  float values[RIG_MAX_PARAMS];
  values_of(s, values);
  return rig_open(s->ops, RATE_HZ, s->n_channels, values);
}

static float
difference(const subject* s, audio a, audio b, uint32_t n)
{
  float most = 0.0F;
  for (uint32_t k = 0; k < s->n_channels; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      const float d = fabsf(a[k][i] - b[k][i]);
      most          = d > most ? d : most;
    }
  }
  return most;
}

/// Holds the first `n` frames against the judge, with `gap` between the sounds
static void
check_gap(uint32_t gap, uint32_t n)
{
  const uint32_t frames = make_sound(gap);
  subject        s;
  for (uint32_t i = 0; find_subject(i, &s); ++i) {
    rig r = open_subject(&s);
    work(&s, frames, want);
    play(&r, frames, 64, got);
    rig_close(&r);
    const float apart = difference(&s, got, want, n);
    if (!(apart < SAME)) {
      fail_msg("%s: %.1f dBFS from working all the time", s.name,
               gain_to_db((double)apart + 1e-12));
    }
  }
}

static void
test_the_end_of_a_tail_is_not_heard(void** state)
{
  (void)state;
  check_gap(LONG, SOUND + LONG);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    assert_true(got[k][SOUND + LONG - 1] == 0.0F);
  }
}

/// Tails and detectors go on through a short silence
static void
test_a_short_silence_is_not_heard(void** state)
{
  (void)state;
  check_gap(SHORT, 2 * SOUND + SHORT + ODD);
}

/// The same bits with any blocks, and after a reset
static void
test_rest_does_not_know_blocks(void** state)
{
  (void)state;
  static const uint32_t gaps[]   = {SHORT, CLEARING, LONG};
  static const uint32_t blocks[] = {1, 7, 333, 4096, 0};
  subject               s;
  for (uint32_t i = 0; find_subject(i, &s); ++i) {
    rig r = open_subject(&s);
    for (uint32_t b = 0; b < 3 * sizeof(blocks) / sizeof(blocks[0]); ++b) {
      const uint32_t frames = make_sound(gaps[b % 3]);
      stage_reset(&r.st);
      play(&r, frames, 64, got);
      stage_reset(&r.st);
      play(&r, frames, blocks[b / 3], again);
      for (uint32_t k = 0; k < s.n_channels; ++k) {
        if (memcmp(got[k], again[k], frames * sizeof(float)) != 0) {
          fail_msg("%s: blocks of %u frames differ", s.name, blocks[b / 3]);
        }
      }
    }
    rig_close(&r);
  }
}

static uint32_t
index_of(const stage_ops* ops, const char* symbol)
{
  uint32_t i = 0;
  while (strcmp(ops->params[i].symbol, symbol) != 0) {
    ++i;
    assert_true(i < ops->n_params);
  }
  return i;
}

/// Plays a loud sine through a tube stage whose blend leaves `from` at BLEND_AT
enum { BLEND_AT = 9600 + 11, BLEND_FRAMES = 96000 };

static void
play_blend(rig* r, float from, uint32_t block, float* x)
{
  const uint32_t blend = index_of(&tube_stage_ops, "blend_pc");
  float          values[RIG_MAX_PARAMS];
  rig_defaults(&tube_stage_ops, values);
  values[blend] = from;
  stage_set(&r->st, values);
  stage_reset(&r->st);
  for (uint32_t i = 0; i < BLEND_FRAMES; ++i) {
    x[i] = 0.5F * sinf(2.0F * (float)DSP_PI * 220.0F / 48000.0F * (float)i);
  }
  for (uint32_t i = 0; i < BLEND_FRAMES;) {
    if (i == BLEND_AT) {
      values[blend] = 60.0F;
      stage_set(&r->st, values);
    }
    const uint32_t end = i < BLEND_AT ? BLEND_AT : BLEND_FRAMES;
    const uint32_t n   = end - i < block ? end - i : block;
    rig_run(r, x + i, x + i, n);
    i += n;
  }
}

/// A circuit that stood still equals one that never did as soon as its supply
/// (80 ms) has sagged as far
static void
test_dry_tube_comes_back(void** state)
{
  (void)state;
  static float off[BLEND_FRAMES], cut[BLEND_FRAMES], low[BLEND_FRAMES];
  rig          r = rig_open(&tube_stage_ops, RATE_HZ, 1, NULL);
  play_blend(&r, 0.0F, 64, off);
  play_blend(&r, 0.0F, 7, cut);
  play_blend(&r, 0.01F, 64, low); // Runs all the time
  assert_memory_equal(off, cut, sizeof(off));
  float apart = 0.0F;
  for (uint32_t i = BLEND_FRAMES - 9600; i < BLEND_FRAMES; ++i) {
    apart = fmaxf(apart, fabsf(off[i] - low[i]));
  }
  // Before, nothing but the delayed input
  const uint32_t late = tube_stage_ops.latency_frames(r.st.state);
  for (uint32_t i = late; i < BLEND_AT; ++i) {
    assert_true(off[i] == 0.5F * sinf(2.0F * (float)DSP_PI * 220.0F / 48000.0F *
                                      (float)(i - late)));
  }
  rig_close(&r);
  assert_in_range((uint32_t)(apart / SAME * 1000.0F), 0, 1000);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_the_end_of_a_tail_is_not_heard),
    cmocka_unit_test(test_a_short_silence_is_not_heard),
    cmocka_unit_test(test_rest_does_not_know_blocks),
    cmocka_unit_test(test_dry_tube_comes_back),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
