// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bench.h"

#include "report.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define PASSES      7
#define RATE_PASSES 3
#define RATE_FRAMES 49152U

#define BUDGET 28.0
#define GOAL   14.0

#define MANY        64U
#define MANY_CORES  2U
#define MANY_FRAMES 12800U // Whole blocks

static double
least_pass(const chain* c, int passes, uint32_t n_frames, uint32_t block)
{
  double ns = chain_pass(c, n_frames, block);
  for (int pass = 1; pass < passes; ++pass) {
    (void)bench_yardstick_ns();
    ns = bench_least(ns, chain_pass(c, n_frames, block));
  }
  return ns;
}

static void
by_default(const bench_bundle* b)
{
  report_section("chain", "The track stages in a row, mono, 48 kHz, blocks of "
                          "64 frames, beside a chain of generic filters");
  chain c;
  chain_open(&c, b, 0, BENCH_RATE_HZ);
  const double ns      = least_pass(&c, PASSES, BENCH_FRAMES, BENCH_BLOCK);
  const double generic = bench_generic_ns();
  const double unit    = bench_yardstick_ns();
  double       kib     = 0.0;
  for (uint32_t i = 0; i < c.n; ++i) {
    kib += c.stage[i].memory_kib;
  }
  chain_close(&c);

  report_text("chain", "dustcap");
  report_number("ns", 1, ns);
  report_number("ratio", 2, ns / unit);
  report_number("budget", 0, BUDGET);
  report_number("goal", 0, GOAL);
  report_number("kib", 0, kib);
  report_end_row();
  report_text("chain", "ffmpeg generic");
  report_number("ns", 1, generic);
  report_number("ratio", 2, generic / unit);
  report_number("budget", 0, NAN);
  report_number("goal", 0, NAN);
  report_number("kib", 0, NAN);
  report_end_row();
}

static void
at_rates(const bench_bundle* b)
{
  static const double   rates_hz[] = {44100.0, 48000.0, 96000.0, 192000.0};
  static const uint32_t blocks[]   = {16, 64, 256, 1024};
  report_section("chain_rates", "The same at rates, mono and stereo: ns per "
                                "frame in blocks of 16, 64, 256, 1024 frames");
  for (uint32_t form = 0; form < 2; ++form) {
    for (int rate = 0; rate < 4; ++rate) {
      chain c;
      chain_open(&c, b, form, rates_hz[rate]);
      report_text("chain", form == 0 ? "mono" : "stereo");
      report_number("rate_hz", 0, rates_hz[rate]);
      double ns = 0.0;
      for (int i = 0; i < 4; ++i) {
        char key[16];
        (void)snprintf(key, sizeof(key), "ns_%u", blocks[i]);
        ns = least_pass(&c, RATE_PASSES, RATE_FRAMES, blocks[i]);
        report_number(key, 1, ns);
      }
      report_number("core_pc", 2, ns * rates_hz[rate] * 1e-7);
      report_end_row();
      chain_close(&c);
    }
  }
}

void
bench_chain(const bench_bundle* b)
{
  by_default(b);
  at_rates(b);
}

// ---------------------------------------------------------------------------
// Many of them

static chain many[MANY];

/// Plays the chains in turn, block by block, as in a host; returns ns per frame
/// of all
static double
many_pass(const chain* c, uint32_t n)
{
  float        x[MAX_CHANNELS][1024];
  const double start = bench_now_ns();
  for (uint32_t at = 0; at + BENCH_BLOCK <= MANY_FRAMES; at += BENCH_BLOCK) {
    for (uint32_t i = 0; i < n; ++i) {
      memcpy(x[0], bench_input[0] + at, BENCH_BLOCK * sizeof(float));
      chain_run(&c[i], x, BENCH_BLOCK);
    }
  }
  return (bench_now_ns() - start) / (double)MANY_FRAMES;
}

/// Fits y = a + b x by least squares, each point weighted by 1 / y^2, since the
/// errors of times are proportional to them
static void
fit_line(const double* x, const double* y, int n, double* a, double* b)
{
  double s = 0.0, sx = 0.0, sy = 0.0, sxx = 0.0, sxy = 0.0;
  for (int i = 0; i < n; ++i) {
    const double w = 1.0 / (y[i] * y[i]);
    s += w;
    sx += w * x[i];
    sy += w * y[i];
    sxx += w * x[i] * x[i];
    sxy += w * x[i] * y[i];
  }
  *b = (s * sxy - sx * sy) / (s * sxx - sx * sx);
  *a = (sy - *b * sx) / s;
}

#define POINTS      7
#define LINE_PASSES 12

/// Measures the least times for 1, 2, 4 ... chains.  Each pass goes through all
/// of them, so that other load on the machine hits all alike.
static void
measure_line(const double number[POINTS], double ns[POINTS])
{
  for (int pass = 0; pass < LINE_PASSES; ++pass) {
    for (int i = 0; i < POINTS; ++i) {
      const double t = many_pass(many, (uint32_t)number[i]);
      ns[i]          = pass == 0 ? t : bench_least(ns[i], t);
    }
  }
}

static void
over_number(void)
{
  report_section("instances", "Cost over the number of chains that take "
                              "turns, ns per frame of all");
  const double number[POINTS] = {1, 2, 4, 8, 16, 32, 64};
  double       ns[POINTS], a = 0.0, slope = 0.0, worst = 0.0;
  measure_line(number, ns);
  fit_line(number, ns, POINTS, &a, &slope);
  for (int i = 0; i < POINTS; ++i) {
    const double off = ns[i] / (a + slope * number[i]) - 1.0;
    worst            = fmax(worst, fabs(off));
    report_text("what", "chains");
    report_number("n", 0, number[i]);
    report_number("ns", 1, ns[i]);
    report_number("ns_each", 1, ns[i] / number[i]);
    report_number("off_line_pc", 1, 100.0 * off);
    report_end_row();
  }
  report_section("line", "The straight line through these, and the largest "
                         "distance from it");
  report_text("what", "line");
  report_number("base_ns", 1, a);
  report_number("each_ns", 1, slope);
  report_number("off_pc", 1, 100.0 * worst);
  report_end_row();
}

typedef struct {
  const chain* chains;
  double       cpu_s;
} share;

static void*
play_share(void* argument)
{
  share* const s = argument;
  s->cpu_s       = many_pass(s->chains, MANY / MANY_CORES) * MANY_FRAMES * 1e-9;
  return NULL;
}

static double
wall_s(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void
in_real_time(void)
{
  report_section("real_time",
                 "64 tracks of the chain on two threads, 48 kHz, blocks of 64 "
                 "frames, in % of real time");
  double cpu_s  = 1e9;
  double took_s = 1e9;
  for (int pass = 0; pass < 4; ++pass) {
    share        shares[MANY_CORES];
    pthread_t    threads[MANY_CORES];
    double       most  = 0.0;
    const double start = wall_s();
    for (uint32_t i = 0; i < MANY_CORES; ++i) {
      shares[i] = (share){.chains = many + i * (MANY / MANY_CORES)};
      if (pthread_create(&threads[i], NULL, play_share, &shares[i])) {
        fprintf(stderr, "bench: cannot start a thread\n");
        exit(1);
      }
    }
    for (uint32_t i = 0; i < MANY_CORES; ++i) {
      pthread_join(threads[i], NULL);
      most = fmax(most, shares[i].cpu_s);
    }
    took_s = fmin(took_s, wall_s() - start);
    cpu_s  = fmin(cpu_s, most);
  }
  const double audio_s = MANY_FRAMES / BENCH_RATE_HZ;
  report_text("what", "64 tracks");
  report_number("busier_core_pc", 1, 100.0 * cpu_s / audio_s);
  report_number("on_the_wall_pc", 1, 100.0 * took_s / audio_s);
  report_end_row();
}

void
bench_many(const bench_bundle* b)
{
  for (uint32_t i = 0; i < MANY; ++i) {
    chain_open(&many[i], b, 0, BENCH_RATE_HZ);
  }
  over_number();
  in_real_time();
  for (uint32_t i = 0; i < MANY; ++i) {
    chain_close(&many[i]);
  }
}
