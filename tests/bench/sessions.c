// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cost of whole sessions over tracks and length: straight lines, or something
/// grows that should not

#include "bench.h"

#include "report.h"

#include <sndfile.h>

#include <ftw.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define TAIL_S 4.0
/// Track-seconds up to which a point is measured without --long
#define SHORT_TRACK_S 500.0
/// Above these no stems: 24 bits, dry and treated, take 430 kB a track-second
#define STEMS_TRACK_S 20000.0

static const uint32_t lengths_s[] = {10, 180, 3600};
static const uint32_t tracks[]    = {1, 8, 32, 128};

typedef struct {
  const char* program;
  const char* bundle;
  const char* setups;
  char        folder[1024]; ///< For takes, sessions and what they give
} workshop;

typedef struct {
  double cpu_ms, wall_ms, peak_mib, disk_mb;
  double plugins_ms; ///< Processor time in run(), by the report
} session_cost;

static char*
path_in(const workshop* w, const char* name)
{
  static char path[4096];
  (void)snprintf(path, sizeof(path), "%s/%s", w->folder, name);
  return path;
}

/// The take: plucked notes, over and over
static bool
write_take(const workshop* w, uint32_t length_s)
{
  SF_INFO        format = {.samplerate = (int)BENCH_RATE_HZ,
                           .channels   = 1,
                           .format     = SF_FORMAT_WAV | SF_FORMAT_PCM_24};
  SNDFILE* const file   = sf_open(path_in(w, "take.wav"), SFM_WRITE, &format);
  bool           ok     = file != NULL;
  for (uint32_t s = 0; ok && s < length_s; s += 2) {
    ok = sf_writef_float(file, bench_input[0], BENCH_FRAMES) == BENCH_FRAMES;
  }
  return file && !sf_close(file) && ok;
}

static bool
write_session(const workshop* w, uint32_t n_tracks, bool has_stems)
{
  FILE* const f = fopen(path_in(w, "bench.session.ini"), "w");
  if (!f) {
    return false;
  }
  for (uint32_t i = 0; i < n_tracks; ++i) {
    fprintf(f,
            "[track %u]\nfile = take.wav\nsetup = %s/%s.ini\nalign = yes\n"
            "gain_db = -20\npan = %d\nroom_db = -14\nplate_db = -20\n",
            i + 1, w->setups, i % 2 ? "lead" : "rhythm",
            (int)(i * 37 % 201) - 100);
  }
  fprintf(f,
          "[send room]\nsetup = %s/room.ini\n[send plate]\nsetup = "
          "%s/plate.ini\n[bus]\nsetup = %s/bus.ini\n"
          "[output]\ntail_s = %g\nstems = %s\n",
          w->setups, w->setups, w->setups, TAIL_S, has_stems ? "yes" : "no");
  return !fclose(f);
}

static double found_bytes; ///< As nftw() has no argument for it

static int
add_size(const char* path, const struct stat* status, int kind, struct FTW* at)
{
  (void)path;
  (void)at;
  found_bytes += kind == FTW_F ? (double)status->st_size : 0.0;
  return 0;
}

/// Returns the number after a key in a line of the report; false if it has none
static bool
find_number(const char* line, const char* key, double* number)
{
  const char* const at = strstr(line, key);
  if (at) {
    *number = strtod(at + strlen(key), NULL);
  }
  return at != NULL;
}

/// Adds the time of all stages, which the report has as a share of real time
static double
plugins_ms(const workshop* w)
{
  FILE* const f        = fopen(path_in(w, "out/report.json"), "r");
  char*       line     = NULL;
  size_t      room     = 0;
  double      length_s = 0.0;
  double      share    = 0.0;
  double      cost     = 0.0;
  bool        is_whole = false; // Of all stages of a lane, not of one
  while (f && getline(&line, &room, f) > 0) {
    is_whole = strstr(line, "\"setup_figures\"") ||
               (is_whole && !strstr(line, "\"stages\""));
    (void)find_number(line, "\"length_s\": ", &length_s);
    if (is_whole && find_number(line, "\"cost_pc\": ", &share)) {
      cost += share;
    }
  }
  free(line);
  if (f) {
    (void)fclose(f);
  }
  return f ? 10.0 * cost * length_s : (double)NAN;
}

static bool
run_session(const workshop* w, session_cost* c)
{
  char session[2048];
  char out[2048];
  (void)snprintf(session, sizeof(session), "%s/bench.session.ini", w->folder);
  (void)snprintf(out, sizeof(out), "%s/out", w->folder);
  const char* const arguments[] = {w->program, "--quiet", "--json",
                                   "--bundle", w->bundle, session,
                                   "-o",       out,       NULL};
  if (!bench_spawn(arguments, &c->cpu_ms, &c->wall_ms, &c->peak_mib)) {
    return false;
  }
  c->plugins_ms = plugins_ms(w);
  found_bytes   = 0.0;
  (void)nftw(out, add_size, 16, FTW_PHYS);
  c->disk_mb = 1e-6 * found_bytes;
  return true;
}

static void
report_point(uint32_t n_tracks, uint32_t length_s, const session_cost* c)
{
  const double track_s = n_tracks * (length_s + TAIL_S);
  char         name[32];
  (void)snprintf(name, sizeof(name), "%u x %u s", n_tracks, length_s);
  report_text("tracks", name);
  report_number("CPU s", 1, 1e-3 * c->cpu_ms);
  report_number("CPU ms/track-s", 2, c->cpu_ms / track_s);
  report_number("over plugins", 2, c->cpu_ms / c->plugins_ms);
  report_number("x real time", 1, (length_s + TAIL_S) * 1e3 / c->wall_ms);
  report_number("peak MiB", 1, c->peak_mib);
  report_number("MiB/track", 2, c->peak_mib / n_tracks);
  report_number("disk MB", 1, c->disk_mb);
  report_end_row();
}

static bool
measure_length(const workshop* w, uint32_t length_s, bool is_long)
{
  bool ok = write_take(w, length_s);
  for (size_t i = 0; ok && i < sizeof(tracks) / sizeof(tracks[0]); ++i) {
    const double track_s = tracks[i] * (length_s + TAIL_S);
    session_cost c       = {0};
    if (track_s > SHORT_TRACK_S && !is_long) {
      continue;
    }
    ok = write_session(w, tracks[i], track_s <= STEMS_TRACK_S) &&
         run_session(w, &c);
    if (ok) {
      report_point(tracks[i], length_s, &c);
    }
  }
  return ok;
}

static int
remove_one(const char*        path,
           const struct stat* status,
           int                kind,
           struct FTW*        at)
{
  (void)status;
  (void)kind;
  (void)at;
  return remove(path);
}

int
main(int argc, char** argv)
{
  bool as_json = false;
  bool is_long = false;
  for (int i = 4; i < argc; ++i) {
    as_json = as_json || !strcmp(argv[i], "--json");
    is_long = is_long || !strcmp(argv[i], "--long");
  }
  if (argc < 4) {
    (void)fprintf(stderr, "usage: sessions PROGRAM BUNDLE_FOLDER SETUP_FOLDER "
                          "[--json] [--long]\n");
    return 2;
  }
  const char* const parent = getenv("TMPDIR");
  workshop w = {.program = argv[1], .bundle = argv[2], .setups = argv[3]};
  (void)snprintf(w.folder, sizeof(w.folder), "%s/dustcap-bench-XXXXXX",
                 parent ? parent : "/tmp");
  if (!mkdtemp(w.folder)) {
    (void)fprintf(stderr, "sessions: cannot make a folder at %s\n", w.folder);
    return 1;
  }
  bench_fill_input();
  report_open(as_json);
  report_section("sessions", "sessions: tracks with two sends, bus, report and "
                             "stems, on all cores");
  bool ok = true;
  for (size_t i = 0; ok && i < sizeof(lengths_s) / sizeof(lengths_s[0]); ++i) {
    ok = measure_length(&w, lengths_s[i], is_long);
  }
  report_close();
  (void)nftw(w.folder, remove_one, 16, FTW_DEPTH | FTW_PHYS);
  if (!ok) {
    (void)fprintf(stderr, "sessions: a session could not be played\n");
  }
  return ok ? 0 : 1;
}
