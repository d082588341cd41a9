// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Figures of a sound as a mix engineer reads them, by libebur128 and by
/// definition

#ifndef TESTS_SUPPORT_SOUND_FIGURES_H
#define TESTS_SUPPORT_SOUND_FIGURES_H

#include "render_check.h"

#include <ebur128.h>

#include <math.h>

/// Figures of setups that are not as their comments say
static int figures_wrong;

/// Compares a figure with what is written about it.  All are measured before a
/// test fails, so that one run shows what to write.
static inline void
figure_near(const char* setup,
            const char* what,
            double      got,
            double      want,
            double      tolerance)
{
  if (!(fabs(got - want) <= tolerance)) {
    print_error("%s: %s %.3g, want %.3g within %.2g\n", setup, what, got, want,
                tolerance);
    ++figures_wrong;
  }
}

/// Returns the integrated loudness (ITU-R BS.1770) in LUFS; mono counts as
/// heard from two loudspeakers
static inline double
sound_lufs(const sound* s)
{
  ebur128_state* e =
    ebur128_init((unsigned)s->info.channels, (unsigned long)s->info.samplerate,
                 EBUR128_MODE_I);
  double lufs = 0.0;
  assert_non_null(e);
  if (s->info.channels == 1) {
    assert_int_equal(ebur128_set_channel(e, 0, EBUR128_DUAL_MONO), 0);
  }
  assert_int_equal(ebur128_add_frames_float(e, s->x, (size_t)s->info.frames),
                   0);
  assert_int_equal(ebur128_loudness_global(e, &lufs), 0);
  ebur128_destroy(&e);
  return lufs;
}

/// Returns the loudness range (EBU Tech 3342) of a stereo sound
static inline double
sound_range_lu(const sound* s)
{
  ebur128_state* e =
    ebur128_init(2, (unsigned long)s->info.samplerate, EBUR128_MODE_LRA);
  double lu = 0.0;
  assert_non_null(e);
  assert_int_equal(s->info.channels, 2);
  assert_int_equal(ebur128_add_frames_float(e, s->x, (size_t)s->info.frames),
                   0);
  assert_int_equal(ebur128_loudness_range(e, &lu), 0);
  ebur128_destroy(&e);
  return lu;
}

/// Returns the level of (left + right) / 2 relative to the mean level of the
/// sides, in dB, as the report of a session does: 0 if they are equal, -3 if
/// they are unrelated
static inline double
sound_mono_db(const sound* s)
{
  double sides = 1e-30;
  double mono  = 1e-30;
  for (sf_count_t i = 0; i < s->info.frames; ++i) {
    const double l = (double)s->x[2 * i];
    const double r = (double)s->x[2 * i + 1];
    sides += 0.5 * (l * l + r * r);
    mono += 0.25 * (l + r) * (l + r);
  }
  return 10.0 * log10(mono / sides);
}

/// Returns the correlation of left and right: 1 for equal sides, 0 for
/// unrelated
static inline double
sound_correlation(const sound* s)
{
  double ll = 1e-30;
  double rr = 1e-30;
  double lr = 0.0;
  for (sf_count_t i = 0; i < s->info.frames; ++i) {
    const double l = (double)s->x[2 * i];
    const double r = (double)s->x[2 * i + 1];
    ll += l * l;
    rr += r * r;
    lr += l * r;
  }
  return lr / sqrt(ll * rr);
}

#endif // TESTS_SUPPORT_SOUND_FIGURES_H
