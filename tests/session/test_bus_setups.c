// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figures in the comments of the bus setups, measured on the bus of the
/// demo: dustcap-session plays its tracks and sends, dustcap-render plays each
/// bus setup on their sum.  Prints all of them.

#include "tests/support/session_check.h"
#include "tests/support/sound_figures.h"
#include "tests/support/take_sound.h"

typedef struct {
  const char* name;
  double      louder_db;       ///< Than the demo's tracks
  double      mean_db, max_db; ///< Gain reduction
  double      change_lu;       ///< Of the loudness
  double      correlation;
  double      mono_db;  ///< Level in mono, as sound_mono_db()
  double      range_lu; ///< Loudness range
} bus_row;

static const bus_row rows[] = {
  {.name        = "bus",
   .louder_db   = 0.0,
   .mean_db     = 1.7,
   .max_db      = 3.3,
   .change_lu   = 0.0,
   .correlation = 0.43,
   .mono_db     = -1.5,
   .range_lu    = 10.5},
  {.name        = "bus",
   .louder_db   = 4.0,
   .mean_db     = 2.6,
   .max_db      = 4.8,
   .change_lu   = -1.3,
   .correlation = 0.43,
   .mono_db     = -1.5,
   .range_lu    = 9.8},
  {.name        = "bus-as-one",
   .louder_db   = 0.0,
   .mean_db     = 3.5,
   .max_db      = 6.3,
   .change_lu   = 0.0,
   .correlation = 0.46,
   .mono_db     = -1.4,
   .range_lu    = 8.5},
  {.name        = "bus-loud-chorus",
   .louder_db   = 0.0,
   .mean_db     = 3.0,
   .max_db      = 6.6,
   .change_lu   = 0.0,
   .correlation = 0.25,
   .mono_db     = -2.0,
   .range_lu    = 7.8},
  {.name        = "bus-loud-chorus",
   .louder_db   = 4.0,
   .mean_db     = 4.8,
   .max_db      = 9.2,
   .change_lu   = -2.4,
   .correlation = 0.23,
   .mono_db     = -2.1,
   .range_lu    = 6.6},
  {.name        = "bus-narrow",
   .louder_db   = 0.0,
   .mean_db     = 3.9,
   .max_db      = 7.9,
   .change_lu   = 0.0,
   .correlation = 0.83,
   .mono_db     = -0.4,
   .range_lu    = 9.6},
  {.name        = "bus-wide",
   .louder_db   = 0.0,
   .mean_db     = 1.8,
   .max_db      = 3.4,
   .change_lu   = 0.0,
   .correlation = 0.22,
   .mono_db     = -2.1,
   .range_lu    = 10.0},
};

static void
link_to(const char* target, const char* name)
{
  assert_int_equal(symlink(target, name), 0);
}

/// The demo's session in a folder of its own, with takes made now
static int
play_demo(void** state)
{
  const int status = enter_folder(state);
  assert_int_equal(mkdir("demo", 0777), 0);
  assert_int_equal(mkdir("out", 0777), 0);
  assert_int_equal(mkdir("out/di", 0777), 0);
  link_to(SETUP_DIR, "demo/setups");
  link_to(SETUP_DIR "/../low-tide.session.ini", "demo/low-tide.session.ini");
  for (take which = 0; which < N_TAKES; ++which) {
    char name[64];
    (void)snprintf(name, sizeof(name), "out/di/%s.wav", take_name(which));
    take_write(which, name);
  }
  const pid_t id = program_start_to(
    SESSION, "demo/low-tide.session.ini -o mix --quiet", "stderr");
  int ended = 0;
  assert_int_equal(waitpid(id, &ended, 0), id);
  if (ended) {
    fail_msg("status %d: %s", ended, read_text("stderr"));
  }
  return status;
}

/// Reads the gain reduction of the leveler off the table on standard output
static void
read_reduction(double* mean_db, double* max_db)
{
  const char* const line  = strstr(read_text("stdout"), "bus-leveler");
  const char* const slash = line ? strchr(line, '/') : NULL;
  assert_non_null(slash);
  const char* mean = slash - 2;
  while (*mean != ' ') {
    --mean;
  }
  *mean_db = strtod(mean, NULL);
  *max_db  = strtod(slash + 1, NULL);
}

static void
play_bus(const bus_row* r, const sound* in)
{
  char line[1024];
  sound_write(in, "in.wav");
  (void)snprintf(line, sizeof(line),
                 "in.wav --setup %s/%s.ini -o out.wav --bits float --tail 0",
                 SETUP_DIR, r->name);
  const int status = render_status(line);
  if (status) {
    fail_msg("%s: status %d: %s", r->name, status, read_text("stderr"));
  }
}

static void
check_bus(const bus_row* r)
{
  sound in       = sound_read("mix/stems/bus-input.wav");
  in.info.format = FLOAT_WAV;
  for (sf_count_t i = 0; i < 2 * in.info.frames; ++i) {
    in.x[i] *= (float)db_to_gain(r->louder_db);
  }
  play_bus(r, &in);
  sound   out = sound_read("out.wav");
  bus_row got = {.change_lu   = sound_lufs(&out) - sound_lufs(&in),
                 .correlation = sound_correlation(&out),
                 .mono_db     = sound_mono_db(&out),
                 .range_lu    = sound_range_lu(&out)};
  read_reduction(&got.mean_db, &got.max_db);
  printf("# %s, %+.0f dB in: reduction %.1f / %.1f dB, %+.1f LU, correlation "
         "%.2f, mono %+.1f dB, range %.1f LU\n",
         r->name, r->louder_db, got.mean_db, got.max_db, got.change_lu,
         got.correlation, got.mono_db, got.range_lu);
  sound_free(&out);
  sound_free(&in);
  figure_near(r->name, "mean_db", got.mean_db, r->mean_db, 0.3);
  figure_near(r->name, "max_db", got.max_db, r->max_db, 0.3);
  figure_near(r->name, "change_lu", got.change_lu, r->change_lu, 0.3);
  figure_near(r->name, "correlation", got.correlation, r->correlation, 0.03);
  figure_near(r->name, "mono_db", got.mono_db, r->mono_db, 0.2);
  figure_near(r->name, "range_lu", got.range_lu, r->range_lu, 0.5);
}

/// What the bus gets, for comparison
static void
bus_input_is_as_the_manual_says(void** state)
{
  (void)state;
  sound        in          = sound_read("mix/stems/bus-input.wav");
  const double correlation = sound_correlation(&in);
  const double mono_db     = sound_mono_db(&in);
  const double range_lu    = sound_range_lu(&in);
  printf("# the demo: correlation %.2f, mono %+.1f dB, range %.1f LU\n",
         correlation, mono_db, range_lu);
  sound_free(&in);
  figure_near("the demo", "correlation", correlation, 0.48, 0.03);
  figure_near("the demo", "mono_db", mono_db, -1.3, 0.2);
  figure_near("the demo", "range_lu", range_lu, 12.2, 0.5);
  assert_int_equal(figures_wrong, 0);
}

/// As loud as the demo's, so that they compare fairly, and as wide, narrow and
/// even as they say
static void
buses_measure_as_their_comments_say(void** state)
{
  (void)state;
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    check_bus(&rows[i]);
  }
  assert_int_equal(figures_wrong, 0);
}

/// No bus is without a row
static void
all_buses_are_measured(void** state)
{
  (void)state;
  DIR* const d = opendir(SETUP_DIR);
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (!strncmp(e->d_name, "bus", 3)) {
      bool is_there = false;
      for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
        is_there = is_there ||
                   (!strncmp(e->d_name, rows[i].name, strlen(rows[i].name)) &&
                    !strcmp(e->d_name + strlen(rows[i].name), ".ini"));
      }
      if (!is_there) {
        fail_msg("%s is not measured", e->d_name);
      }
    }
  }
  (void)closedir(d);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(bus_input_is_as_the_manual_says),
    cmocka_unit_test(buses_measure_as_their_comments_say),
    cmocka_unit_test(all_buses_are_measured),
  };
  return cmocka_run_group_tests_name("bus-setups", tests, play_demo,
                                     leave_tree);
}
