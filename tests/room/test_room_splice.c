// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// First reflections and reverberation of a room that decays alike at all
/// frequencies: each by itself, and that one continues the other

#include "tests/support/decay.h"

#include "common/room/room_early.h"
#include "common/room/room_late.h"

#include <string.h>

#define RATE_HZ 48000.0
#define C_M_S   343.0

enum { N = 48000 };

static room_early early;
static room_late  late;
static tap_line   past[2];
static float      lines[2][16384 + CONTROL_FRAMES];

/// Responses by microphone to an impulse of one amplifier
static float early_out[2][N], late_out[2][N];

static const decay_law lossless = {INFINITY, INFINITY, INFINITY, 100, 2000};

static void
respond(const decay_law* law, room_place place, uint32_t source)
{
  const room_lengths lengths = {place.volume_m3, 1.0};
  const room_layout  layout =
    room_layout_of(place.volume_m3, place.distance_m, place.spacing_m);
  room_early_init(&early, RATE_HZ);
  room_early_set(&early, place);
  room_early_reset(&early, law);
  room_late_init(&late, RATE_HZ);
  room_late_set(&late, lengths,
                room_tail_delay_s(lengths) - layout.distance_m / C_M_S);
  room_late_set_spacing(&late, place.spacing_m);
  room_late_reset(&late, law);
  for (uint32_t k = 0; k < 2; ++k) {
    tap_line_init(&past[k], lines[k], 16384);
    tap_line_reset(&past[k]);
  }
  for (uint32_t at = 0; at < N; at += CONTROL_FRAMES) {
    const float  silence[CONTROL_FRAMES] = {0};
    const float  impulse[CONTROL_FRAMES] = {1.0F};
    float* const to_early[] = {early_out[0] + at, early_out[1] + at};
    float* const to_late[]  = {late_out[0] + at, late_out[1] + at};
    for (uint32_t k = 0; k < 2; ++k) {
      const bool now = at == 0 && k == source;
      tap_line_push(&past[k], now ? impulse : silence, CONTROL_FRAMES);
    }
    room_early_process(&early, past, to_early, CONTROL_FRAMES);
    room_late_process(&late, past, to_late, CONTROL_FRAMES);
    for (uint32_t i = 0; i < CONTROL_FRAMES; ++i) {
      late_out[0][at + i] *= (float)layout.distance_m;
      late_out[1][at + i] *= (float)layout.distance_m;
    }
  }
}

static double
distance(point_m a, point_m b)
{
  const double x = a.x - b.x;
  const double y = a.y - b.y;
  const double z = a.z - b.z;
  return sqrt(x * x + y * y + z * z);
}

static const room_place place = {ROOM_VOLUME_M3, 1.5, 0.8, 0.0};

static void
test_first_reflections_are_images(void** state)
{
  (void)state;
  // Without losses: sqrt(1/2) d / r at (r - d) / c, for the six mirror points
  // of first order (Allen, Berkley 1979) that come before the reverberation
  // begins
  const room_layout r       = room_layout_of(ROOM_VOLUME_M3, 1.5, 0.8);
  uint32_t          checked = 0;
  for (uint32_t s = 0; s < 2; ++s) {
    respond(&lossless, place, s);
    for (uint32_t m = 0; m < 2; ++m) {
      const point_m p         = r.source[s];
      const point_m mirrors[] = {
        {-p.x, p.y, p.z}, {2 * r.size.x - p.x, p.y, p.z},
        {p.x, -p.y, p.z}, {p.x, 2 * r.size.y - p.y, p.z},
        {p.x, p.y, -p.z}, {p.x, p.y, 2 * r.size.z - p.z}};
      for (uint32_t i = 0; i < 6; ++i) {
        const double path_m = distance(mirrors[i], r.microphone[m]);
        if (path_m / C_M_S < room_mixing_s(ROOM_VOLUME_M3) - 0.010) {
          const double   at = (path_m - r.distance_m) / C_M_S * RATE_HZ;
          const uint32_t t  = (uint32_t)(at + 0.5);
          assert_near((double)early_out[m][t],
                      sqrt(0.5) * r.distance_m / path_m, 1e-4);
          ++checked;
        }
      }
    }
  }
  assert_true(checked >= 12);
}

static void
test_largest_room_has_memory(void** state)
{
  (void)state;
  const room_lengths largest = {400.0, 1.5};
  room_late_init(&late, DSP_MAX_RATE_HZ);
  room_late_set(&late, largest, 0.0);
  room_late_set_spacing(&late, 1.0);
  room_late_reset(&late, &lossless);
  assert_true(late.tail[0].used <= ROOM_LATE_FRAMES);
  assert_true(late.tail[0].used > ROOM_LATE_FRAMES * 9 / 10);
}

static void
test_larger_rooms_are_held(void** state)
{
  (void)state;
  // The limits are not below the largest volume of the control, 400 m^3
  assert_true(100.0 * room_scale(400.0) <= ROOM_MAX_SCALE_PC);
  assert_true(1e3 * room_mixing_s(400.0) <= ROOM_MAX_MIXING_MS);

  const room_lengths beyond = {40000.0, 4.0};
  room_late_init(&late, DSP_MAX_RATE_HZ);
  room_late_set(&late, beyond, 10.0);
  room_late_set_spacing(&late, 1.0);
  room_late_reset(&late, &lossless);
  assert_true(late.tail[0].used <= ROOM_LATE_FRAMES);
  assert_true(late.delay.to == ROOM_PAST_FRAMES - CONTROL_FRAMES);
}

static void
test_smallest_room_at_the_lowest_rate(void** state)
{
  (void)state;
  // Lines stay long enough for a block, and mutually prime
  const room_lengths smallest = {20.0, 1.0};
  room_late_init(&late, DSP_MIN_RATE_HZ);
  room_late_set(&late, smallest, 0.0);
  room_late_set_spacing(&late, 1.0);
  room_late_reset(&late, &lossless);
  for (uint32_t i = 0; i < FDN_LINES; ++i) {
    const uint32_t length = late.tail[0].net.length[i];
    assert_true(length >= FDN_MIN_FRAMES && fdn_prime_from(length) == length);
    assert_true(i == 0 || length > late.tail[0].net.length[i - 1]);
  }
}

/// Energy of all four responses, per frame, of a room that decays in 0.31 s
static void
energy_of_the_room(double* energy)
{
  const decay_law law = {0.31, 0.31, 0.31, 100.0, 2000.0};
  memset(energy, 0, N * sizeof(double));
  for (uint32_t s = 0; s < 2; ++s) {
    respond(&law, place, s);
    for (uint32_t m = 0; m < 2; ++m) {
      for (uint32_t t = 0; t < N; ++t) {
        const double x = (double)early_out[m][t] + (double)late_out[m][t];
        energy[t] += x * x;
      }
    }
  }
}

static void
test_energy_continues(void** state)
{
  (void)state;
  // Kuttruff: images arrive at 4 pi c^3 t^2 / V, with (d / r)^2 each against a
  // direct sound of 1: 4 pi d^2 c / V exp(-13.8 t / T) per second after the
  // sound left.  Two microphones hear it; the two sources make one.
  static double       energy[N];
  static const double edges_ms[] = {15, 25, 35, 45, 60, 80, 100, 130, 170};
  energy_of_the_room(energy);
  const double direct_s = 1.5 / C_M_S;
  for (uint32_t w = 0; w < 8; ++w) {
    double got  = 0.0;
    double want = 0.0;
    for (uint32_t t = 0; t < N; ++t) {
      const double s = t / RATE_HZ + direct_s;
      if (s >= 1e-3 * edges_ms[w] && s < 1e-3 * edges_ms[w + 1]) {
        got += energy[t] / 2.0;
        want += 4.0 * DSP_PI * 1.5 * 1.5 * C_M_S / ROOM_VOLUME_M3 *
                exp(-2.0 * DECAY_NEPERS * s / 0.31) / RATE_HZ;
      }
    }
    const double db = 10.0 * log10(got / want);
    print_message("# %3.0f to %3.0f ms: %+.2f dB\n", edges_ms[w],
                  edges_ms[w + 1], db);
    assert_near(db, 0.0, 1.5);
  }
}

static void
test_decay_is_one_slope(void** state)
{
  (void)state;
  static double energy[N], copy[N];
  energy_of_the_room(energy);
  memcpy(copy, energy, sizeof(copy));
  assert_near(decay_time_s(copy, N, 1.0 / RATE_HZ, -5.0, -35.0), 0.31, 0.0155);
  // Early decay time, 0 to -10 dB
  assert_near(decay_time_s(energy, N, 1.0 / RATE_HZ, 0.0, -10.0), 0.31, 0.031);
}

/// Normalised echo density around `at_ms` after the sound left (J. S. Abel, P.
/// Huang, 121st AES Convention, 2006): share of samples outside the standard
/// deviation in a Hann window of 20 ms, above 200 Hz, over that of Gaussian
/// noise; mean over +-3 ms
static double
echo_density(const double* x, double at_ms)
{
  enum { HALF = 480 };
  double   sum    = 0.0;
  uint32_t n      = 0;
  uint32_t centre = (uint32_t)((at_ms * 1e-3 - 1.5 / C_M_S) * RATE_HZ);
  for (uint32_t c = centre - 144; c <= centre + 144; c += 8, ++n) {
    double power  = 0.0;
    double weight = 0.0;
    for (int i = -HALF; i <= HALF; ++i) {
      const double w = 1.0 + cos(DSP_PI * i / (HALF + 1.0));
      const double v = (int)c + i < 0 ? 0.0 : x[(int)c + i];
      power += w * v * v;
      weight += w;
    }
    const double deviation = sqrt(power / weight);
    for (int i = -HALF; i <= HALF; ++i) {
      const double w = 1.0 + cos(DSP_PI * i / (HALF + 1.0));
      const double v = (int)c + i < 0 ? 0.0 : x[(int)c + i];
      sum += fabs(v) > deviation ? w / weight / 0.3173 : 0.0;
    }
  }
  return sum / n;
}

static void
test_reflections_become_reverberation(void** state)
{
  (void)state;
  // Gaussian noise reads 1; 0.9 counts as mixed.  Second-order Butterworth
  // high-pass at 200 Hz, bilinear.
  static double   x[N];
  const decay_law law        = {0.31, 0.31, 0.31, 100.0, 2000.0};
  double          density[4] = {0};
  for (uint32_t s = 0; s < 2; ++s) {
    respond(&law, place, s);
    for (uint32_t m = 0; m < 2; ++m) {
      const double g  = tan(DSP_PI * 200.0 / RATE_HZ);
      double       i1 = 0.0;
      double       i2 = 0.0;
      for (uint32_t t = 0; t < N; ++t) {
        const double v = (double)early_out[m][t] + (double)late_out[m][t];
        const double hp =
          (v - (sqrt(2.0) + g) * i1 - i2) / (1.0 + g * (g + sqrt(2.0)));
        const double bp = g * hp + i1;
        const double lp = g * bp + i2;
        i1              = g * hp + bp;
        i2              = g * bp + lp;
        x[t]            = hp;
      }
      for (uint32_t k = 0; k < 4; ++k) {
        density[k] += echo_density(x, 30.0 + 10.0 * k) / 4.0;
      }
    }
  }
  print_message("# echo density at 30, 40, 50, 60 ms: %.2f %.2f %.2f %.2f\n",
                density[0], density[1], density[2], density[3]);
  assert_true(density[0] >= 0.80);
  assert_true(density[1] >= 0.90 && density[2] >= 0.90 && density[3] >= 0.90);
}

/// Sums of cross and auto spectra
typedef struct {
  double lr, ll, rr;
} spectra;

static void
add_spectra(spectra* s, double f_hz)
{
  const double w  = 2.0 * DSP_PI * f_hz / RATE_HZ;
  double       lc = 0, ls = 0, rc = 0, rs = 0;
  for (uint32_t t = 0; t < N; ++t) {
    const double c  = cos(w * t);
    const double sn = sin(w * t);
    lc += c * (double)late_out[0][t];
    ls += sn * (double)late_out[0][t];
    rc += c * (double)late_out[1][t];
    rs += sn * (double)late_out[1][t];
  }
  s->lr += lc * rc + ls * rs;
  s->ll += lc * lc + ls * ls;
  s->rr += rc * rc + rs * rs;
}

static void
test_reverberation_coheres_like_a_field(void** state)
{
  (void)state;
  // Cook et al. (1955): sin(kd) / (kd) between omnidirectional microphones in a
  // diffuse field; nothing where that has died out
  static const double f_hz[] = {60, 120, 300, 1200, 4000};
  const double        d      = 0.4;
  const decay_law     law    = {1.0, 1.0, 1.0, 100.0, 2000.0};
  for (uint32_t b = 0; b < 5; ++b) {
    spectra sum = {0};
    for (uint32_t source = 0; source < 2; ++source) {
      respond(&law, (room_place){ROOM_VOLUME_M3, 1.5, d, 0.0}, source);
      for (int j = -20; j <= 20; ++j) { // Half an octave
        add_spectra(&sum, f_hz[b] * pow(2.0, 0.25 * j / 20.0));
      }
    }
    const double got  = sum.lr / sqrt(sum.ll * sum.rr);
    const double kd   = 2.0 * DSP_PI * f_hz[b] * d / C_M_S;
    const double want = sin(kd) / kd;
    print_message("# %4.0f Hz: %+.2f, field %+.2f\n", f_hz[b], got, want);
    assert_near(got, want, 0.3);
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_first_reflections_are_images),
    cmocka_unit_test(test_largest_room_has_memory),
    cmocka_unit_test(test_larger_rooms_are_held),
    cmocka_unit_test(test_smallest_room_at_the_lowest_rate),
    cmocka_unit_test(test_energy_continues),
    cmocka_unit_test(test_decay_is_one_slope),
    cmocka_unit_test(test_reflections_become_reverberation),
    cmocka_unit_test(test_reverberation_coheres_like_a_field),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
