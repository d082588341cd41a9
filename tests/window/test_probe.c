// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Probes read what stages do: against closed forms and what the stages promise

#include "tests/support/check.h"

#include "common/stages/air_shelf.h"
#include "common/stages/di_cleanup.h"
#include "common/stages/input_compressor.h"
#include "common/stages/tube_stage.h"
#include "plugins/window/jobs.h"

#include <string.h>
#include <time.h>

static const atomic_bool goes_on = false;

static void
defaults_of(const stage_ops* ops, float* values)
{
  for (uint32_t i = 0; i < ops->n_params; ++i) {
    values[i] = ops->params[i].def;
  }
}

static void
clicks_show_the_response(void** state)
{
  air_shelf_params p;
  float            hz[] = {30, 3000, 20000};
  float            db[3];
  (void)state;
  defaults_of(&air_shelf_ops, (float*)&p);
  p.presence_db  = 8;
  p.air_db       = 0;
  probe* const y = probe_new(&air_shelf_ops, 1, &goes_on);
  assert_non_null(y);
  probe_set(y, (const float*)&p);
  assert_true(probe_response(y, 1e-3F, 8192, hz, db, 3));
  // Half of the gain at the frequency set (header of the stage), none far below
  assert_near((double)db[0], 0, 0.05);
  assert_near((double)db[1], 4, 0.1);
  assert_near((double)db[2], 8, 0.4);
  probe_free(y);
}

static void
a_low_cut_falls_as_butterworth(void** state)
{
  di_cleanup_params p;
  float             hz[] = {35, 70, 1000};
  float             db[3];
  (void)state;
  defaults_of(&di_cleanup_ops, (float*)&p);
  p.body_db = p.presence_db = 0;
  probe* const y            = probe_new(&di_cleanup_ops, 1, &goes_on);
  assert_non_null(y);
  probe_set(y, (const float*)&p);
  assert_true(probe_response(y, 1e-3F, 48000, hz, db, 3));
  // |H|^2 = 1 / (1 + (fc / f)^8), fourth order
  for (int i = 0; i < 3; ++i) {
    const double want = -10 * log10(1 + pow(70.0 / (double)hz[i], 8));
    assert_near((double)db[i], want, 0.1);
  }
  probe_free(y);
}

static void
sines_show_a_ratio(void** state)
{
  input_compressor_params p;
  probe_answer            a;
  probe_answer            b;
  const probe_tone        soft = {220, db_to_gain(-20), 1.0, 0.1};
  const probe_tone        hard = {220, db_to_gain(-2), 1.0, 0.1};
  (void)state;
  defaults_of(&input_compressor_ops, (float*)&p);
  p.threshold_db = -30;
  p.ratio        = 3;
  p.knee_db      = 0;
  p.edge_pc      = 0;
  probe* const y = probe_new(&input_compressor_ops, 1, &goes_on);
  assert_non_null(y);
  probe_set(y, (const float*)&p);
  assert_true(probe_sine(y, &soft, 1, &a));
  assert_true(probe_sine(y, &hard, 1, &b));
  // 18 dB in at 3:1 are 6 dB out
  assert_near(gain_to_db(b.amplitude[1] / a.amplitude[1]), 6, 0.15);
  probe_free(y);
}

static void
sines_keep_their_phase(void** state)
{
  input_compressor_params p;
  probe_answer            a;
  const probe_tone        tone = {440, 0.01, 0.2, 0.1};
  (void)state;
  defaults_of(&input_compressor_ops, (float*)&p);
  p.blend_pc     = 0; // The delayed input
  probe* const y = probe_new(&input_compressor_ops, 1, &goes_on);
  assert_non_null(y);
  probe_set(y, (const float*)&p);
  assert_true(probe_latency(y) > 0);
  assert_true(probe_sine(y, &tone, 3, &a));
  assert_near(a.amplitude[1], 0.01, 1e-5);
  assert_near(a.phase[1], 0, 1e-3);
  assert_near(a.rms, 0.01 / sqrt(2), 1e-5);
  assert_below(a.amplitude[2], 1e-6);
  probe_free(y);
}

static void
a_stop_is_obeyed(void** state)
{
  static float x[48000];
  atomic_bool  stop = true;
  (void)state;
  probe* const y = probe_new(&tube_stage_ops, 1, &stop);
  assert_non_null(y);
  assert_false(probe_play_one(y, x, x, 48000));
  assert_false(probe_click(y, 1, x, 48000));
  probe_free(y);
}

// ---------------------------------------------------------------------------
// On the worker

typedef struct {
  float first;
  float is_coarse;
} echo;

static bool
compute_echo(probe* p, const float* inputs, bool is_coarse, void* result)
{
  echo* const  e = result;
  static float x[480];
  e->first     = inputs[0];
  e->is_coarse = is_coarse;
  for (int i = 0; i < 20; ++i) { // Some 10 ms
    if (!probe_play_one(p, x, x, 480)) {
      return false;
    }
  }
  return true;
}

static const picture_part echo_part = {.size       = sizeof(echo),
                                       .n_channels = 1,
                                       .compute    = compute_echo};

/// Ends only by a stop
static bool
compute_on(probe* p, const float* inputs, bool is_coarse, void* result)
{
  static float x[480];
  (void)inputs;
  (void)is_coarse;
  (void)result;
  while (probe_play_one(p, x, x, 480)) {
  }
  return false;
}

static const picture_part endless_part = {.size       = sizeof(echo),
                                          .n_channels = 1,
                                          .compute    = compute_on};

static void
wait_for(job* j, echo* e, job_end want)
{
  const struct timespec wait = {0, 1000000};
  job_end               end  = JOB_NOTHING;
  for (int i = 0; i < 20000 && end == JOB_NOTHING; ++i) {
    (void)nanosleep(&wait, NULL);
    end = job_take(j, e);
  }
  assert_int_equal(end, want);
}

static void
jobs_give_their_result_once(void** state)
{
  float values[PARAMS_MAX];
  echo  e = {0};
  (void)state;
  defaults_of(&air_shelf_ops, values);
  job* const j = job_new(&air_shelf_ops, &echo_part);
  assert_non_null(j);
  assert_int_equal(job_take(j, &e), JOB_NOTHING);
  assert_true(job_start(j, values, air_shelf_n_params, true));
  assert_true(job_is_busy(j));
  wait_for(j, &e, JOB_DONE);
  assert_true(e.first == values[0] && e.is_coarse == 1);
  assert_false(job_is_busy(j));
  assert_int_equal(job_take(j, &e), JOB_NOTHING);
  job_free(j);
}

static void
jobs_can_be_stopped_and_left(void** state)
{
  float values[PARAMS_MAX];
  echo  e = {0};
  (void)state;
  defaults_of(&tube_stage_ops, values);
  job* const j = job_new(&tube_stage_ops, &endless_part);
  assert_true(job_start(j, values, tube_stage_n_params, false));
  job_stop(j);
  wait_for(j, &e, JOB_FAILED);
  job_free(j);
  for (int i = 0; i < 50; ++i) { // Queued, running or done: nothing is lost
    job* const k = job_new(&air_shelf_ops, &echo_part);
    assert_non_null(k);
    assert_true(job_start(k, values, air_shelf_n_params, false));
    const struct timespec wait = {0, 100000L * (i % 10)};
    (void)nanosleep(&wait, NULL);
    job_free(k);
  }
}

static void
pictures_compute_what_they_say(void** state)
{
  const picture* const p = picture_of("air-shelf");
  float                values[PARAMS_MAX];
  (void)state;
  assert_int_equal(p->n_parts, 2);
  defaults_of(&air_shelf_ops, values);
  float* const result = calloc(1, p->parts[0].size);
  probe* const y      = probe_new(&air_shelf_ops, 1, &goes_on);
  assert_true(result && y);
  probe_set(y, values);
  assert_true(p->parts[0].compute(y, values, false, result));
  // The first are frequencies, the last levels: nothing is left at 0
  assert_near((double)result[0], 500, 0.1);
  assert_true(result[p->parts[0].size / sizeof(float) - 1] > 4);
  probe_free(y);
  free(result);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(clicks_show_the_response),
    cmocka_unit_test(a_low_cut_falls_as_butterworth),
    cmocka_unit_test(sines_show_a_ratio),
    cmocka_unit_test(sines_keep_their_phase),
    cmocka_unit_test(a_stop_is_obeyed),
    cmocka_unit_test(jobs_give_their_result_once),
    cmocka_unit_test(jobs_can_be_stopped_and_left),
    cmocka_unit_test(pictures_compute_what_they_say),
  };
  return cmocka_run_group_tests_name("probe", tests, NULL, NULL);
}
