// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the picture of the loudspeaker computes, and the noise that it plays,
/// against closed forms and measurements by another route

#include "picture_rig.h"

#include "common/stages/speaker_breakup.h"
#include "plugins/window/pictures/noise.h"
#include "plugins/window/pictures/shares.h"

#include <string.h>

// ---------------------------------------------------------------------------
// Noise

static noise made;

static void
noise_is_as_loud_as_it_says(void** state)
{
  double squares = 0;
  double peak    = 0;
  (void)state;
  noise_make(&made, 60, 8000, 12);
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    squares += (double)made.x[i] * (double)made.x[i];
    peak = fmax(peak, fabs((double)made.x[i]));
  }
  assert_near(squares / NOISE_FRAMES, 1, 1e-6);
  // Crest factor of noise as of playing: 12 dB (common practice)
  assert_near(gain_to_db(peak), 12, 2);
  // 7.06 octaves; at the low end less than 12 frequencies fit into one
  assert_true(made.n_lines > 75 && made.n_lines <= 85);
  for (uint32_t k = 0; k < made.n_lines; ++k) {
    assert_true(made.hz[k] > 55 && made.hz[k] < 8010);
    assert_true(k == 0 || made.hz[k] > made.hz[k - 1] + 5);
  }
}

static void
noise_reads_a_filter(void** state)
{
  static float y[NOISE_FRAMES];
  float        db[NOISE_MAX_LINES];
  (void)state;
  noise_make(&made, 60, 8000, 12);
  // 2 x(n) + x(n - 1): |H|^2 = 5 + 4 cos w
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    y[i] =
      0.1F * (2 * made.x[i] + made.x[(i + NOISE_FRAMES - 1) % NOISE_FRAMES]);
  }
  assert_below(noise_read(&made, 0.1, y, db), 0.01);
  for (uint32_t k = 0; k < made.n_lines; ++k) {
    const double w = 2 * DSP_PI * (double)made.hz[k] / PROBE_RATE_HZ;
    assert_near((double)db[k], 10 * log10(5 + 4 * cos(w)), 1e-3);
  }
}

static void
noise_reads_what_stands_in_the_gaps(void** state)
{
  static float y[NOISE_FRAMES];
  float        db[NOISE_MAX_LINES];
  (void)state;
  noise_make(&made, 60, 8000, 12);
  // 1 RMS of noise and 0.1 RMS of a tone above its lines; 0 Hz is left out
  for (uint32_t i = 0; i < NOISE_FRAMES; ++i) {
    const double w = 2 * DSP_PI * 2000 * i / NOISE_FRAMES;
    y[i]           = made.x[i] + (float)(0.1 * sqrt(2) * sin(w)) + 0.5F;
  }
  assert_near(noise_read(&made, 1, y, db), 100 * sqrt(0.01 / 1.01), 1e-3);
  for (uint32_t k = 0; k < made.n_lines; ++k) {
    assert_near((double)db[k], 0, 1e-3);
  }
}

// ---------------------------------------------------------------------------
// Loudspeaker

enum { N_PLACES = 6 };

/// As the picture has it
typedef struct {
  uint32_t n;
  float    hz[NOISE_MAX_LINES];
  float    hard_pc[N_PLACES];
  float    db[N_PLACES][NOISE_MAX_LINES];
} responses;

static responses*
respond(const speaker_breakup_params* p)
{
  const picture* const pic = picture_of("speaker-breakup");
  assert_int_equal(pic->parts[0].size, sizeof(responses));
  return (responses*)(void*)compute("speaker-breakup", &speaker_breakup_ops, 0,
                                    (const float*)p, false);
}

static speaker_breakup_params
defaults(void)
{
  speaker_breakup_params p;
  defaults_of(&speaker_breakup_ops, (float*)&p);
  return p;
}

static void
soft_playing_is_what_a_click_shows(void** state)
{
  const speaker_breakup_params p = defaults();
  (void)state;
  responses* const r = respond(&p);
  float            db[NOISE_MAX_LINES];
  probe* const     y = probe_new(&speaker_breakup_ops, 1, &goes_on);
  assert_non_null(y);
  probe_set(y, (const float*)&p);
  assert_true(probe_response(y, 1e-3F, 16384, r->hz, db, r->n));
  // The picture smoothes over its neighbours
  for (uint32_t i = 1; i + 1 < r->n; ++i) {
    const double want =
      0.25 * (double)(db[i - 1] + db[i + 1]) + 0.5 * (double)db[i];
    assert_near((double)r->db[0][i], want, 0.1);
  }
  probe_free(y);
  free(r);
}

static void
the_follower_goes_from_none_to_all(void** state)
{
  speaker_breakup_params p = defaults();
  p.drive_db               = 7; // The level that is played makes up for it
  (void)state;
  responses* const r = respond(&p);
  assert_below((double)r->hard_pc[0], 1);
  assert_true(r->hard_pc[N_PLACES - 1] > 98);
  for (int i = 1; i < N_PLACES; ++i) {
    assert_true(r->hard_pc[i] >= r->hard_pc[i - 1]);
  }
  free(r);
}

/// Without a cabinet small signals pass flat, and of all that is hard only the
/// squeeze is left: both as the stage's header says
static void
squeeze_is_what_it_says(void** state)
{
  speaker_breakup_params p = defaults();
  (void)state;
  p.cabinet    = 0;
  p.breakup_db = p.mix_pc = p.feedback_pc = p.shift_oct = 0;
  p.squeeze_db                                          = 6;
  responses* const r                                    = respond(&p);
  for (uint32_t i = 0; i < r->n; ++i) {
    assert_near((double)(r->db[0][i] - r->db[0][0]), 0, 0.1);
    assert_near((double)(r->db[N_PLACES - 1][i] - r->db[0][i]), -6, 0.3);
  }
  free(r);
}

/// Drive is taken back behind the loudspeaker: it moves the curve and no more
static void
drive_moves_the_breakup(void** state)
{
  speaker_breakup_params p = defaults();
  (void)state;
  float* const none =
    compute("speaker-breakup", &speaker_breakup_ops, 1, (float*)&p, false);
  p.drive_db = 12;
  float* const more =
    compute("speaker-breakup", &speaker_breakup_ops, 1, (float*)&p, false);
  for (uint32_t i = 12; i < SHARES_N; ++i) {
    const double want = (double)none[SHARES_N + i];
    assert_near((double)more[SHARES_N + i - 12], want, 0.01 * want + 1e-3);
  }
  // More of it the harder it is played, up to where all is broken up
  for (uint32_t i = 1; i < 34; ++i) {
    assert_true(none[SHARES_N + i] > none[SHARES_N + i - 1]);
  }
  free(none);
  free(more);
}

static void
no_mix_no_breakup(void** state)
{
  speaker_breakup_params p = defaults();
  (void)state;
  p.cabinet    = 0;
  p.mix_pc     = 0;
  p.squeeze_db = 0;
  float* const r =
    compute("speaker-breakup", &speaker_breakup_ops, 1, (float*)&p, false);
  for (uint32_t i = 0; r[i] < -18; ++i) {
    assert_below((double)r[SHARES_N + i], 0.03);
  }
  free(r);
}

static void
coarse_breakup_is_near(void** state)
{
  speaker_breakup_params p = defaults();
  (void)state;
  float* const fine =
    compute("speaker-breakup", &speaker_breakup_ops, 1, (float*)&p, false);
  float* const coarse =
    compute("speaker-breakup", &speaker_breakup_ops, 1, (float*)&p, true);
  for (uint32_t i = 0; i < SHARES_N; ++i) {
    const double want      = (double)fine[SHARES_N + i];
    const bool   is_played = i % 6 == 0; // Others lie on straight lines
    assert_near((double)coarse[SHARES_N + i], want,
                (is_played ? 0.1 : 0.35) * want);
  }
  free(fine);
  free(coarse);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(noise_is_as_loud_as_it_says),
    cmocka_unit_test(noise_reads_a_filter),
    cmocka_unit_test(noise_reads_what_stands_in_the_gaps),
    cmocka_unit_test(soft_playing_is_what_a_click_shows),
    cmocka_unit_test(the_follower_goes_from_none_to_all),
    cmocka_unit_test(squeeze_is_what_it_says),
    cmocka_unit_test(drive_moves_the_breakup),
    cmocka_unit_test(no_mix_no_breakup),
    cmocka_unit_test(coarse_breakup_is_near),
  };
  return cmocka_run_group_tests_name("picture-speaker", tests, NULL, NULL);
}
