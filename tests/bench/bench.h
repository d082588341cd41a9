// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of the benchmark.
///
/// Times are processor time, not wall-clock time, and the least of several
/// passes: other load on the machine hardly shows.  They still differ between
/// machines and runs; the ratio to the yardstick, which runs between the
/// passes, differs less.

#ifndef TESTS_BENCH_BENCH_H
#define TESTS_BENCH_BENCH_H

#include "plugins/shell.h"

#include <lilv/lilv.h>

#define BENCH_RATE_HZ   48000.0
#define BENCH_BLOCK     64U
#define BENCH_FRAMES    96000U ///< Length of the input: 2 s at 48 kHz
#define BENCH_MAX_PORTS 64

/// Two channels of plucked notes at -18 dBFS RMS
extern float bench_input[MAX_CHANNELS][BENCH_FRAMES];

void
bench_fill_input(void);

/// Returns the processor time of this thread
double
bench_now_ns(void);

double
bench_least(double a, double b);

// ---------------------------------------------------------------------------
// The yardstick: libsoxr's HQ recipe, one channel, 48 kHz up to 192 kHz and
// down again

/// Runs one more pass; returns the least time of one frame so far
double
bench_yardstick_ns(void);

// ---------------------------------------------------------------------------
// One instance of a plugin, as in a host

typedef struct {
  LilvWorld*         world;
  const LilvPlugins* plugins;
} bench_bundle;

/// Exits with a message if the folder holds no bundle
bench_bundle
bench_open(const char* folder);

void
bench_close(bench_bundle* b);

typedef struct {
  const plugin* p;
  plugin_form   form;
  LilvInstance* instance;
  float         control[BENCH_MAX_PORTS];
  double        instantiate_ms;
  double        memory_kib;
} subject;

/// Opens form `form` of a plugin: defaults, all ports connected, activated
void
subject_open(subject*            s,
             const bench_bundle* b,
             const plugin*       p,
             uint32_t            form,
             double              rate_hz);

void
subject_close(subject* s);

/// Sets a control of the stage or the shell; false if it has none of that name
bool
subject_set(subject* s, const char* symbol, float value);

/// Runs `n` frames from `in` (one or two channels) to `out` in one run()
void
subject_run(const subject*      s,
            const float* const* in,
            float* const*       out,
            uint32_t            n);

/// One pass over `n_frames` of `in` in blocks, in ns per frame.  With `worst`:
/// the longest block over the median block.
double
subject_pass(const subject*      s,
             const float* const* in,
             uint32_t            n_frames,
             uint32_t            block);

// ---------------------------------------------------------------------------
// The track stages, mono, one after the other

#define CHAIN_MAX_STAGES 16

typedef struct {
  uint32_t n;
  subject  stage[CHAIN_MAX_STAGES];
} chain;

void
chain_open(chain* c, const bench_bundle* b, uint32_t form, double rate_hz);

void
chain_close(chain* c);

/// Runs `n` frames of both channels, at most 1024, in place
void
chain_run(const chain* c, float (*x)[1024], uint32_t n);

double
chain_pass(const chain* c, uint32_t n_frames, uint32_t block);

// ---------------------------------------------------------------------------
// Tables of the report

/// Reports every plugin by default, with budgets
void
bench_stages(const bench_bundle* b);

/// Reports every plugin at rates, block lengths and forms
void
bench_depths(const bench_bundle* b);

/// Reports every plugin with nothing to do
void
bench_idle(const bench_bundle* b);

/// Reports the chain by default, at rates and block lengths, beside generic
/// filters
void
bench_chain(const bench_bundle* b);

/// Reports many chains: the line of cost over number, and real time on two
/// cores
void
bench_many(const bench_bundle* b);

/// Reports the size of the module and the times to load and to scan it.
/// `lv2_folder` holds the bundle's folder.
void
bench_load(const char* folder, const char* lv2_folder);

/// Returns the time of a chain of ffmpeg's generic filters in ns per frame; NaN
/// without ffmpeg
double
bench_generic_ns(void);

/// Runs a program and discards its output; false if it cannot run or fails.
/// Processor and wall-clock time in ms; peak memory of its largest process
/// unless `peak_mib` is NULL.
bool
bench_spawn(const char* const* arguments,
            double*            cpu_ms,
            double*            wall_ms,
            double*            peak_mib);

#endif // TESTS_BENCH_BENCH_H
