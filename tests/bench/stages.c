// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bench.h"

#include "report.h"

#include "tests/support/settings.h"
#include "tests/support/stage_rows.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PASSES       9
#define DEPTH_PASSES 5
#define DEPTH_FRAMES 24576U
#define REST_PASSES \
  10 // Until a stage rests: the longest tail, and some seconds
#define MAX_BLOCKS (BENCH_FRAMES / BENCH_BLOCK)

static const float* const input[] = {bench_input[0], bench_input[1]};

static const char*
verdict(const stage_row* b, double cost)
{
  return cost <= b->goal ? "goal" : cost <= b->budget ? "budget" : "OVER";
}

static bool
take_value(void* to, const char* symbol, float value)
{
  return subject_set(to, symbol, value);
}

static void
set_values(subject* s, const char* settings)
{
  const char* const left = settings_apply(settings, take_value, s);
  if (left) {
    fprintf(stderr, "bench: %s does not take %s\n", s->p->stem, left);
    exit(1);
  }
}

/// Calls `f` with every row of every plugin, in the order of a track
static void
for_each_row(const bench_bundle* b,
             void (*f)(const bench_bundle*, const stage_row*, const plugin*))
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (!stage_row_of(p->stem)) {
      exit(1);
    }
    for (size_t i = 0; i < N_STAGE_ROWS; ++i) {
      if (!strcmp(stage_rows[i].stem, p->stem)) {
        f(b, &stage_rows[i], p);
      }
    }
  }
}

static double
wall_ns(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e9 * (double)t.tv_sec + (double)t.tv_nsec;
}

static int
order(const void* a, const void* b)
{
  const double x = *(const double*)a;
  const double y = *(const double*)b;
  return (x > y) - (x < y);
}

/// Returns the longest block over the median one: every pass plays the same
/// from the start, and the least time of each block counts
static double
worst_block(const subject* s)
{
  static float  output[MAX_CHANNELS][BENCH_BLOCK];
  static double took[MAX_BLOCKS];
  float* const  out[] = {output[0], output[1]};
  for (int pass = 0; pass < PASSES; ++pass) {
    lilv_instance_deactivate(s->instance);
    lilv_instance_activate(s->instance);
    for (uint32_t i = 0; i < MAX_BLOCKS; ++i) {
      const float* const in[]  = {bench_input[0] + i * BENCH_BLOCK,
                                  bench_input[1] + i * BENCH_BLOCK};
      const double       start = wall_ns();
      subject_run(s, in, out, BENCH_BLOCK);
      const double ns = wall_ns() - start;
      took[i]         = pass == 0 ? ns : bench_least(took[i], ns);
    }
  }
  // Without the first, which settles after activate()
  qsort(took + 1, MAX_BLOCKS - 1, sizeof(took[0]), order);
  return took[MAX_BLOCKS - 1] / took[MAX_BLOCKS / 2];
}

static void
measure(const bench_bundle* b, const stage_row* row, const plugin* p)
{
  const uint32_t n_forms = shell_form_count(p);
  subject        first; // Builds the tables that all share
  subject        s[2];
  double         ns[2] = {1e9, 1e9};
  double         unit  = 0.0;
  subject_open(&first, b, p, 0, BENCH_RATE_HZ);
  for (uint32_t i = 0; i < n_forms; ++i) {
    subject_open(&s[i], b, p, i, BENCH_RATE_HZ);
    set_values(&s[i], row->settings);
  }
  for (int pass = 0; pass < PASSES; ++pass) {
    unit = bench_yardstick_ns(); // Under the same load of the machine
    for (uint32_t i = 0; i < n_forms; ++i) {
      const double t = subject_pass(&s[i], input, BENCH_FRAMES, BENCH_BLOCK);
      ns[i]          = bench_least(ns[i], t);
    }
  }

  const double core_pc = ns[0] * BENCH_RATE_HZ * 1e-7;
  char         name[64];
  (void)snprintf(name, sizeof(name), "%s%s%s", row->stem,
                 row->settings ? " " : "", row->settings ? row->settings : "");
  report_text("plugin", name);
  report_number("ns", 1, ns[0]);
  report_number("ratio", 2, ns[0] / unit);
  report_number("core_pc", 3, core_pc);
  report_number("budget", 1, row->budget);
  report_number("goal", 1, row->goal);
  report_text("met",
              verdict(row, p->forms == FORMS_SEND ? core_pc : ns[0] / unit));
  report_number("stereo_ns", 1, n_forms == 2 ? ns[1] : (double)NAN);
  report_number("worst", 2, worst_block(&s[0]));
  report_number("kib", 0, s[0].memory_kib);
  report_number("first_ms", 2, first.instantiate_ms);
  report_number("next_ms", 2, s[0].instantiate_ms);
  report_end_row();
  subject_close(&first);
  for (uint32_t i = 0; i < n_forms; ++i) {
    subject_close(&s[i]);
  }
}

void
bench_stages(const bench_bundle* b)
{
  report_section(
    "stages",
    "Plugins by default, mono (a bus is stereo), 48 kHz, blocks of 64 frames. "
    "Budget and goal\nin yardsticks, for sends in % of a core.  worst: "
    "longest block over the median one.");
  for_each_row(b, measure);
}

static const double   rates_hz[] = {44100.0, 48000.0, 96000.0, 192000.0};
static const uint32_t blocks[]   = {16, 64, 256, 1024};

static void
measure_depth(const bench_bundle* b, const plugin* p, uint32_t form, int rate)
{
  subject s;
  subject_open(&s, b, p, form, rates_hz[rate]);
  report_text("plugin", strrchr(s.form.uri, ':') + 1);
  report_number("rate_hz", 0, rates_hz[rate]);
  double last = 0.0;
  for (int i = 0; i < 4; ++i) {
    double ns = 1e9;
    for (int pass = 0; pass < DEPTH_PASSES; ++pass) {
      ns = bench_least(ns, subject_pass(&s, input, DEPTH_FRAMES, blocks[i]));
    }
    char key[16];
    (void)snprintf(key, sizeof(key), "ns_%u", blocks[i]);
    report_number(key, 1, ns);
    last = ns;
  }
  report_number("ratio_1024", 2, last / bench_yardstick_ns());
  report_end_row();
  subject_close(&s);
}

void
bench_depths(const bench_bundle* b)
{
  report_section("depths",
                 "Every form at rates and block lengths: ns per frame in "
                 "blocks of 16, 64, 256, 1024 frames");
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t form = 0; form < shell_form_count(p); ++form) {
      for (int rate = 0; rate < 4; ++rate) {
        measure_depth(b, p, form, rate);
      }
    }
  }
}

static double
least_pass(const subject* s, const float* const* in)
{
  double ns = subject_pass(s, in, BENCH_FRAMES, BENCH_BLOCK);
  for (int pass = 1; pass < DEPTH_PASSES; ++pass) {
    ns = bench_least(ns, subject_pass(s, in, DEPTH_FRAMES, BENCH_BLOCK));
  }
  return ns;
}

static void
measure_idle(const bench_bundle* b, const stage_row* row, const plugin* p)
{
  static float       silence[BENCH_FRAMES];
  const float* const silent[] = {silence, silence};
  if (!row->idle) {
    return;
  }
  subject s;
  subject_open(&s, b, p, 0, BENCH_RATE_HZ);
  set_values(&s, row->settings);
  report_text("plugin", row->stem);
  const double active = least_pass(&s, input);
  for (int pass = 0; pass < REST_PASSES; ++pass) {
    (void)subject_pass(&s, silent, BENCH_FRAMES, BENCH_BLOCK);
  }
  const double quiet = least_pass(&s, silent);
  set_values(&s, row->idle);
  const double unused = least_pass(&s, input);
  report_number("active", 1, active);
  report_number("silent", 1, quiet);
  report_number("unused", 1, unused);
  report_text("because", row->idle);
  report_end_row();
  subject_close(&s);
}

void
bench_idle(const bench_bundle* b)
{
  report_section("idle", "ns per frame: on loud playing, on silence, and with "
                         "controls that leave nothing to do");
  for_each_row(b, measure_idle);
}
