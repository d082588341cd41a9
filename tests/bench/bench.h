// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The parts of the benchmark.
///
/// Times are of the processor, not of the clock on the wall, and the least of
/// several passes: what else the machine does hardly shows.  They differ
/// between machines and from run to run all the same; the ratio to the
/// yardstick, which runs between the passes, differs less.

#ifndef TESTS_BENCH_BENCH_H
#define TESTS_BENCH_BENCH_H

#include "plugins/shell.h"

#include <lilv/lilv.h>

#define BENCH_RATE_HZ   48000.0
#define BENCH_BLOCK     64U
#define BENCH_FRAMES    96000U ///< Of the input: 2 s at 48 kHz
#define BENCH_MAX_PORTS 64

/// Two channels of plucked notes at -18 dBFS RMS
extern float bench_input[MAX_CHANNELS][BENCH_FRAMES];

void
bench_fill_input(void);

/// Processor time of this thread
double
bench_now_ns(void);

double
bench_least(double a, double b);

// ---------------------------------------------------------------------------
// The yardstick: libsoxr's HQ recipe, one channel, 48 kHz up to 192 kHz and
// down again

/// Least time of one frame so far; runs one pass more
double
bench_yardstick_ns(void);

// ---------------------------------------------------------------------------
// One instance of a plugin, as a host has it

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

/// Form `form` of a plugin, defaults, all ports connected, activated
void
subject_open(subject*            s,
             const bench_bundle* b,
             const plugin*       p,
             uint32_t            form,
             double              rate_hz);

void
subject_close(subject* s);

/// A control of the stage or the shell; false if it has none of that name
bool
subject_set(subject* s, const char* symbol, float value);

/// `n` frames from `in` (one or two channels) to `out` in one run()
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

/// `n` frames of both channels, at most 1024, in place
void
chain_run(const chain* c, float (*x)[1024], uint32_t n);

double
chain_pass(const chain* c, uint32_t n_frames, uint32_t block);

// ---------------------------------------------------------------------------
// Tables of the report

/// Every plugin by default, with budgets
void
bench_stages(const bench_bundle* b);

/// Every plugin at rates, block lengths and forms
void
bench_depths(const bench_bundle* b);

/// Every plugin with nothing to do
void
bench_idle(const bench_bundle* b);

/// The chain by default, at rates and block lengths, beside generic filters
void
bench_chain(const bench_bundle* b);

/// Many chains: the line of cost over number, and real time on two cores
void
bench_many(const bench_bundle* b);

/// Size of the module; what loading it and a host's scan take.  `lv2_folder`
/// holds the bundle's folder.
void
bench_load(const char* folder, const char* lv2_folder);

/// Time of a chain of ffmpeg's generic filters in ns per frame; NaN without
/// ffmpeg
double
bench_generic_ns(void);

/// Run a program with its output thrown away; false if it cannot run or fails.
/// Processor time and time on the wall in ms.
bool
bench_spawn(const char* const* arguments, double* cpu_ms, double* wall_ms);

#endif // TESTS_BENCH_BENCH_H
