// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What is said about a take: found, at the border, where, how much; and what
/// is not said about a good one

#include "tests/support/render_check.h"

#include "common/core/dsp.h"
#include "presets-demo/render/take/take_words.h"

#define TAKE_S 12
#define N      (TAKE_S * RATE_HZ)
/// The playing: from 2 s to 10 s
#define FROM (2 * RATE_HZ)
#define TO   (10 * RATE_HZ)

/// RMS of the plucks below while they are played, gated, for a `peak` of 1;
/// measured once, and held by a test
#define PLUCKS_DB (-10.95)

static float left[N];
static float right[N];

/// Fills a channel with plucked notes, one every half second, and the noise of
/// an interface at -100 dBFS
static void
fill_plucks(float* x, double f0_hz, double peak)
{
  static double note[RATE_HZ / 2];
  uint32_t      seed = 1;
  for (int i = 0; i < RATE_HZ / 2; ++i) {
    const double t = (double)i / RATE_HZ;
    note[i]        = 0.0;
    for (int h = 1; h < 8; ++h) {
      note[i] += peak / 1.6 * exp(-(2.0 + h) * t) *
                 sin(2.0 * DSP_PI * f0_hz * h * t) / h;
    }
  }
  for (int i = 0; i < N; ++i) {
    const bool is_played = i >= FROM && i < TO;
    x[i]                 = (float)(is_played ? note[i % (RATE_HZ / 2)] : 0.0) +
           1.7e-5F * check_noise(&seed);
  }
}

static void
add_sine(float* x, double f_hz, double rms_db)
{
  const double peak = sqrt(2.0) * pow(10.0, rms_db / 20.0);
  for (int i = 0; i < N; ++i) {
    x[i] += (float)(peak * sin(2.0 * DSP_PI * f_hz * i / RATE_HZ));
  }
}

static void
quantise(float* x, double steps)
{
  for (int i = 0; i < N; ++i) {
    x[i] = (float)(nearbyint((double)x[i] * steps) / steps);
  }
}

static void
clip(float* x, float top, float bottom)
{
  for (int i = 0; i < N; ++i) {
    x[i] = fminf(fmaxf(x[i], bottom), top);
  }
}

/// Looks at the first `n_channels` of left and right, in pieces
static take_figures
look_in(uint32_t n_channels, uint32_t piece)
{
  take_check* const c = take_check_new(RATE_HZ, n_channels);
  for (uint32_t i = 0; i < N; i += piece) {
    const float* const x[] = {left + i, right + i};
    take_check_add(c, x, N - i < piece ? N - i : piece);
  }
  const take_figures f = take_check_figures(c);
  take_check_free(c);
  return f;
}

static take_figures
look(uint32_t n_channels)
{
  return look_in(n_channels, 777);
}

static take_lines
lines_of(uint32_t n_channels)
{
  const take_figures f = look(n_channels);
  return take_words(&f, true, 0.0);
}

/// Checks that it is the only line of the left channel; "" for no line
static void
check_only(const char* kind)
{
  const take_lines l = lines_of(1);
  if (l.n != (*kind ? 1 : 0) || (l.n && strcmp(l.lines[0].kind, kind) != 0)) {
    fail_msg("want '%s', got %u: %s", kind, l.n, l.n ? l.lines[0].text : "");
  }
}

/// Good takes at any pitch and level, fine and coarse, mono and stereo.  G1 and
/// B1 are the notes nearest to the mains; 50 Hz itself is one of a guitar tuned
/// down: what plays is no hum.
static void
good_takes(void** state)
{
  (void)state;
  static const double pitches_hz[] = {41.2,  49.0,  50.0,  58.27, 60.0,  61.74,
                                      82.41, 98.0,  100.0, 110.0, 120.0, 123.5,
                                      146.8, 196.0, 246.9, 329.6};
  for (size_t i = 0; i < sizeof(pitches_hz) / sizeof(pitches_hz[0]); ++i) {
    fill_plucks(left, pitches_hz[i], 0.7);
    check_only("");
    memcpy(right, left, sizeof(right));
    assert_int_equal(lines_of(2).n, 0);
    quantise(left, 32768.0);
    check_only("");
    fill_plucks(left, pitches_hz[i], 0.05);
    quantise(left, 32768.0);
    check_only("");
    // Let ring to the end, without a pause
    fill_plucks(left, pitches_hz[i], 0.7);
    for (int k = 0; k < N; ++k) {
      const double t = (double)(k % (3 * RATE_HZ)) / RATE_HZ;
      left[k] += (float)(0.5 * exp(-t) * sin(2.0 * DSP_PI * pitches_hz[i] * t));
    }
    check_only("");
  }
  fill_plucks(left, 110.0, 1.0);
  assert_near(look(1).level_db, PLUCKS_DB, 0.1);
}

/// Counts what stays at a level for 3 frames or more, by itself
static double
flat_share(const float* x, float top, float bottom, int* first)
{
  int n  = 0;
  *first = -1;
  for (int i = 0; i < N;) {
    int end = i + 1;
    while (end < N && x[end] == x[i]) {
      ++end;
    }
    if (end - i >= 3 && (x[i] == top || x[i] == bottom)) {
      n += end - i;
      *first = *first < 0 ? i : *first;
    }
    i = end;
  }
  return (double)n / N;
}

static void
flat_tops_are_found(void** state)
{
  (void)state;
  // Rails at, and below, full scale; alike and different on both sides; fine
  // and coarse
  static const struct {
    float  top, bottom;
    double peak, steps;
  } rows[] = {{1.0F, -1.0F, 1.6, 0.0},
              {0.5F, -0.5F, 0.8, 0.0},
              {0.5F, -0.375F, 0.8, 32768.0},
              {0.0625F, -0.0625F, 0.1, 32768.0},
              {0.25F, -0.25F, 0.4, 8388608.0}};
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    int first = 0;
    fill_plucks(left, 110.0, rows[i].peak);
    if (rows[i].steps > 0.0) {
      quantise(left, rows[i].steps);
    }
    clip(left, rows[i].top, rows[i].bottom);
    const double share = flat_share(left, rows[i].top, rows[i].bottom, &first);
    const take_figures f = look(1);
    assert_true(share > 1e-4);
    assert_near(f.clipped, share, 0.02 * share);
    assert_near(f.clipped_s, (double)first / RATE_HZ, 1e-9);
    assert_near(f.rail_db, 20.0 * log10((double)rows[i].top), 1e-4);
    check_only("clipping");
  }
}

/// Two equal samples at the top are none, three are; not below the top, not
/// where a coarse wave turns step by step, not what is flat for long
static void
flat_tops_at_the_border(void** state)
{
  (void)state;
  for (int n = 2; n <= 3; ++n) {
    fill_plucks(left, 110.0, 0.4);
    for (int i = 0; i < n; ++i) {
      left[5 * RATE_HZ + i] = 0.9F;
    }
    const take_figures f = look(1);
    assert_near(f.clipped * N, n == 3 ? 3.0 : 0.0, 1e-6);
    check_only(n == 3 ? "clipping" : "");
    left[6 * RATE_HZ] = 0.92F; // 0.19 dB above it
    check_only("");
    left[6 * RATE_HZ] = 0.905F; // 0.05 dB
    check_only(n == 3 ? "clipping" : "");
  }
  for (int peak = 20; peak < 2000; peak = peak * 3 / 2) {
    check_sine(left, N, 82.41, peak, RATE_HZ);
    quantise(left, 1.0);
    for (int i = 0; i < N; ++i) {
      left[i] /= 32768.0F;
    }
    assert_true(look(1).clipped == 0.0);
    fill_plucks(left, 82.41, peak / 32768.0);
    quantise(left, 32768.0);
    assert_true(look(1).clipped == 0.0);
  }
  fill_plucks(left, 110.0, 0.4);
  for (int i = 0; i < RATE_HZ / 10; ++i) {
    left[11 * RATE_HZ + i] = 0.9F;
  }
  assert_true(look(1).clipped == 0.0);
}

static void
dc_is_measured(void** state)
{
  (void)state;
  for (int side = -1; side <= 1; side += 2) {
    // Border: 42 dB below the playing
    for (int above = -1; above <= 1; above += 2) {
      const double dc =
        side * pow(10.0, (PLUCKS_DB - 20.0 - 42.0 + above) / 20.0);
      fill_plucks(left, 110.0, 0.1);
      for (int i = 0; i < N; ++i) {
        left[i] += (float)dc;
      }
      const take_figures f = look(1);
      assert_near(f.dc[0], above > 0 ? dc : 0.0, fabs(0.02 * dc));
      assert_true(f.mend.dc[0] == (float)f.dc[0]);
      check_only(above > 0 ? "dc" : "");
    }
  }
  // Half a second has a mean by chance; a second is enough
  for (int n = RATE_HZ / 2; n <= RATE_HZ; n += RATE_HZ / 2) {
    take_check* const c = take_check_new(RATE_HZ, 1);
    fill_plucks(left, 110.0, 0.5);
    for (int i = 0; i < N; ++i) {
      left[i] += 0.2F;
    }
    take_check_add(c, (const float* const[]){left}, (uint32_t)n);
    assert_near(take_check_figures(c).dc[0], n == RATE_HZ ? 0.2 : 0.0, 1e-4);
    take_check_free(c);
  }
  // One channel, and digital silence around it, which has none
  fill_plucks(left, 110.0, 0.5);
  memcpy(right, left, sizeof(right));
  for (int i = 0; i < N; ++i) {
    right[i] = i < FROM || i >= TO ? 0.0F : right[i] + 0.2F;
  }
  const take_figures f = look(2);
  assert_true(f.dc[0] == 0.0);
  assert_near(f.dc[1], 0.2, 0.002);
}

/// Mains with its odd harmonics, all together at `rms_db`
static void
add_hum(float* x, double mains_hz, double rms_db)
{
  static const double parts[] = {1.0, 0.2, 0.5, 0.1, 0.3, 0.05, 0.15};
  double              sum     = 0.0;
  for (int h = 0; h < 7; ++h) {
    sum += parts[h] * parts[h];
  }
  for (int h = 0; h < 7; ++h) {
    add_sine(x, mains_hz * (h + 1),
             rms_db + 10.0 * log10(parts[h] * parts[h] / sum));
  }
}

/// 40 dB below the playing, and at the border of 46; also with noise as loud,
/// and off its nominal frequency within the mains' tolerance
static void
hum_is_found_in_the_pauses(void** state)
{
  (void)state;
  static const double mains_hz[] = {50.0, 60.0};
  static const double offs_hz[]  = {0.0, -0.15, 0.15};
  for (int m = 0; m < 2; ++m) {
    for (int k = 0; k < 3; ++k) {
      for (int below = 0; below < 4; ++below) {
        static const double below_db[] = {12.0, 40.0, 45.5, 46.5};
        fill_plucks(left, 110.0, 0.5);
        add_hum(left, mains_hz[m] + offs_hz[k],
                PLUCKS_DB - 6.02 - below_db[below]);
        const take_figures f = look(1);
        if (below == 3) {
          assert_true(f.hum.mains_hz == 0.0);
          check_only("");
          continue;
        }
        assert_near(f.hum.mains_hz, mains_hz[m], 0.0);
        assert_near(f.level_db - f.hum.level_db, below_db[below], 0.4);
        assert_near(f.hum.first_s, 0.0, 1e-9);
        check_only("hum");
        // Of no use to a setup that removes it
        assert_int_equal(take_words(&f, true, mains_hz[m]).n, 0);
        assert_int_equal(take_words(&f, true, 110.0 - mains_hz[m]).n, 1);
      }
    }
  }
  uint32_t seed = 7;
  fill_plucks(left, 110.0, 0.5);
  add_hum(left, 50.0, PLUCKS_DB - 6.02 - 40.0);
  for (int i = 0; i < N; ++i) { // -40 dB as well, over the whole band
    left[i] += (float)(sqrt(3.0) * pow(10.0, (PLUCKS_DB - 46.02) / 20.0)) *
               check_noise(&seed);
  }
  assert_near(look(1).hum.mains_hz, 50.0, 0.0);
}

/// Held notes beside the mains, even in pauses, and noise by itself
static void
notes_are_no_hum(void** state)
{
  (void)state;
  static const double notes_hz[] = {46.25, 49.0,  51.91,  58.27,
                                    61.74, 97.99, 123.47, 196.0};
  for (size_t i = 0; i < sizeof(notes_hz) / sizeof(notes_hz[0]); ++i) {
    fill_plucks(left, 110.0, 0.5);
    add_sine(left, notes_hz[i], PLUCKS_DB - 6.02 - 35.0);
    check_only("");
  }
  uint32_t seed = 7;
  fill_plucks(left, 110.0, 0.5);
  for (int i = 0; i < N; ++i) {
    left[i] += 0.005F * check_noise(&seed);
  }
  check_only("");
}

static void
silent_channels(void** state)
{
  (void)state;
  for (int k = 0; k < 2; ++k) {
    float* const on  = k ? right : left;
    float* const off = k ? left : right;
    fill_plucks(on, 110.0, 0.5);
    memset(off, 0, sizeof(left));
    take_figures f = look(2);
    assert_int_equal(f.mend.channels, k ? MEND_RIGHT_ONLY : MEND_LEFT_ONLY);
    // That of the one that plays, not 3 dB less
    assert_near(f.level_db, PLUCKS_DB - 6.02, 0.1);
    // Crosstalk: 50 dB is the border
    for (int i = 0; i < N; ++i) {
      off[i] = 0.00316F * 1.05F * on[i];
    }
    assert_int_equal(look(2).mend.channels, MEND_ALL_CHANNELS);
    assert_int_equal(lines_of(2).n, 0);
    for (int i = 0; i < N; ++i) {
      off[i] = 0.00316F * 0.95F * on[i];
    }
    const take_lines l = lines_of(2);
    assert_int_equal(l.n, 1);
    assert_string_equal(l.lines[0].kind, "silent_channel");
    assert_near(l.lines[0].value, k ? 1.0 : 2.0, 0.0);
    // What is wrong with a channel that nobody hears is not said, but DC on it
    // does not make it heard
    for (int i = 0; i < N; ++i) {
      off[i] = 0.1F;
    }
    f = look(2);
    assert_int_equal(f.mend.channels, k ? MEND_RIGHT_ONLY : MEND_LEFT_ONLY);
    assert_int_equal(take_words(&f, true, 0.0).n, 1);
  }
}

static void
takes_without_playing(void** state)
{
  (void)state;
  memset(left, 0, sizeof(left));
  check_only("no_playing");
  assert_true(isinf(look(1).level_db));
  uint32_t seed = 7;
  for (int i = 0; i < N; ++i) { // -60 dBFS
    left[i] = 0.001F * sqrtf(3.0F) * check_noise(&seed);
  }
  check_only("no_playing");
  assert_near(look(1).level_db, -60.0, 0.1);
  memset(left, 0, sizeof(left)); // Hum alone, louder than much playing
  add_hum(left, 60.0, -35.0);
  const take_lines l = lines_of(1);
  assert_int_equal(l.n, 2);
  assert_string_equal(l.lines[0].kind, "hum");
  assert_near(l.lines[0].value, -35.0, 0.2);
  assert_string_equal(l.lines[1].kind, "no_playing");
  // Playing as soft as that is playing
  fill_plucks(left, 110.0, 0.002);
  check_only("quiet");
  // A test tone is no playing, but no fault either
  check_sine(left, N, 1000.0, 0.1, RATE_HZ);
  check_only("");
}

static void
levels_at_their_borders(void** state)
{
  (void)state;
  static const struct {
    double      db;
    const char* kind;
  } rows[] = {{-46.5, "quiet"}, {-42.2, "quiet"}, {-41.8, ""},
              {-18.0, ""},      {-6.2, ""},       {-5.8, "hot"}};
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    fill_plucks(left, 110.0, pow(10.0, (rows[i].db - PLUCKS_DB) / 20.0));
    assert_near(look(1).level_db, rows[i].db, 0.1);
    check_only(rows[i].kind);
  }
  // Too short to have a level
  take_check* const c = take_check_new(RATE_HZ, 1);
  take_check_add(c, (const float* const[]){left}, RATE_HZ / 3);
  const take_figures f = take_check_figures(c);
  assert_int_equal(take_words(&f, true, 0.0).n, 0);
  take_check_free(c);
}

static void
dropouts_are_counted(void** state)
{
  (void)state;
  static const struct {
    int frames, n;
  } rows[] = {{40, 0}, {48, 1}, {64, 1}, {1024, 1}, {4800, 1}, {4900, 0}};
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    fill_plucks(left, 110.0, 0.5);
    memset(left + 3 * RATE_HZ + 2000, 0,
           (size_t)rows[i].frames * sizeof(float));
    const take_figures f = look(1);
    assert_int_equal(f.n_dropouts, rows[i].n);
    check_only(rows[i].n ? "dropouts" : "");
    if (rows[i].n) {
      assert_near(f.dropout_s, 3.0 + 2000.0 / RATE_HZ, 1e-9);
      assert_near(f.dropouts_s, (double)rows[i].frames / RATE_HZ, 1e-9);
    }
  }
  // A gate between notes, and silence around the playing
  fill_plucks(left, 110.0, 0.5);
  for (int i = 0; i < N; ++i) {
    const double t    = (double)(i % (RATE_HZ / 2)) / RATE_HZ;
    const double gate = fmin(1.0, fmax(0.0, 50.0 * (0.42 - t)));
    // Notes of both signs, or their decay would be DC
    const double sign = i / (RATE_HZ / 2) % 2 ? 1.0 : -1.0;
    left[i] *= i < FROM || i >= TO ? 0.0F : (float)(sign * gate);
  }
  check_only("");
}

static void
pieces_make_no_difference(void** state)
{
  (void)state;
  fill_plucks(left, 110.0, 0.8);
  add_hum(left, 50.0, -50.0);
  clip(left, 0.5F, -0.5F);
  memcpy(right, left, sizeof(right));
  memset(left + 5 * RATE_HZ, 0, 500 * sizeof(float));
  const take_figures a = look_in(2, N);
  const take_figures b = look_in(2, 1);
  assert_true(a.clipped == b.clipped && a.clipped > 0.0);
  assert_true(a.clipped_s == b.clipped_s && a.dropout_s == b.dropout_s);
  assert_int_equal(a.n_dropouts, 1);
  assert_int_equal(b.n_dropouts, 1);
  assert_near(a.level_db, b.level_db, 1e-9);
  assert_near(a.hum.level_db, b.hum.level_db, 1e-6);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(good_takes),
    cmocka_unit_test(flat_tops_are_found),
    cmocka_unit_test(flat_tops_at_the_border),
    cmocka_unit_test(dc_is_measured),
    cmocka_unit_test(hum_is_found_in_the_pauses),
    cmocka_unit_test(notes_are_no_hum),
    cmocka_unit_test(silent_channels),
    cmocka_unit_test(takes_without_playing),
    cmocka_unit_test(levels_at_their_borders),
    cmocka_unit_test(dropouts_are_counted),
    cmocka_unit_test(pieces_make_no_difference),
  };
  return cmocka_run_group_tests_name("take-checks", tests, NULL, NULL);
}
