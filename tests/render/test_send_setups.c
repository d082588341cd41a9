// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figures in the comments of the plates and rooms, measured on what
/// dustcap-render writes.  Prints all of them.

#include "tests/support/decay.h"
#include "tests/support/sound_figures.h"
#include "tests/support/take_sound.h"

#include <math.h>

#define RESPONSE_S 6
#define TAIL_S     1
#define EARLY_MS   30 ///< Fusion with the direct sound (common practice)

typedef struct {
  const char* name;
  const char* track;    ///< Setup of the track that it is made for
  double      t30_s[3]; ///< Octaves at 250, 1000, 4000 Hz
  double      early;    ///< Share of the energy in the first EARLY_MS
  double      mono_db;  ///< Level in mono, as sound_mono_db()
} send_row;

static const send_row rows[] = {
  {.name    = "plate",
   .track   = "lead",
   .t30_s   = {1.8, 1.8, 1.3},
   .early   = 0.25,
   .mono_db = -3.0},
  {.name    = "plate-dark",
   .track   = "clean-double",
   .t30_s   = {2.5, 2.4, 1.2},
   .early   = 0.2,
   .mono_db = -3.1},
  {.name    = "plate-light",
   .track   = "lead",
   .t30_s   = {1.8, 1.8, 1.3},
   .early   = 0.27,
   .mono_db = -3.4},
  {.name    = "plate-long",
   .track   = "solo",
   .t30_s   = {3.4, 3.5, 2.0},
   .early   = 0.16,
   .mono_db = -3.1},
  {.name    = "plate-short",
   .track   = "rhythm",
   .t30_s   = {0.62, 0.72, 0.64},
   .early   = 0.44,
   .mono_db = -2.9},
  {.name    = "room",
   .track   = "rhythm",
   .t30_s   = {0.36, 0.26, 0.25},
   .early   = 0.88,
   .mono_db = -1.5},
  {.name    = "room-control",
   .track   = "rhythm",
   .t30_s   = {0.2, 0.18, 0.18},
   .early   = 0.9,
   .mono_db = -2.1},
  {.name    = "room-live",
   .track   = "rhythm",
   .t30_s   = {1.1, 1.2, 0.9},
   .early   = 0.3,
   .mono_db = -2.8},
  {.name    = "room-near",
   .track   = "rhythm",
   .t30_s   = {0.37, 0.25, 0.24},
   .early   = 0.96,
   .mono_db = -2.0},
  {.name    = "room-treated",
   .track   = "rhythm",
   .t30_s   = {0.45, 0.33, 0.29},
   .early   = 0.75,
   .mono_db = -2.4},
};

static void
render(const char* in, const char* setup, const char* out, int tail_s)
{
  char line[1024];
  (void)snprintf(line, sizeof(line),
                 "%s.wav --setup %s/%s.ini -o %s.wav --bits float --tail %d",
                 in, SETUP_DIR, setup, out, tail_s);
  const int status = render_status(line);
  if (status) {
    fail_msg("%s: status %d: %s", setup, status, read_text("stderr"));
  }
}

/// T30 of both channels together in an octave
static double
t30_s(const sound* s, double f_hz)
{
  const uint32_t n      = (uint32_t)s->info.frames;
  float* const   x      = malloc(n * sizeof(*x));
  double* const  y      = malloc(n * sizeof(*y));
  double* const  energy = calloc(n, sizeof(*energy));
  assert_true(x && y && energy);
  for (uint32_t k = 0; k < 2; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      x[i] = s->x[2 * i + k];
    }
    octave(x, y, n, f_hz, RATE_HZ);
    for (uint32_t i = 0; i < n; ++i) {
      energy[i] += y[i] * y[i];
    }
  }
  const double t = decay_time_s(energy, n, 1.0 / RATE_HZ, -5.0, -35.0);
  free(energy);
  free(y);
  free(x);
  return t;
}

/// Share of the energy in the first EARLY_MS after its first frame
static double
early_share(const sound* s)
{
  sf_count_t first = 0;
  double     all   = 0.0;
  double     early = 0.0;
  while (fabsf(s->x[2 * first]) + fabsf(s->x[2 * first + 1]) < 1e-6F) {
    assert_true(++first < s->info.frames);
  }
  for (sf_count_t i = first; i < s->info.frames; ++i) {
    const double l = (double)s->x[2 * i];
    const double r = (double)s->x[2 * i + 1];
    all += l * l + r * r;
    early += i - first < EARLY_MS * RATE_HZ / 1000 ? l * l + r * r : 0.0;
  }
  return early / all;
}

/// The response to an impulse.  5 % of reverberation time and 0.05 of a share
/// of energy are what one can just hear (ISO 3382-1:2009, table A.1); the
/// comments are rounded to less.
static void
check_response(const send_row* r)
{
  render("impulse", r->name, "response", RESPONSE_S);
  sound        out   = sound_read("response.wav");
  const double early = early_share(&out);
  printf("# %s:\n#  ", r->name);
  double t[3];
  for (int i = 0; i < 3; ++i) {
    t[i] = t30_s(&out, 250.0 * (1 << (2 * i)));
    printf(" %.2f s at %d Hz,", t[i], 250 << (2 * i));
  }
  printf(" %.0f %% of the energy in %d ms\n", 100.0 * early, EARLY_MS);
  sound_free(&out);
  for (int i = 0; i < 3; ++i) {
    figure_near(r->name, "T30", t[i], r->t30_s[i], 0.05 * r->t30_s[i]);
  }
  figure_near(r->name, "early", early, r->early, 0.05);
}

/// Sends keep their levels when they change their setup: each is as loud on the
/// track that it is made for as the demo's plate or room.  A guitar of another
/// brightness moves the difference by up to 1 LU.
static void
check_wet(const send_row* r)
{
  const char* const same_as = strncmp(r->name, "plate", 5) ? "room" : "plate";
  double            re_same = 0.0;
  render(r->track, r->name, "wet", TAIL_S);
  sound wet = sound_read("wet.wav");
  if (strcmp(r->name, same_as) != 0) {
    render(r->track, same_as, "same", TAIL_S);
    sound same = sound_read("same.wav");
    re_same    = sound_lufs(&wet) - sound_lufs(&same);
    sound_free(&same);
  }
  const double mono_db = sound_mono_db(&wet);
  printf("#   on %s: %+.1f LU re %s.ini, correlation %.2f, mono %+.1f dB\n",
         r->track, re_same, same_as, sound_correlation(&wet), mono_db);
  sound_free(&wet);
  figure_near(r->name, "loudness", re_same, 0.0, 0.5);
  figure_near(r->name, "mono_db", mono_db, r->mono_db, 0.3);
}

static void
sends_measure_as_their_comments_say(void** state)
{
  (void)state;
  sound impulse = sound_new(FLOAT_WAV, RATE_HZ, 1, 1);
  impulse.x[0]  = 1.0F;
  sound_write(&impulse, "impulse.wav");
  sound_free(&impulse);
  take_write(TAKE_LEAD, "take-lead.wav");
  take_write(TAKE_RHYTHM_LEFT, "take-rhythm.wav");
  render("take-lead", "lead", "lead", 0);
  render("take-lead", "solo", "solo", 0);
  render("take-rhythm", "rhythm", "rhythm", 0);
  render("take-rhythm", "clean-double", "clean-double", 0);
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    check_response(&rows[i]);
    check_wet(&rows[i]);
  }
  assert_int_equal(figures_wrong, 0);
}

/// No send is without a row
static void
all_sends_are_measured(void** state)
{
  (void)state;
  DIR* const d = opendir(SETUP_DIR);
  size_t     n = 0;
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    n += !strncmp(e->d_name, "plate", 5) || !strncmp(e->d_name, "room", 4);
  }
  (void)closedir(d);
  assert_int_equal(n, sizeof(rows) / sizeof(rows[0]));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(sends_measure_as_their_comments_say),
    cmocka_unit_test(all_sends_are_measured),
  };
  return cmocka_run_group_tests_name("send-setups", tests, enter_folder,
                                     leave_folder);
}
