// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The follower on ideal envelopes.  Attack and idle release have closed forms:
/// an attack from 0 is a one-pole, 1 - exp(-t/tA); a release is two poles in
/// series, (tR exp(-t/tR) - tA exp(-t/tA)) / (tR - tA).

#include "tests/support/check.h"

#include "common/dynamics/follower.h"

#define ATTACK_S  0.010
#define RELEASE_S 0.200

typedef struct {
  follower f;
  double   rate_hz, attack_share, release_share;
} rig;

static rig
rig_new(double rate_hz, double attack_s, double release_s)
{
  return (rig){.rate_hz       = rate_hz,
               .attack_share  = one_pole_share(attack_s, rate_hz),
               .release_share = one_pole_share(release_s, rate_hz)};
}

/// Seconds until the output, fed with `x`, has passed `level`
static double
time_to(rig* r, float x, double level)
{
  const bool up = r->f.y < level;
  uint32_t   n  = 0;
  double     y  = r->f.y;
  double     last;
  do {
    last = y;
    y    = (double)follower_next(&r->f, x, r->attack_share, r->release_share);
    ++n;
  } while (up ? y < level : y > level);
  return (n - 1 + (level - last) / (y - last)) / r->rate_hz;
}

static void
settle(rig* r, float x, double s)
{
  for (uint32_t i = 0; i < s * r->rate_hz; ++i) {
    (void)follower_next(&r->f, x, r->attack_share, r->release_share);
  }
}

static const double rates[] = {8000, 44100, 48000, 96000, 192000, 384000};
enum { N_RATES = sizeof(rates) / sizeof(rates[0]) };

static void
test_attack(void** state)
{
  (void)state;

  for (uint32_t i = 0; i < N_RATES; ++i) {
    const double frame = 1.0 / rates[i];
    for (uint32_t tenths = 1; tenths < 10; ++tenths) {
      rig          r     = rig_new(rates[i], ATTACK_S, RELEASE_S);
      const double share = 0.1 * tenths;
      const double want  = -ATTACK_S * log1p(-share);
      assert_near(time_to(&r, 8.0F, 8.0 * share), want, 2.0 * frame);
    }
  }
}

/// Release of the two poles in series, from 1 at rest
static double
release_form(double t)
{
  return (RELEASE_S * exp(-t / RELEASE_S) - ATTACK_S * exp(-t / ATTACK_S)) /
         (RELEASE_S - ATTACK_S);
}

static void
test_release_curve(void** state)
{
  (void)state;

  for (uint32_t i = 0; i < N_RATES; ++i) {
    rig r = rig_new(rates[i], ATTACK_S, RELEASE_S);
    settle(&r, 8.0F, 1.0);
    for (uint32_t n = 1; n < rates[i]; ++n) {
      const float y =
        follower_next(&r.f, 0.0F, r.attack_share, r.release_share);
      // The discrete poles differ from the continuous pair by about a frame
      assert_near((double)y, 8.0 * release_form(n / rates[i]),
                  8.0 / (RELEASE_S * rates[i]));
    }
  }
}

static void
test_release_times(void** state)
{
  (void)state;

  // By the closed form: half, 63.2 % and 90 % of the way
  rig r = rig_new(48000.0, ATTACK_S, RELEASE_S);
  settle(&r, 8.0F, 1.0);
  rig s = r;
  rig t = r;
  assert_near(1e3 * time_to(&r, 0.0F, 4.0), 148.9, 0.1);
  assert_near(1e3 * time_to(&s, 0.0F, 8.0 * exp(-1.0)), 210.2, 0.1);
  assert_near(1e3 * time_to(&t, 0.0F, 0.8), 470.8, 0.1);
}

static void
test_release_to_a_level(void** state)
{
  (void)state;

  // To another level than 0 the times are the same: no break in the slope
  rig r = rig_new(48000.0, ATTACK_S, RELEASE_S);
  settle(&r, 8.0F, 1.0);
  rig s = r;
  assert_near(1e3 * time_to(&r, 4.0F, 4.0 + 4.0 * exp(-1.0)), 210.2, 0.1);
  assert_near(1e3 * time_to(&s, 4.0F, 4.4), 470.8, 0.1);
}

static void
test_slow_release_at_a_high_rate(void** state)
{
  (void)state;

  // 2 s at 384 kHz: one step is a millionth of the way
  rig r = rig_new(384000.0, 1e-4, 2.0);
  settle(&r, 8.0F, 0.01);
  assert_near(time_to(&r, 0.0F, 8.0 * exp(-1.0)), 2.0001, 0.0002);
}

static void
test_holds_peaks_of_a_rectified_sine(void** state)
{
  (void)state;

  // |sin| at 100 Hz: between two peaks the holder falls by less than the share
  // of the release in half a period, 5/200 ms
  rig    r   = rig_new(48000.0, ATTACK_S, RELEASE_S);
  double low = 1.0;
  for (uint32_t i = 0; i < 48000; ++i) {
    const float x = (float)fabs(sin(2.0 * DSP_PI * 100.0 * i / 48000.0));
    const float y = follower_next(&r.f, x, r.attack_share, r.release_share);
    assert_true(y <= 1.0F);
    if (i > 24000) {
      low = (double)y < low ? (double)y : low;
    }
  }
  assert_true(low > 1.0 - 0.005 / RELEASE_S);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_attack),
    cmocka_unit_test(test_release_curve),
    cmocka_unit_test(test_release_times),
    cmocka_unit_test(test_release_to_a_level),
    cmocka_unit_test(test_slow_release_at_a_high_rate),
    cmocka_unit_test(test_holds_peaks_of_a_rectified_sine),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
