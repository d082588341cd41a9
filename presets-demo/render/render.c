// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// dustcap-render: one dry recording in, an amplifier out

#include "play.h"
#include "presets-demo/render/measure/level_table.h"
#include "presets-demo/render/program/output.h"
#include "presets-demo/render/program/printable.h"
#include "presets-demo/render/program/signals.h"
#include "rendering.h"
#include "take_page.h"

#include <math.h>
#include <stdlib.h>

/// Level that the end of a file may cut off without a warning
#define END_LIMIT_DBFS (-60.0)

/// Looks at the recording, says what is wrong with it, and opens it again if
/// something is taken out
static bool
look_at_take(rendering* r, failure* f)
{
  const char* const in = r->options->in;
  take_look* const  look =
    take_look_new(r->host, &r->parts, &r->setup, in, r->setup.align, f);
  const bool ok = look && take_look_all(look, &signals_caught, f);
  if (ok) {
    r->take = *take_look_result(look);
  }
  take_look_free(look);
  for (uint32_t i = 0; ok && i < r->take.lines.n; ++i) {
    printable_print(stderr, PROGRAM ": warning: %s: %s\n", in,
                    r->take.lines.lines[i].text);
  }
  return ok && rendering_mend(r, f);
}

static void
warn(const rendering* r, const play_result* result, uint64_t n_over)
{
  const char* const out = r->options->out;
  if (n_over && r->options->samples != SAMPLES_FLOAT) {
    printable_print(stderr,
                    PROGRAM ": warning: %s: %llu samples above 0 dBFS were "
                            "clipped (peak %+.1f dBFS); lower the level or use "
                            "--bits float\n",
                    out, (unsigned long long)n_over,
                    chain_total_stats(r->chain).peak_db);
  }
  if (r->options->tail_s > 0.0 && result->end_peak_db > END_LIMIT_DBFS) {
    printable_print(stderr,
                    PROGRAM ": warning: %s: still at %.0f dBFS at its end; a "
                            "longer --tail keeps the rest\n",
                    out, result->end_peak_db);
  }
}

static void
report(const rendering* r, const play_result* result, double time_s)
{
  const render_options* const o     = r->options;
  const audio_in_info         info  = audio_in_get_info(r->in);
  const double                out_s = (double)result->n_out / info.rate_hz;
  printable_print(stdout, "%s: %s, %g Hz, %.3f s", o->in,
                  info.n_channels == 1 ? "mono" : "stereo", info.file_rate_hz,
                  (double)result->n_in / info.rate_hz);
  if (info.rate_hz != info.file_rate_hz) {
    (void)printf(", converted to %g Hz", info.rate_hz);
  }
  printable_print(stdout, "; setup %s\n", o->setup);
  if (r->setup.align && !r->take.has_playing) {
    (void)printf("Not aligned to -18 dBFS RMS: there is no playing\n");
  } else if (r->setup.align) {
    (void)printf("Aligned to -18 dBFS RMS: %+.1f dB before the stages\n",
                 r->take.align_db);
  }
  level_table_print(stdout, r->chain, r->loudness);
  printable_print(stdout, "%s: %s, %.3f s; took %.2f s, %.0f x real time\n",
                  o->out, chain_n_out(r->chain) == 1 ? "mono" : "stereo", out_s,
                  time_s, out_s / time_s);
  if (r->dry_path) {
    printable_print(stdout, "%s: dry, %+.1f dB; both at %.1f LUFS", r->dry_path,
                    r->gains.dry_db, r->gains.lufs);
    (void)printf(r->gains.treated_db < 0.0 ? ", turned down by %.1f dB\n"
                                           : "\n",
                 -r->gains.treated_db);
  }
  if (r->page_path) {
    printable_print(stdout, "%s: open it in a browser, with the volume low\n",
                    r->page_path);
  }
}

/// Plays all of it into `out`, or only measures
static bool
play_through(rendering* r, audio_out* out, play_result* result, failure* f)
{
  const audio_in_info info = audio_in_get_info(r->in);
  progress   bar = progress_start(r->options->in, r->options->is_quiet);
  const play p   = {
      .in       = r->in,
      .chain    = r->chain,
      .out      = out,
      .gain     = (float)pow(10.0, r->take.align_db / 20.0),
      .out_gain = (float)pow(10.0, r->gains.treated_db / 20.0),
      .n_tail   = (uint64_t)llround(r->options->tail_s * info.rate_hz),
      .bar      = &bar,
      .stop     = &signals_caught,
  };
  const bool is_played = play_all(&p, result, f);
  progress_end(&bar);
  return is_played;
}

/// Plays it once to measure its loudness
static bool
find_gains(rendering* r, failure* f)
{
  play_result result;
  if (!play_through(r, NULL, &result, f) ||
      !compare_find(r->loudness, r->setup.n_stages, r->take.align_db, &r->gains,
                    f)) {
    return false;
  }
  rendering_close_chain(r);
  return rendering_open_chain(r, f);
}

/// Gives the files their names: both or neither.  The page has its name by
/// then, or there is nothing else.
static bool
finish_all(rendering* r, failure* f)
{
  whole_file* const page = r->page;
  r->page                = NULL;
  if (page && !whole_file_finish(page, f)) {
    return false;
  }
  audio_out* const out = r->out;
  audio_out* const dry = r->dry;
  r->out               = NULL;
  r->dry               = NULL;
  return dry ? audio_out_finish_both(dry, out, f) : audio_out_finish(out, f);
}

static bool
render(rendering* r, failure* f)
{
  const render_options* const o = r->options;
  if (!rendering_open(r, f) || !look_at_take(r, f)) {
    return false;
  }
  const double start_s = progress_clock_s();
  if (r->dry && !find_gains(r, f)) {
    return false;
  }
  play_result result;
  if (!play_through(r, r->out, &result, f)) {
    return false;
  }
  const double rate_hz = audio_in_get_info(r->in).rate_hz;
  if (r->dry &&
      !compare_write_dry(o->in, &r->take.mend, rate_hz, r->gains.dry_db,
                         result.n_out, r->dry, &signals_caught, f)) {
    return false;
  }
  if (r->page && !take_page_print(r, whole_file_stream(r->page), f)) {
    return false;
  }
  const uint64_t n_over = audio_out_n_over(r->out);
  if (!finish_all(r, f)) {
    return false;
  }
  const double time_s = progress_clock_s() - start_s;
  if (!o->is_quiet) {
    report(r, &result, time_s);
  }
  warn(r, &result, n_over);
  return true;
}

int
main(int argc, char** argv)
{
  failure              f;
  render_options       options;
  const options_result result = render_options_parse(&options, argc, argv, &f);
  if (result != OPTIONS_GO) {
    return options_leave(&render_program, result, &f);
  }
  signals_catch();
  rendering  r  = {.options = &options};
  const bool ok = render(&r, &f);
  rendering_close(&r);
  if (!ok) {
    signals_die();
    (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
  } else if (!output_is_printed(&f)) {
    printable_print(stderr, PROGRAM ": warning: %s: is complete; %s\n",
                    options.out, f.text);
  }
  return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}
