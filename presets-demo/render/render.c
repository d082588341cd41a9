// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// dustcap-render: one dry recording in, an amplifier out

#include "align.h"
#include "audio_in.h"
#include "audio_out.h"
#include "catalogue.h"
#include "chain.h"
#include "heap.h"
#include "level_table.h"
#include "play.h"
#include "progress.h"
#include "render_options.h"
#include "setup.h"

#include <math.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <unistd.h>

#define PROGRAM "dustcap-render"

/// What the end of a file may cut off without a word
#define END_LIMIT_DBFS (-60.0)

enum { EXIT_USAGE = 2 };

/// Number of the signal that asked to stop.  A handler can reach nothing else.
static volatile sig_atomic_t stop_signal = 0;

/// All that a rendering holds while it runs
typedef struct {
  const render_options* options;
  catalogue             parts;
  setup                 setup;
  host*                 host;
  audio_in*             in;
  chain*                chain;
  audio_out*            out;
} rendering;

static void
note_signal(int number)
{
  stop_signal = number;
}

static void
catch_signals(void)
{
  struct sigaction action = {.sa_handler = note_signal};
  (void)sigemptyset(&action.sa_mask);
  (void)sigaction(SIGHUP, &action, NULL);
  (void)sigaction(SIGINT, &action, NULL);
  (void)sigaction(SIGTERM, &action, NULL);
  // A file at its size limit is a write error, not the end of the program
  action.sa_handler = SIG_IGN;
  (void)sigaction(SIGXFSZ, &action, NULL);
}

/// The bundle asked for, the one of this build, or NULL for the LV2 path
static const char*
bundle_folder(const render_options* o)
{
  if (o->bundle) {
    return o->bundle;
  }
  return access(BUILD_BUNDLE "/manifest.ttl", R_OK) ? NULL : BUILD_BUNDLE;
}

static bool
check_not_same(const char* in, const char* out, failure* f)
{
  struct stat a;
  struct stat b;
  return stat(in, &a) || stat(out, &b) || a.st_dev != b.st_dev ||
         a.st_ino != b.st_ino ||
         fail_with(f, "%s: is the input; expected another file to write", out);
}

static bool
open_all(rendering* r, failure* f)
{
  const render_options* const o = r->options;
  if (!catalogue_open(&r->parts, bundle_folder(o), f) ||
      !setup_load(&r->setup, o->setup, &r->parts, f)) {
    return false;
  }
  r->in = audio_in_open(o->in, o->rate_hz, f);
  if (!r->in || !check_not_same(o->in, o->out, f)) {
    return false;
  }
  const audio_in_info info = audio_in_get_info(r->in);
  r->host                  = host_new(r->parts.world);
  r->chain = chain_new(r->host, r->setup.stages, r->setup.n_stages,
                       info.n_channels, info.rate_hz, f);
  if (!r->chain) {
    return false;
  }
  const int64_t        n_tail = llround(o->tail_s * info.rate_hz);
  const audio_out_spec spec   = {
      .path       = o->out,
      .n_channels = chain_n_out(r->chain),
      .rate_hz    = info.rate_hz,
      .samples    = o->samples,
      .n_frames   = info.n_frames < 0 ? -1 : info.n_frames + n_tail,
  };
  r->out = audio_out_open(&spec, f);
  return r->out != NULL;
}

/// The gain that the setup wants in front, in dB; NAN with a failure
static double
alignment_db(const rendering* r, failure* f)
{
  if (!r->setup.align) {
    return 0.0;
  }
  align* const a  = align_new(r->host, &r->parts, &r->setup, r->options->in, f);
  const double db = a ? align_measure_db(a, &stop_signal, f) : (double)NAN;
  align_free(a);
  return db;
}

static void
close_all(rendering* r)
{
  audio_out_abandon(r->out);
  chain_free(r->chain);
  host_free(r->host);
  audio_in_close(r->in);
  setup_clear(&r->setup);
  catalogue_close(&r->parts);
}

static void
warn(const rendering* r, const play_result* result, uint64_t n_over)
{
  const char* const out = r->options->out;
  if (n_over && r->options->samples != SAMPLES_FLOAT) {
    (void)fprintf(stderr,
                  PROGRAM ": warning: %s: %llu samples above 0 dBFS were cut "
                          "off (peak %+.1f dBFS); lower the level or use "
                          "--bits float\n",
                  out, (unsigned long long)n_over,
                  chain_total_stats(r->chain).peak_db);
  }
  if (r->options->tail_s > 0.0 && result->end_peak_db > END_LIMIT_DBFS) {
    (void)fprintf(stderr,
                  PROGRAM ": warning: %s: still at %.0f dBFS where it ends; a "
                          "longer --tail keeps the rest\n",
                  out, result->end_peak_db);
  }
}

static void
report(const rendering*   r,
       const play_result* result,
       double             align_db,
       double             time_s)
{
  const render_options* const o     = r->options;
  const audio_in_info         info  = audio_in_get_info(r->in);
  const double                out_s = (double)result->n_out / info.rate_hz;
  (void)printf("%s: %s, %g Hz, %.3f s", o->in,
               info.n_channels == 1 ? "mono" : "stereo", info.file_rate_hz,
               (double)result->n_in / info.rate_hz);
  if (info.rate_hz != info.file_rate_hz) {
    (void)printf(", converted to %g Hz", info.rate_hz);
  }
  (void)printf("; setup %s\n", o->setup);
  if (r->setup.align) {
    (void)printf("Aligned to -18 dBFS RMS: %+.1f dB in front of the stages\n",
                 align_db);
  }
  level_table_print(stdout, r->chain);
  (void)printf("%s: %s, %.3f s; took %.2f s, %.0f x real time\n", o->out,
               chain_n_out(r->chain) == 1 ? "mono" : "stereo", out_s, time_s,
               out_s / time_s);
}

static bool
render(rendering* r, failure* f)
{
  if (!open_all(r, f)) {
    return false;
  }
  const audio_in_info info     = audio_in_get_info(r->in);
  const double        align_db = alignment_db(r, f);
  if (isnan(align_db)) {
    return false;
  }
  progress     bar     = progress_start(r->options->in, r->options->is_quiet);
  const double start_s = progress_clock_s();
  const play   p       = {
            .in     = r->in,
            .chain  = r->chain,
            .out    = r->out,
            .gain   = (float)pow(10.0, align_db / 20.0),
            .n_tail = (uint64_t)llround(r->options->tail_s * info.rate_hz),
            .bar    = &bar,
            .stop   = &stop_signal,
  };
  play_result result;
  const bool  is_played = play_all(&p, &result, f);
  progress_end(&bar);
  if (!is_played) {
    return false;
  }
  const uint64_t   n_over = audio_out_n_over(r->out);
  audio_out* const out    = r->out;
  r->out                  = NULL;
  if (!audio_out_finish(out, f)) {
    return false;
  }
  const double time_s = progress_clock_s() - start_s;
  if (!r->options->is_quiet) {
    report(r, &result, align_db, time_s);
  }
  warn(r, &result, n_over);
  return true;
}

int
main(int argc, char** argv)
{
  failure        f;
  render_options options;
  switch (render_options_parse(&options, argc, argv, &f)) {
    case RENDER_DONE:
      return EXIT_SUCCESS;
    case RENDER_WRONG:
      (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
      return EXIT_USAGE;
    default:
      break;
  }
  catch_signals();
  rendering  r  = {.options = &options};
  const bool ok = render(&r, &f);
  close_all(&r);
  if (stop_signal) { // Now die of it, as whoever sent it expects
    (void)signal(stop_signal, SIG_DFL);
    (void)raise(stop_signal);
  }
  if (!ok) {
    (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
  }
  return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}
