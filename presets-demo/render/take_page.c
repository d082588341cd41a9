// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "take_page.h"

#include "plugins/text/input_file.h"
#include "presets-demo/render/program/alloc.h"
#include "presets-demo/render/program/path.h"
#include "presets-demo/render/program/signals.h"
#include "presets-demo/session/report/report.h"

#include <stdlib.h>
#include <unistd.h>

#define MAX_THREADS 64

char*
take_page_path(const char* out)
{
  return alloc_print("%.*s-report.html", (int)(path_ending(out) - out), out);
}

static uint32_t
processors(void)
{
  const long n = sysconf(_SC_NPROCESSORS_ONLN);
  return n < 1 ? 1 : n > MAX_THREADS ? MAX_THREADS : (uint32_t)n;
}

/// Plays it through the same stages, which are at rest again
static bool
play_and_print(const rendering* r, const session* s, FILE* page, failure* f)
{
  const double   start_s = progress_clock_s();
  const uint32_t n       = processors();
  progress       bar     = progress_start(s->path, r->options->is_quiet);
  mixdown* const m       = mixdown_new(&(mixdown_spec){.session   = s,
                                                       .parts     = &r->parts,
                                                       .host      = r->host,
                                                       .n_threads = n,
                                                       .stop      = &signals_caught},
                                       f);
  const bool     ok      = m && mixdown_play(m, &bar, f);
  progress_end(&bar);
  if (ok) {
    report_print_take(page, m, s, progress_clock_s() - start_s, n);
  }
  mixdown_free(m);
  return ok && !signals_caught;
}

bool
take_page_print(const rendering* r, FILE* page, failure* f)
{
  const render_options* const o = r->options;
  struct stat                 status;
  const char* const           fault =
    stat(o->in, &status) ? "cannot be found again" : input_file_fault(&status);
  if (fault) { // It is read more than once
    return fail_with(f, "%s: %s; expected one for --report", o->in, fault);
  }
  session_strip take = {.line     = 1,
                        .name     = (char*)path_name(o->in),
                        .slug     = (char*)"take",
                        .file     = (char*)o->in,
                        .setup    = (char*)o->setup,
                        .align    = SESSION_ALIGN_AS_SETUP,
                        .send_db  = {SESSION_OFF_DB, SESSION_OFF_DB},
                        .listen_s = SESSION_LISTEN_CHOSEN};
  const session s    = {.path     = (char*)o->in,
                        .tracks   = &take,
                        .n_tracks = 1,
                        .output   = {.rate_hz  = (float)o->rate_hz,
                                     .tail_s   = (float)o->tail_s,
                                     .listen_s = SESSION_LISTEN_CHOSEN}};
  return play_and_print(r, &s, page, f);
}
