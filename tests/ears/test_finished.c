// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the finished sound of the demo's takes must be, by the measures of
/// ./dev ears.  The ranges are those of recorded distorted guitars (third
/// octaves re those around 1 kHz); -50 dB below 20 Hz is our own promise.

#include "tests/support/check.h"

#include "ears_bands.h"
#include "ears_rig.h"

static ears_rig rig;

static int
open_rig(void** state)
{
  (void)state;
  failure f = {""};
  return ears_rig_open(&rig, BUNDLE_DIR, SETUP_DIR, &f) ? 0 : 1;
}

static int
close_rig(void** state)
{
  (void)state;
  ears_rig_close(&rig);
  return 0;
}

static ears_bands
finished(ears_setup which, const ears_sound* in)
{
  failure      f       = {""};
  const double gain_db = ears_align_db(&rig, which, in, &f);
  ears_sound   out = ears_play(&rig, which, EARS_ALL_STAGES, gain_db, in, &f);
  if (!out.x) {
    fail_msg("%s", f.text);
  }
  const ears_bands b = ears_bands_of(out.x, out.n);
  ears_sound_free(&out);
  return b;
}

static void
within(const char* what, double db, double least, double most)
{
  print_message("# %s: %.1f dB\n", what, db);
  if (!(db >= least && db <= most)) {
    fail_msg("%s: %.1f dB, want %g to %g", what, db, least, most);
  }
}

/// No setup puts out more below 20 Hz than -50 dB re all
static void
nothing_below_the_hearing(void** state)
{
  (void)state;
  for (take t = 0; t < N_TAKES; ++t) {
    ears_sound in = ears_sound_take(t);
    for (int k = 0; k < EARS_N_SETUPS; ++k) {
      const ears_bands b = finished((ears_setup)k, &in);
      within(ears_setup_name((ears_setup)k),
             10.0 * log10(b.below_20_hz / b.all + 1e-30), -400.0, -50.0);
    }
    ears_sound_free(&in);
  }
}

static void
rhythm_is_as_recorded_ones_are(void** state)
{
  (void)state;
  ears_sound       in = ears_sound_take(TAKE_RHYTHM_LEFT);
  const ears_bands r  = finished(EARS_RHYTHM, &in);
  within("rhythm, 125 Hz", ears_third_re_middle_db(&r, 125.0), -15.0, 0.0);
  within("rhythm, 8 kHz", ears_third_re_middle_db(&r, 8000.0), -40.0, -21.0);
  const ears_bands h = finished(EARS_HEAVY, &in);
  within("heavy, 125 Hz", ears_third_re_middle_db(&h, 125.0), -15.0, 0.0);
  within("heavy, 8 kHz", ears_third_re_middle_db(&h, 8000.0), -35.0, -25.0);
  within("heavy, 10 kHz", ears_third_re_middle_db(&h, 10000.0), -45.0, -35.0);
  within("heavy, 4 to 8 kHz an octave", ears_slope_db(&h), -27.0, -18.0);
  ears_sound_free(&in);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(nothing_below_the_hearing),
    cmocka_unit_test(rhythm_is_as_recorded_ones_are),
  };
  return cmocka_run_group_tests_name("finished", tests, open_rig, close_rig);
}
