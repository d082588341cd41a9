// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// dustcap-session: dry tracks in, a mix and its stems out

#include "presets-demo/session/file/session_inputs.h"
#include "presets-demo/session/mix/mixdown.h"
#include "presets-demo/session/report/report.h"
#include "presets-demo/session/report/session_table.h"
#include "session_cache.h"
#include "watch.h"

#include "presets-demo/render/program/output.h"
#include "presets-demo/render/program/path.h"
#include "presets-demo/render/program/printable.h"
#include "presets-demo/render/program/signals.h"

#include <stdio.h>
#include <stdlib.h>

/// Level that the end may cut off without a warning
#define END_LIMIT_DBFS (-60.0)

/// The state of the program while it runs
typedef struct {
  const session_options* options;
  session                session;
  catalogue              parts;
  host*                  host;
  whole_folder*          folder;
  mixdown*               mixdown;
  const char*            cache;   ///< NULL: none
  bool*                  chosen;  ///< By track; NULL: all, and the mix
  watch*                 watch;   ///< NULL: renders once
  const char*            changed; ///< Why it renders again
} work;

static bool
open_mixdown(work* w, failure* f)
{
  const session_options* const o = w->options;
  w->host                        = host_new(w->parts.world);
  if (o->out) {
    w->folder = whole_folder_open(o->out, f);
    if (!w->folder) {
      return false;
    }
  }
  w->mixdown = mixdown_new(&(mixdown_spec){.session      = &w->session,
                                           .parts        = &w->parts,
                                           .host         = w->host,
                                           .folder       = w->folder,
                                           .cache        = w->cache,
                                           .chosen       = w->chosen,
                                           .is_assembled = o->is_assembled,
                                           .n_threads    = o->n_threads,
                                           .stop         = &signals_caught},
                           f);
  return w->mixdown != NULL;
}

static bool
open_all(work* w, failure* f)
{
  const session_options* const o = w->options;
  if (!session_load(&w->session, o->session, f) ||
      !catalogue_open(&w->parts, catalogue_folder(o->bundle), f)) {
    return false;
  }
  if (w->watch) { // Before they are read for good
    watch_add_session(w->watch, &w->session, &w->parts);
  }
  if (!session_inputs_check(&w->session, &w->parts, o->out, f)) {
    return false;
  }
  return session_cache_choose(&w->chosen, o, &w->session, f) &&
         session_cache_open(&w->cache, o, &w->session, f) && open_mixdown(w, f);
}

static void
close_all(work* w)
{
  mixdown_free(w->mixdown);
  whole_folder_abandon(w->folder);
  host_free(w->host);
  catalogue_close(&w->parts);
  session_clear(&w->session);
  free(w->chosen);
}

static void
warn_of_takes(const work* w)
{
  for (uint32_t i = 0; i < w->session.n_tracks; ++i) {
    const lane* const       l     = mixdown_lane(w->mixdown, i);
    const take_lines* const lines = &l->take.lines;
    for (uint32_t k = 0; k < lines->n; ++k) {
      printable_print(stderr, PROGRAM ": warning: track '%s': %s\n",
                      l->strip->name, lines->lines[k].text);
    }
  }
}

static void
warn_of_overs(const work* w)
{
  const bool is_float = w->session.output.bits == (float)SAMPLES_FLOAT;
  for (uint32_t i = 0; !is_float && i < mixdown_n_lanes(w->mixdown); ++i) {
    const lane* const l      = mixdown_lane(w->mixdown, i);
    const uint64_t    n_over = mixdown_n_over(w->mixdown, i);
    if (n_over) {
      printable_print(stderr,
                      PROGRAM
                      ": warning: %s: %llu samples above 0 dBFS were "
                      "clipped in its file (peak %+.1f dBFS); lower its "
                      "gain_db or write float\n",
                      l == mixdown_bus(w->mixdown) ? "mix" : l->strip->name,
                      (unsigned long long)n_over, l->figures.out.peak_db);
    }
  }
}

static void
warn(const work* w)
{
  warn_of_overs(w);
  const double end_db = mixdown_end_peak_db(w->mixdown);
  if (w->session.output.tail_s > 0.0F && end_db > END_LIMIT_DBFS) {
    printable_print(stderr,
                    PROGRAM ": warning: mix: still at %.0f dBFS at its end; "
                            "a longer tail_s keeps the rest\n",
                    end_db);
  }
  for (uint32_t k = 0; k < SESSION_N_SENDS; ++k) {
    for (uint32_t i = 0; i < w->session.n_tracks; ++i) {
      if (!w->session.sends[k].line &&
          w->session.tracks[i].send_db[k] > SESSION_OFF_DB) {
        printable_print(stderr,
                        PROGRAM
                        ": warning: %s: track '%s' sends to the %s, but "
                        "there is no section [send %s]\n",
                        w->session.path, w->session.tracks[i].name,
                        session_send_names[k], session_send_names[k]);
        break;
      }
    }
  }
}

/// Opens all and plays it
static bool
play(work* w, failure* f)
{
  if (!open_all(w, f)) {
    return false;
  }
  warn_of_takes(w);
  session_cache_warn_of_files(w->mixdown, &w->session);
  progress bar =
    progress_start(path_name(w->session.path), w->options->is_quiet);
  const bool ok = mixdown_play(w->mixdown, &bar, f);
  progress_end(&bar);
  return ok;
}

/// Renders some tracks alone
static bool
run_only(work* w, failure* f)
{
  if (!play(w, f) ||
      !session_cache_check(w->mixdown, &w->session, w->chosen, f)) {
    return false;
  }
  if (!w->options->is_quiet) {
    session_cache_print(stdout, w->mixdown, &w->session, w->chosen, w->cache);
  }
  return true;
}

static bool
run(work* w, failure* f)
{
  const session_options* const o       = w->options;
  const double                 start_s = progress_clock_s();
  const bool                   ok      = play(w, f);
  const double                 time_s  = progress_clock_s() - start_s;
  if (!ok ||
      !report_write(w->mixdown, &w->session, w->folder, time_s, o->n_threads,
                    o->json, f) ||
      signals_caught) {
    return false;
  }
  whole_folder* const folder = w->folder;
  w->folder                  = NULL;
  if (!whole_folder_finish(folder, f)) {
    return false;
  }
  if (!o->is_quiet) {
    if (!w->watch) {
      session_table_print(stdout, w->mixdown);
    }
    const double length_s = mixdown_length_s(w->mixdown);
    printable_print(
      stdout, "%s%s%s: %.3f s at %g Hz; took %.2f s, %.0f x real time\n",
      w->changed ? w->changed : "", w->changed ? " has changed; " : "", o->out,
      length_s, mixdown_rate_hz(w->mixdown), time_s, length_s / time_s);
  }
  warn(w);
  session_cache_warn_of_room(w->mixdown, &w->session, w->cache);
  session_cache_clean(w->mixdown, &w->session, w->cache);
  return true;
}

/// Renders and, if that fails, says why
static bool
render(work* w)
{
  failure    f  = {""};
  const bool ok = w->options->only.n ? run_only(w, &f) : run(w, &f);
  close_all(w);
  if (!ok) {
    signals_die();
    (void)fprintf(stderr, PROGRAM ": %s\n", f.text);
    if (w->watch) {
      watch_add_fault(w->watch, &f);
    }
  } else if (!output_is_printed(&f)) {
    printable_print(stderr, PROGRAM ": warning: %s: is complete; %s\n",
                    w->options->out ? w->options->out : "the cache", f.text);
  }
  return ok;
}

/// Renders whenever a file has changed, until a signal ends it
static void
render_on_changes(const session_options* o)
{
  watch* const files   = watch_new();
  const char*  changed = NULL;
  do {
    work w = {.options = o, .watch = files, .changed = changed};
    watch_begin(files);
    watch_add(files, o->session);
    if (render(&w)) {
      watch_drop_unread(files);
    }
    changed = watch_wait(files);
  } while (changed);
  watch_free(files);
}

int
main(int argc, char** argv)
{
  failure              f = {""};
  session_options      options;
  const options_result result = session_options_parse(&options, argc, argv, &f);
  if (result != OPTIONS_GO) {
    return options_leave(&session_program, result, &f);
  }
  signals_catch();
  if (options.is_watching) {
    render_on_changes(&options);
    signals_die();
    return EXIT_FAILURE;
  }
  work       w  = {.options = &options};
  const bool ok = render(&w);
  free((void*)options.only.names);
  return ok ? EXIT_SUCCESS : EXIT_FAILURE;
}
