// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Does a control change the sound, or the level?
///
/// Plays a dry take of the demo at -18 dBFS RMS through the built bundle and
/// prints, as a table for the manual, how much louder or softer each value of
/// a control is than the default: integrated loudness by libebur128 (ITU-R
/// BS.1770), in LU.  Fails if a control that promises to keep the loudness
/// moves it by more than its limit.
///
///   levels BUNDLE_FOLDER

#include "plugins/shell.h"

#include "common/level/gated_level.h"
#include "presets-demo/guitar/take.h"

#include <ebur128.h>
#include <lilv/lilv.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLOCK     64U
#define MAX_PORTS 64
#define N_VALUES  7

/// Which loudness is promised, and how closely
typedef struct {
  const char* stem;
  const char* symbol;
  float       from, to; ///< 0, 0: the whole range
  double      limit_lu;
  const char* toggle; ///< At 1 meanwhile; NULL: none
  const char* note;   ///< What that does
} row;

static const row rows[] = {
  {"input-compressor", "threshold_db", -30, 0, 1.0, NULL, ""},
  {"input-compressor", "ratio", 2, 8, 1.0, NULL, ""},
  {"input-compressor", "blend_pc", 0, 0, 1.5, NULL, ""},
  {"tube-stage", "drive_db", 0, 0, 1.5, NULL, ""},
  {"tube-stage", "blend_pc", 0, 0, 1.5, NULL, ""},
  {"thickening-echo", "drive_db", 0, 0, 1.5, NULL, ""},
  {"thickening-echo", "drive_db", 0, 0, 1.5, "dry", " (dry muted)"},
  {"thickening-echo", "lift_db", 0, 0, 1.5, NULL, ""},
  {"speaker-breakup", "drive_db", 0, 0, 1.5, NULL, ""},
  {"speaker-breakup", "breakup_db", 0, 0, 1.5, NULL, ""},
  {"speaker-breakup", "mix_pc", 0, 0, 1.5, NULL, ""},
  {"speaker-breakup", "feedback_pc", 0, 0, 1.5, NULL, ""},
  {"proximity-lift", "lift_db", 0, 0, 1.5, NULL, ""},
  {"bus-leveler", "threshold_db", -30, 0, 1.5, NULL, ""},
  {"bus-leveler", "blend_pc", 0, 0, 1.5, NULL, ""},
};

static float*   dry;
static float*   wet;
static uint32_t n_frames;

static void
fail(const char* what)
{
  fprintf(stderr, "levels: %s\n", what);
  exit(1);
}

/// Reads the dry take, at the level that stages expect
static void
load_take(void)
{
  n_frames         = take_frames();
  int32_t*     raw = calloc(n_frames, sizeof(int32_t));
  gated_level* l   = calloc(1, sizeof(gated_level));
  dry              = calloc(n_frames, sizeof(float));
  wet              = calloc(n_frames, sizeof(float));
  if (!raw || !l || !dry || !wet || !take_render(TAKE_RHYTHM_LEFT, raw)) {
    fail("out of memory");
  }

  const uint32_t hop = TAKE_RATE_HZ / 10;
  gated_level_reset(l, -60.0);
  for (uint32_t at = 0; at + hop <= n_frames; at += hop) {
    double sum = 0.0;
    for (uint32_t i = 0; i < hop; ++i) {
      const double x = raw[at + i] / 8388608.0;
      sum += x * x;
    }
    (void)gated_level_push(l, sum / hop);
  }
  const double gain = db_to_gain(ALIGN_RMS_DBFS - gated_level_db(l));
  for (uint32_t i = 0; i < n_frames; ++i) {
    dry[i] = (float)(gain * raw[i] / 8388608.0);
  }
  free(l);
  free(raw);
}

static double
loudness_lufs(const float* x)
{
  double         lufs = 0.0;
  ebur128_state* e    = ebur128_init(1, TAKE_RATE_HZ, EBUR128_MODE_I);
  if (!e || ebur128_set_channel(e, 0, EBUR128_LEFT) ||
      ebur128_add_frames_float(e, x, n_frames) ||
      ebur128_loudness_global(e, &lufs)) {
    fail("libebur128 failed");
  }
  ebur128_destroy(&e);
  return lufs;
}

static bool
is_port(const plugin* p, uint32_t i, const char* symbol)
{
  return symbol && !strcmp(shell_param(p, i)->symbol, symbol);
}

/// Returns the loudness of the take through a plugin with one control moved,
/// and perhaps another at 1
static double
play(const LilvPlugin* lilv,
     const plugin*     p,
     const char*       symbol,
     float             value,
     const char*       toggle)
{
  const plugin_form form = shell_form(p, 0);
  const uint32_t    n_in = shell_param_count(p);
  const uint32_t    n    = n_in + shell_meter_count(p);
  float             control[MAX_PORTS];
  float             other[BLOCK];
  LilvInstance*     i = lilv_plugin_instantiate(lilv, TAKE_RATE_HZ, NULL);
  if (!i) {
    fail("a plugin does not load");
  }
  for (uint32_t j = 0; j < n; ++j) {
    control[j] = j < n_in ? shell_param(p, j)->def : 0.0F;
    if (j < n_in && is_port(p, j, symbol)) {
      control[j] = value;
    } else if (j < n_in && is_port(p, j, toggle)) {
      control[j] = 1.0F;
    }
    lilv_instance_connect_port(i, j, &control[j]);
  }
  lilv_instance_activate(i);
  for (uint32_t at = 0; at + BLOCK <= n_frames; at += BLOCK) {
    for (uint32_t k = 0; k < form.n_in; ++k) {
      lilv_instance_connect_port(i, n + k, dry + at);
    }
    for (uint32_t k = 0; k < form.n_out; ++k) {
      lilv_instance_connect_port(i, n + form.n_in + k, k ? other : wet + at);
    }
    lilv_instance_run(i, BLOCK);
  }
  lilv_instance_deactivate(i);
  lilv_instance_free(i);
  return loudness_lufs(wet);
}

static const plugin*
plugin_of(const char* stem)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)) && strcmp(p->stem, stem) != 0;
       ++n) {
  }
  return p;
}

static const param_info*
param_of(const plugin* p, const char* symbol)
{
  const int port = shell_port(p, symbol);
  if (port < 0 || port >= (int)shell_shown_count(p)) {
    fprintf(stderr, "levels: %s has no %s\n", p->stem, symbol);
    exit(1);
  }
  return shell_param(p, (uint32_t)port);
}

/// Prints one row of the table; returns the largest difference
static double
print_row(const LilvPlugin* lilv, const plugin* p, const row* r)
{
  const param_info* const c     = param_of(p, r->symbol);
  const bool              whole = r->from == r->to;
  const float             from  = whole ? c->min : r->from;
  const float             to    = whole ? c->max : r->to;
  const double            home  = play(lilv, p, c->symbol, c->def, r->toggle);
  double                  worst = 0.0;
  printf("| %s | `%s`%s |", p->name, c->symbol, r->note);
  for (int i = 0; i < N_VALUES; ++i) {
    const float  share = (float)i / (N_VALUES - 1);
    const float  value = c->taper == TAPER_LOG ? from * powf(to / from, share)
                                               : from + share * (to - from);
    const double lu    = play(lilv, p, c->symbol, value, r->toggle) - home;
    printf(" %.3g: %+.1f |", (double)value, lu);
    fflush(stdout);
    worst = fabs(lu) > worst ? fabs(lu) : worst;
  }
  printf(" %.1f |", worst);
  return worst;
}

int
main(int argc, char** argv)
{
  if (argc != 2) {
    fprintf(stderr, "usage: levels BUNDLE_FOLDER\n");
    return 2;
  }
  char path[4096];
  (void)snprintf(path, sizeof(path), "%s/", argv[1]);
  LilvWorld* const world = lilv_world_new();
  LilvNode* const  dir   = lilv_new_file_uri(world, NULL, path);
  lilv_world_load_bundle(world, dir);
  load_take();

  int broken = 0;
  printf("| Plugin | Control | value: LU re default | | | | | | | largest | "
         "limit |\n|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (size_t r = 0; r < sizeof(rows) / sizeof(rows[0]); ++r) {
    const plugin* const p = plugin_of(rows[r].stem);
    if (!p) {
      fprintf(stderr, "levels: no plugin %s\n", rows[r].stem);
      return 1;
    }
    LilvNode* const         uri = lilv_new_uri(world, shell_form(p, 0).uri);
    const LilvPlugin* const lilv =
      lilv_plugins_get_by_uri(lilv_world_get_all_plugins(world), uri);
    const double worst = print_row(lilv, p, &rows[r]);
    lilv_node_free(uri);
    printf(" %.1f%s |\n", rows[r].limit_lu,
           worst > rows[r].limit_lu ? " BROKEN" : "");
    broken += worst > rows[r].limit_lu;
  }
  lilv_node_free(dir);
  lilv_world_free(world);
  free(dry);
  free(wet);
  return broken > 0;
}
