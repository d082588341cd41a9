// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "ears_under.h"

#include "ears_bands.h"
#include "ears_table.h"
#include "presets-demo/render/program/alloc.h"
#include "tests/support/settings.h"
#include "tests/support/under_rows.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_TAKES 4U
#define N_COLUMNS (UNDER_N_SOUNDS + MAX_TAKES)
#define SOUND_S   6.0

// Tones that are on from the beginning to the end: the middle of them
#define TONE_FRAMES 131072U

/// Power below 20 Hz re all
static double
under_db(const ears_sound* s, bool is_tone)
{
  const size_t n    = is_tone ? TONE_FRAMES : s->n;
  const size_t from = is_tone ? s->n - n : 0;
  double       low  = 0.0;
  double       all  = 0.0;
  if (is_tone) {
    double* const power = alloc_new(n / 2 + 1, sizeof(*power));
    ears_spectrum(s->x + from, n, power);
    for (size_t i = 0; i <= n / 2; ++i) {
      const double share = i ? power[i] : 0.5 * power[i];
      low += (double)i * EARS_RATE_HZ / (double)n <= 20.0 ? share : 0.0;
      all += share;
    }
    free(power);
  } else {
    const ears_bands b = ears_bands_of(s->x, n);
    low                = b.below_20_hz;
    all                = b.all;
  }
  return 10.0 * log10(low / all + 1e-20);
}

static bool
take_setting(void* to, const char* symbol, float value)
{
  part_settings* const s       = to;
  const int            control = part_control(s->part, symbol);
  if (control >= 0) {
    s->values[control] = value;
  }
  return control >= 0;
}

/// A stage alone
static bool
settle(const ears_rig* r, const under_row* row, part_settings* s, failure* f)
{
  s->part = catalogue_part(&r->parts, row->stem);
  if (!s->part) {
    return fail_with(f, "no plugin %s", row->stem);
  }
  const part_form* const form = &s->part->forms[0];
  s->values                   = alloc_new(form->n_controls, sizeof(*s->values));
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    s->values[i] = form->controls[i].def;
  }
  const char* const left = settings_apply(row->settings, take_setting, s);
  return !left || fail_with(f, "%s: does not take %s", row->stem, left);
}

static ears_sound
sound_of(int which)
{
  ears_sound s = ears_sound_new((size_t)(SOUND_S * EARS_RATE_HZ));
  for (size_t i = 0; i < s.n; ++i) {
    s.x[i] = (float)under_sound(which, (double)i / EARS_RATE_HZ);
  }
  return s;
}

static void
columns_of(ears_column* columns, const char* const* names, size_t n)
{
  for (size_t i = 0; i < n; ++i) {
    const bool is_take = i >= UNDER_N_SOUNDS;
    columns[i] =
      (ears_column){is_take ? names[i - UNDER_N_SOUNDS] : under_sounds[i], 1};
  }
}

static bool
print_row(const ears_rig*    r,
          const under_row*   row,
          const ears_sound*  sounds,
          size_t             n,
          const ears_column* columns,
          failure*           f)
{
  part_settings s = {NULL, NULL};
  double        values[N_COLUMNS];
  bool          ok = settle(r, row, &s, f);
  for (size_t i = 0; ok && i < n; ++i) {
    ears_sound out = ears_play_stages(r, &s, 1, 0.0, &sounds[i], f);
    ok             = out.x;
    values[i]      = ok ? under_db(&out, i < UNDER_N_SOUNDS) : 0.0;
    ears_sound_free(&out);
  }
  if (ok) {
    (void)printf("%s %s\n", row->stem, row->settings);
    ears_table_row("", columns, n, values, NULL);
    (void)fflush(stdout);
  }
  free(s.values);
  return ok;
}

static bool
print_stages(const ears_rig*    r,
             const ears_sound*  sounds,
             size_t             n,
             const ears_column* columns,
             failure*           f)
{
  double values[N_COLUMNS];
  (void)printf("\nBelow 20 Hz re all (tones <= -60, takes <= -50): each stage "
               "alone, takes behind di-cleanup\n");
  ears_table_head("", columns, n);
  for (size_t i = 0; i < n; ++i) {
    values[i] = under_db(&sounds[i], i < UNDER_N_SOUNDS);
  }
  ears_table_row("what goes in", columns, n, values, NULL);
  bool ok = true;
  for (size_t k = 0; ok && k < UNDER_N_ROWS; ++k) {
    ok = print_row(r, &under_rows[k], sounds, n, columns, f);
  }
  return ok;
}

/// A setup up to each of its stages
static bool
print_setup(const ears_rig*   r,
            ears_setup        which,
            const ears_sound* playing,
            failure*          f)
{
  const setup* const s       = &r->setups[which];
  const double       gain_db = ears_align_db(r, which, playing, f);
  bool               ok      = !isnan(gain_db);
  (void)printf("%-14s", ears_setup_name(which));
  for (uint32_t k = 0; ok && k < s->n_stages; ++k) {
    ears_sound out = ears_play(r, which, k + 1, gain_db, playing, f);
    ok             = out.x;
    if (ok) {
      const char* const stem = s->stages[k].part->stem;
      (void)printf("  %.*s %.1f", (int)strcspn(stem, "-"), stem,
                   under_db(&out, false));
    }
    ears_sound_free(&out);
  }
  (void)printf("\n");
  return ok;
}

bool
ears_print_under(const ears_rig*   r,
                 const ears_sound* takes,
                 const char**      names,
                 size_t            n_takes,
                 failure*          f)
{
  ears_column  columns[N_COLUMNS];
  ears_sound   sounds[N_COLUMNS] = {{NULL, 0}};
  const size_t n = UNDER_N_SOUNDS + (n_takes < MAX_TAKES ? n_takes : MAX_TAKES);
  bool         ok = true;
  columns_of(columns, names, n);
  for (size_t i = 0; ok && i < n; ++i) {
    if (i < UNDER_N_SOUNDS) {
      sounds[i] = sound_of((int)i);
    } else {
      const ears_sound* const playing = &takes[i - UNDER_N_SOUNDS];
      const double gain_db = ears_align_db(r, EARS_RHYTHM, playing, f);
      sounds[i]            = ears_play(r, EARS_RHYTHM, 1, gain_db, playing, f);
      ok                   = sounds[i].x;
    }
  }
  ok = ok && print_stages(r, sounds, n, columns, f);
  for (size_t t = 0; ok && t < n_takes; ++t) {
    (void)printf("\nBelow 20 Hz re all, up to each stage: %s %.1f\n", names[t],
                 under_db(&takes[t], false));
    for (int k = 0; ok && k < EARS_N_SETUPS; ++k) {
      ok = print_setup(r, (ears_setup)k, &takes[t], f);
    }
  }
  for (size_t i = 0; i < n; ++i) {
    ears_sound_free(&sounds[i]);
  }
  return ok;
}
