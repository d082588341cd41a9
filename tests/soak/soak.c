// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Hours of audio through each plugin at its hardest settings, faster than
/// real time: does anything creep?
///
/// The input is one loop of 10 s, over and over, so every hour is the same as
/// the one before, and so must the output be: RMS, peak and steady part (DC) of
/// each hour are compared with those of the second one, and so is the meter
/// `change_db`.  All samples must be finite, the memory of the process flat. 25
/// hours at 48 kHz are more frames than 32 bits can count.
///
///   soak [-v] [--hours N] [STEM...]
///
/// One line per plugin (with -v one per hour), and an exit status of 1 when one
/// creeps.

#include "soak_figures.h"

#include "tests/support/settings.h"
#include "tests/support/stage_rows.h"

#include "plugins/shell.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define RATE_HZ   48000U
#define BLOCK     480U
#define LOOP      (10U * RATE_HZ)
#define PER_HOUR  (360U * LOOP)
#define MAX_PORTS 64
#define MAX_HOURS 240

typedef struct {
  const LV2_Descriptor* type;
  plugin_form           form;
  LV2_Handle            handle;
  float                 control[MAX_PORTS]; ///< Meters too
  uint32_t              n_params;
  hour_figures          hours[MAX_HOURS];
} subject;

static float loop[2][LOOP];

/// Makes chords that decay at -18 dBFS RMS, a burst of noise at full scale, a
/// tiny tail, silence; all over a small steady offset in the first half
static void
fill_loop(void)
{
  uint32_t seed = 1;
  for (uint32_t i = 0; i < LOOP; ++i) {
    const double t      = (double)i / RATE_HZ;
    const double decay  = exp(-2.0 * fmod(t, 0.5));
    const double offset = t < 5.0 ? 0.01 : 0.0;
    for (uint32_t k = 0; k < 2; ++k) {
      seed               = seed * 1664525U + 1013904223U;
      const double noise = (double)(int32_t)seed / 2147483648.0;
      const double chord = sin(2.0 * DSP_PI * 110.0 * (k + 1) * t) +
                           0.6 * sin(2.0 * DSP_PI * 277.2 * t) +
                           0.3 * sin(2.0 * DSP_PI * 1318.5 * t);
      const double x = t < 7.0   ? 0.2 * decay * chord + 0.01 * noise
                       : t < 7.5 ? noise
                       : t < 8.5 ? 1e-7 * noise
                                 : 0.0;
      loop[k][i]     = (float)(x + offset);
    }
  }
}

static bool
take_value(void* to, const char* symbol, float value)
{
  subject* const s = to;
  for (uint32_t i = 0; i < s->n_params; ++i) {
    const param_info* const p = shell_param(s->form.plugin, i);
    if (!strcmp(p->symbol, symbol) && value >= p->min && value <= p->max) {
      s->control[i] = value;
      return true;
    }
  }
  return false;
}

static void
subject_open(subject*              s,
             const plugin*         p,
             const LV2_Descriptor* type,
             const char*           values)
{
  memset(s, 0, sizeof(*s));
  s->type     = type;
  s->form     = shell_form(p, 0);
  s->n_params = shell_param_count(p);
  s->handle   = type->instantiate(type, RATE_HZ, "", NULL);
  if (!s->handle) {
    fprintf(stderr, "soak: %s does not start\n", s->form.uri);
    exit(1);
  }
  for (uint32_t i = 0; i < s->n_params; ++i) {
    s->control[i] = shell_param(p, i)->def;
  }
  const char* const left = settings_apply(values, take_value, s);
  if (left) {
    fprintf(stderr, "soak: %s does not take %s\n", s->form.uri, left);
    exit(2);
  }
  for (uint32_t i = 0; i < s->n_params + shell_meter_count(p); ++i) {
    type->connect_port(s->handle, i, &s->control[i]);
  }
  type->activate(s->handle);
}

static float
meter_value(const subject* s, const char* symbol)
{
  for (uint32_t i = 0; i < shell_meter_count(s->form.plugin); ++i) {
    if (!strcmp(shell_meter(s->form.plugin, i)->symbol, symbol)) {
      return s->control[s->n_params + i];
    }
  }
  return NAN;
}

/// Copies the frames of one block, from `at` in the loop on
static void
run_block(const subject* s, float (*out)[BLOCK], uint32_t at)
{
  const uint32_t audio = s->n_params + shell_meter_count(s->form.plugin);
  for (uint32_t k = 0; k < s->form.n_in; ++k) {
    s->type->connect_port(s->handle, audio + k, loop[k] + at);
  }
  for (uint32_t k = 0; k < s->form.n_out; ++k) {
    s->type->connect_port(s->handle, audio + s->form.n_in + k, out[k]);
  }
  s->type->run(s->handle, BLOCK);
}

static bool
play_hour(const subject* s, hour_figures* h)
{
  static float out[2][BLOCK];
  sums         a = {.is_finite = true};
  for (uint32_t n = 0; n < PER_HOUR; n += BLOCK) {
    run_block(s, out, n % LOOP);
    for (uint32_t k = 0; k < s->form.n_out; ++k) {
      add_frames(&a, out[k], BLOCK);
    }
  }
  *h = figures_of(&a, (double)meter_value(s, "change_db"));
  return a.is_finite;
}

static const plugin*
find_plugin(const char* stem)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (!strcmp(p->stem, stem)) {
      return p;
    }
  }
  fprintf(stderr, "soak: no plugin %s\n", stem);
  exit(2);
}

/// Soaks its first form
static const LV2_Descriptor*
find_type(const plugin* p)
{
  const plugin_form     form = shell_form(p, 0);
  const LV2_Descriptor* type = NULL;
  for (uint32_t i = 0; (type = shell_descriptor(i)); ++i) {
    if (!strcmp(type->URI, form.uri)) {
      return type;
    }
  }
  abort();
}

static void
check_complete(void)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    if (!stage_row_of(p->stem)) {
      exit(1);
    }
  }
}

static double
now_s(void)
{
  struct timespec t;
  (void)clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/// Returns true if nothing creeps in `n` hours
static bool
soak(const stage_row* row, int n, bool is_verbose)
{
  static subject              s;
  const plugin* const         p     = find_plugin(row->stem);
  const LV2_Descriptor* const type  = find_type(p);
  const double                start = now_s();
  subject_open(&s, p, type, row->hardest);
  for (int i = 0; i < n; ++i) {
    if (!play_hour(&s, &s.hours[i])) {
      printf("%-17s%5d  NOT FINITE\n", p->stem, i + 1);
      return false;
    }
    if (is_verbose) {
      print_hour(p->stem, i + 1, &s.hours[i]);
    }
  }
  type->cleanup(s.handle);
  return judge(p->stem, s.hours, n, 3600.0 * n / (now_s() - start));
}

static bool
is_wanted(const char* stem, char** stems, int n)
{
  for (int i = 0; i < n; ++i) {
    if (!strcmp(stem, stems[i])) {
      return true;
    }
  }
  return n == 0;
}

static int
usage(void)
{
  fprintf(stderr, "usage: soak [-v] [--hours 3..%d] [STEM...]\n", MAX_HOURS);
  return 2;
}

int
main(int argc, char** argv)
{
  bool is_verbose = false;
  long hours      = 25;
  int  at         = 1;
  for (; at < argc && argv[at][0] == '-'; ++at) {
    if (!strcmp(argv[at], "-v")) {
      is_verbose = true;
    } else if (!strcmp(argv[at], "--hours") && at + 1 < argc) {
      hours = strtol(argv[++at], NULL, 10);
    } else {
      return usage();
    }
  }
  if (hours < 3 || hours > MAX_HOURS) {
    return usage();
  }

  for (int i = at; i < argc; ++i) {
    (void)find_plugin(argv[i]);
  }
  check_complete();
  fill_loop();
  printf("last hour, and the largest differences from the second\n"
         "%-17s%5s%9s%9s%11s%10s%10s%11s%9s%8s\n",
         "plugin", "hours", "RMS dB", "peak dB", "of RMS dB", "of peak",
         "of DC dB", "of change", "KiB more", "x real");
  int n_bad = 0;
  for (size_t i = 0; i < N_STAGE_ROWS; ++i) {
    const stage_row* const row = &stage_rows[i];
    if (row->hardest && is_wanted(row->stem, argv + at, argc - at)) {
      n_bad += !soak(row, (int)hours, is_verbose);
    }
  }
  return n_bad > 0;
}
