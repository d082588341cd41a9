// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cost of every plugin, through the built bundle, as a ratio to a yardstick
/// that runs beside it: libsoxr's HQ recipe, one channel, 48 kHz up to 192 kHz
/// and down again.  Times differ between machines and from run to run; the
/// ratio hardly does.
///
/// The first form of each (mono; a bus is stereo) at 48 kHz in blocks of 64
/// frames, defaults, all ports connected; the least of several passes over two
/// seconds of plucked notes at -18 dBFS RMS.

#include "plugins/shell.h"

#include <lilv/lilv.h>
#include <soxr.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define RATE_HZ   48000.0
#define N         96000U
#define BLOCK     64U
#define PASSES    9
#define MAX_PORTS 64

static float input[2][N], output[2][N];

/// Design budget and goal for one mono frame, in yardsticks
static const struct {
  const char* stem;
  double      budget, goal;
} budgets[] = {
  {"di-cleanup", 1.5, 1.0},       {"input-compressor", 2.5, 1.5},
  {"tube-stage", 12.0, 6.0},      {"thickening-echo", 3.0, 2.0},
  {"speaker-breakup", 10.0, 5.0}, {"proximity-lift", 2.0, 1.0},
  {"air-shelf", 1.0, 0.7},        {"bus-tone", 4.0, 2.0},
  {"bus-leveler", 4.0, 2.0},
};

static double
now_ns(void)
{
  struct timespec t;
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &t);
  return 1e9 * (double)t.tv_sec + (double)t.tv_nsec;
}

/// Decaying notes with a noisy start
static void
fill_input(void)
{
  uint32_t seed = 1;
  for (uint32_t i = 0; i < N; ++i) {
    const double t    = i / RATE_HZ;
    const double u    = fmod(t, 0.3);
    seed              = seed * 1664525U + 1013904223U;
    const double pick = exp(-400.0 * u) * (double)(int32_t)seed / 2147483648.0;
    const double note = sin(2.0 * DSP_PI * 110.0 * t) +
                        0.4 * sin(2.0 * DSP_PI * 331.0 * t) +
                        0.2 * sin(2.0 * DSP_PI * 1103.0 * t);
    input[0][i] = input[1][i] =
      (float)(0.25 * exp(-4.0 * u) * note + 0.2 * pick);
  }
}

/// One pass of the yardstick, in ns per frame
static double
yardstick_pass(void)
{
  static float              wide[4 * N + 4096], narrow[N + 4096];
  soxr_error_t              error   = NULL;
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_HQ, 0);
  const soxr_io_spec_t      io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
  const soxr_runtime_spec_t one_thread = soxr_runtime_spec(1);
  soxr_t up   = soxr_create(1, 4, 1, &error, &io, &quality, &one_thread);
  soxr_t down = soxr_create(4, 1, 1, &error, &io, &quality, &one_thread);
  if (!up || !down) {
    fprintf(stderr, "bench: libsoxr: %s\n", soxr_strerror(error));
    exit(1);
  }

  const double start = now_ns();
  for (uint32_t at = 0; at < N; at += 4000) {
    size_t n_wide   = 0;
    size_t n_narrow = 0;
    soxr_process(up, input[0] + at, 4000, NULL, wide, (size_t)4 * N, &n_wide);
    soxr_process(down, wide, n_wide, NULL, narrow, N, &n_narrow);
  }
  const double ns = (now_ns() - start) / N;
  soxr_delete(up);
  soxr_delete(down);
  return ns;
}

typedef struct {
  const plugin* p;
  plugin_form   form;
  LilvInstance* instance;
  float         control[MAX_PORTS];
  double        instantiate_ms;
} subject;

static void
subject_open(subject*           s,
             LilvWorld*         world,
             const LilvPlugins* all,
             const plugin*      p,
             uint32_t           form)
{
  s->p    = p;
  s->form = shell_form(p, form);

  LilvNode* const         uri  = lilv_new_uri(world, s->form.uri);
  const LilvPlugin* const type = lilv_plugins_get_by_uri(all, uri);
  lilv_node_free(uri);
  const double start = now_ns();
  s->instance = type ? lilv_plugin_instantiate(type, RATE_HZ, NULL) : NULL;
  s->instantiate_ms = (now_ns() - start) * 1e-6;
  if (!s->instance) {
    fprintf(stderr, "bench: %s does not load\n", s->form.uri);
    exit(1);
  }
  for (uint32_t i = 0; i < shell_param_count(p) + shell_meter_count(p); ++i) {
    s->control[i] = i < shell_param_count(p) ? shell_param(p, i)->def : 0.0F;
    lilv_instance_connect_port(s->instance, i, &s->control[i]);
  }
  lilv_instance_activate(s->instance);
}

/// One pass, in ns per frame
static double
subject_pass(const subject* s)
{
  const uint32_t audio = shell_param_count(s->p) + shell_meter_count(s->p);
  const double   start = now_ns();
  for (uint32_t at = 0; at < N; at += BLOCK) {
    for (uint32_t k = 0; k < s->form.n_in; ++k) {
      lilv_instance_connect_port(s->instance, audio + k, input[k] + at);
    }
    for (uint32_t k = 0; k < s->form.n_out; ++k) {
      lilv_instance_connect_port(s->instance, audio + s->form.n_in + k,
                                 output[k] + at);
    }
    lilv_instance_run(s->instance, BLOCK);
  }
  return (now_ns() - start) / N;
}

static double
least(double a, double b)
{
  return a < b ? a : b;
}

static void
print_budget(const char* stem, double ratio)
{
  for (size_t i = 0; i < sizeof(budgets) / sizeof(budgets[0]); ++i) {
    if (!strcmp(budgets[i].stem, stem)) {
      printf("%8.1f%8.1f  %s", budgets[i].budget, budgets[i].goal,
             ratio <= budgets[i].goal     ? "goal met"
             : ratio <= budgets[i].budget ? "in budget"
                                          : "OVER BUDGET");
    }
  }
  printf("\n");
}

int
main(int argc, char** argv)
{
  if (argc != 2) {
    fprintf(stderr, "usage: bench BUNDLE_FOLDER/\n");
    return 2;
  }
  char path[4096];
  (void)snprintf(path, sizeof(path), "%s/", argv[1]);
  LilvWorld* const world = lilv_world_new();
  LilvNode* const  dir   = lilv_new_file_uri(world, NULL, path);
  lilv_world_load_bundle(world, dir);
  const LilvPlugins* const all = lilv_world_get_all_plugins(world);

  fill_input();
  double yardstick = 1e9;
  for (int i = 0; i < PASSES; ++i) {
    yardstick = least(yardstick, yardstick_pass());
  }
  printf("yardstick: %.1f ns per frame\n\n", yardstick);
  printf("%-18s%10s%8s%8s%12s%10s%8s%8s\n", "plugin", "ns", "ratio", "stereo",
         "per mono", "start ms", "budget", "goal");

  double        chain_ns = 0.0;
  const plugin* p        = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    const uint32_t n_forms = shell_form_count(p);
    subject        s[2];
    double         ns[2] = {1e9, 1e9};
    for (uint32_t i = 0; i < n_forms; ++i) {
      subject_open(&s[i], world, all, p, i);
    }
    for (int pass = 0; pass < PASSES; ++pass) {
      yardstick = least(yardstick, yardstick_pass()); // In the same weather
      for (uint32_t i = 0; i < n_forms; ++i) {
        ns[i] = least(ns[i], subject_pass(&s[i]));
      }
    }
    for (uint32_t i = 0; i < n_forms; ++i) {
      lilv_instance_deactivate(s[i].instance);
      lilv_instance_free(s[i].instance);
    }
    printf("%-18s%10.1f%8.2f", p->stem, ns[0], ns[0] / yardstick);
    if (n_forms == 2) {
      printf("%8.1f%12.2f", ns[1], ns[1] / ns[0]);
    } else {
      printf("%8s%12s", "-", "-");
    }
    printf("%10.2f", s[0].instantiate_ms);
    print_budget(p->stem, ns[0] / yardstick);
    chain_ns += p->forms == FORMS_TRACK ? ns[0] : 0.0;
  }
  printf("%-18s%10.1f%8.2f\n", "track chain", chain_ns, chain_ns / yardstick);
  printf("\nyardstick at the end: %.1f ns per frame\n", yardstick);

  lilv_node_free(dir);
  lilv_world_free(world);
  return 0;
}
