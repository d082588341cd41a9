// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// What the report lets be heard: which excerpt, which versions, how loud

#include "tests/support/session_check.h"

#include "presets-demo/session/file/session_time.h"
#include "presets-demo/session/listen/listen_choice.h"
#include "presets-demo/session/listen/listen_loudness.h"
#include "presets-demo/session/listen/opus_out.h"

#define LENGTH 120U ///< Steps of 100 ms

/// A clip of a piece that comes in parts of any length
static void
clip_keeps_its_stretch(void** state)
{
  (void)state;
  for (uint32_t part = 1; part <= 2000; part += 333) {
    float        x[2000];
    listen_clip  c;
    const float* both[] = {x, x};
    listen_clip_init(&c, 777, 500, 2);
    for (uint32_t at = 0; at < 3000; at += part) {
      for (uint32_t i = 0; i < part; ++i) {
        x[i] = (float)(at + i);
      }
      listen_clip_pass(&c, both, part);
    }
    for (uint32_t i = 0; i < 500; ++i) {
      assert_true(c.x[0][i] == (float)(777 + i));
      assert_true(c.x[1][i] == (float)(777 + i));
    }
    listen_clip_clear(&c);
  }
}

/// Mono is added to both sides, stereo to its own
static void
clips_add_up(void** state)
{
  (void)state;
  const float  left[]   = {1.0F, 2.0F};
  const float  right[]  = {10.0F, 20.0F};
  const float* stereo[] = {left, right};
  const float* mono[]   = {left};
  listen_clip  sum;
  listen_clip  a;
  listen_clip  b;
  listen_clip_init(&sum, 0, 2, 2);
  listen_clip_init(&a, 0, 2, 1);
  listen_clip_init(&b, 0, 2, 2);
  listen_clip_pass(&a, mono, 2);
  listen_clip_pass(&b, stereo, 2);
  listen_clip_add(&sum, &a);
  listen_clip_add(&sum, &b);
  assert_true(sum.x[0][0] == 2.0F && sum.x[0][1] == 4.0F);
  assert_true(sum.x[1][0] == 11.0F && sum.x[1][1] == 22.0F);
  listen_clip_clear(&sum);
  listen_clip_clear(&a);
  listen_clip_clear(&b);
}

/// Fills steps with a level
static void
fill(listen_levels* l, uint32_t from, uint32_t to, double db)
{
  for (uint32_t i = from; i < to; ++i) {
    l->power[i] = pow(10.0, db / 10.0);
  }
}

/// Of a pause, steady playing, and playing both soft and hard, the last tells
/// most; of playing with a long pause and playing through, the second
static void
excerpt_is_the_telling_one(void** state)
{
  (void)state;
  double        power[600];
  listen_levels l = {power, 600};
  fill(&l, 0, 600, -90.0);
  fill(&l, 100, 250, -20.0);
  for (uint32_t i = 300; i < 440; ++i) {
    fill(&l, i, i + 1, i / 10 % 2 ? -15.0 : -33.0);
  }
  const uint32_t spread = listen_choice(&l, LENGTH);
  assert_in_range(spread, 295, 325);

  fill(&l, 0, 600, -90.0);
  fill(&l, 10, 60, -20.0);
  fill(&l, 100, 150, -20.0);
  fill(&l, 400, 525, -20.0);
  assert_in_range(listen_choice(&l, LENGTH), 398, 405);

  // Silence, and a piece that is shorter, begin at the beginning
  fill(&l, 0, 600, -200.0);
  assert_int_equal(listen_choice(&l, LENGTH), 0);
  l.n = 80;
  assert_int_equal(listen_choice(&l, LENGTH), 0);
}

/// Levels of a file are those of its steps, at whatever rate
static void
levels_are_read(void** state)
{
  (void)state;
  static const int             rates[] = {44100, 96000};
  static volatile sig_atomic_t stop;
  for (size_t r = 0; r < 2; ++r) {
    const sf_count_t n = 2 * rates[r];
    sound            s = sound_noise(FLOAT_WAV, rates[r], 1, n);
    for (sf_count_t i = 0; i < n; ++i) { // +-0.1, then +-0.5
      s.x[i] = (i & 1 ? 1.0F : -1.0F) * (i < n / 2 ? 0.1F : 0.5F);
    }
    sound_write(&s, "levels.wav");
    sound_free(&s);
    listen_levels    l    = {.n = 0};
    const audio_mend mend = {.dc = {0.0F}};
    failure          f    = {""};
    assert_true(listen_levels_read(&l, "levels.wav", &mend, &stop, &f));
    assert_in_range(l.n, 20, 21);
    assert_near(10.0 * log10(l.power[3]), -20.0, 0.05);
    assert_near(10.0 * log10(l.power[15]), -6.02, 0.05);
    listen_levels_clear(&l);
  }
}

/// ITU-R BS.1770-5, annex 1: a 997 Hz sine of 0 dBFS in one channel reads -3.01
/// LKFS; mono counts as from two loudspeakers
static void
loudness_is_that_of_the_standard(void** state)
{
  (void)state;
  listen_clip c;
  listen_clip_init(&c, 0, 2 * RATE_HZ, 1);
  check_sine(c.x[0], 2 * RATE_HZ, 997.0, 0.5, RATE_HZ);
  const listen_loudness l = listen_loudness_of(&c, RATE_HZ);
  assert_near(l.lufs, -6.02, 0.05);
  assert_near(l.true_peak_db, -6.02, 0.05);
  memset(c.x[0], 0, 2 * RATE_HZ * sizeof(float));
  assert_true(isinf(listen_loudness_of(&c, RATE_HZ).lufs));
  listen_clip_clear(&c);
}

/// Encoded and decoded again, a clip has its length at 48 kHz and its level,
/// and ends softly.  By libsndfile, which skips what RFC 7845, 4.2, says.
static void
sound_survives_coding(void** state)
{
  (void)state;
  static const int rates[] = {44100, 48000, 96000};
  for (size_t r = 0; r < 3; ++r) {
    listen_clip    c;
    const uint32_t n = (uint32_t)rates[r];
    listen_clip_init(&c, 0, n, 1);
    check_sine(c.x[0], n, 997.0, 0.5, rates[r]);
    const opus_bytes b = opus_out_encode(&c, rates[r], -6.0);
    listen_clip_clear(&c);
    assert_non_null(b.data);
    FILE* const f = fopen("c.opus", "wb");
    assert_int_equal(fwrite(b.data, 1, b.n, f), b.n);
    assert_int_equal(fclose(f), 0);
    free(b.data);
    sound  s   = sound_read("c.opus");
    double sum = 0.0;
    assert_int_equal(s.info.frames, RATE_HZ);
    for (int i = 4800; i < 43200; ++i) {
      sum += (double)s.x[i] * (double)s.x[i];
    }
    assert_near(10.0 * log10(sum / 38400.0), -15.05, 0.1);
    sound_free(&s);
  }
}

static void
times_are_read(void** state)
{
  (void)state;
  static const struct {
    const char* text;
    double      s;
  } rows[] = {{"0:21", 21.0},  {"1:02.5", 62.5}, {"21.25", 21.25},
              {"0", 0.0},      {"90", 90.0},     {"12:00", 720.0},
              {"0:60", -1.0},  {"0:7", -1.0},    {":21", -1.0},
              {"1:", -1.0},    {"3.", -1.0},     {"", -1.0},
              {"1:02:03", -1}, {"-3", -1.0},     {"1e3", -1.0},
              {"0:2x", -1.0},  {"nan", -1.0},    {"123456", -1.0}};
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    float s = -1.0F;
    assert_int_equal(session_time_read(rows[i].text, &s), rows[i].s >= 0.0);
    assert_near((double)s, rows[i].s, 1e-6);
  }
}

/// Returns all of the report; free() it
static char*
page_of(const char* session)
{
  write_text("s.ini", session);
  session_well(FIXTURE_DIR, "s.ini -o out --quiet");
  FILE* const f    = fopen("out/report.html", "r");
  char* const text = calloc(1, 40000000);
  assert_true(f && text);
  assert_true(fread(text, 1, 39999999, f) < 39999999);
  assert_int_equal(fclose(f), 0);
  return text;
}

static int
count(const char* text, const char* what)
{
  int n = 0;
  for (const char* at = text; (at = strstr(at, what)); ++at) {
    ++n;
  }
  return n;
}

/// `listen` of a track, of the output, and no
static void
session_says_where(void** state)
{
  (void)state;
  char* text = page_of("[track a]\nfile = a.wav\nsetup = t.ini\nlisten = 0:03\n"
                       "gain_db = -20\n"
                       "[track b]\nfile = a.wav\nsetup = t.ini\ngain_db = -20\n"
                       "[output]\nlisten = 2.5\n");
  assert_int_equal(count(text, "data-from=\"2.500\""), 2); // The mix, and b
  assert_int_equal(count(text, "data-from=\"3.000\""), 1);
  assert_int_equal(count(text, "<template"), 6);
  free(text);
  text = page_of("[track a]\nfile = a.wav\nsetup = t.ini\nlisten = 0:03\n"
                 "gain_db = -20\n"
                 "[track b]\nfile = a.wav\nsetup = t.ini\ngain_db = -20\n"
                 "[output]\nlisten = no\n");
  assert_int_equal(count(text, "<template"), 2);
  free(text);
  text = page_of(
    "[track a]\nfile = a.wav\nsetup = t.ini\nlisten = no\ngain_db = -20\n"
    "[track b]\nfile = a.wav\ngain_db = -20\n");
  assert_int_equal(count(text, "<template"), 2); // The mix
  free(text);
  text = page_of("[track a]\nfile = a.wav\nsetup = t.ini\ngain_db = "
                 "-20\n[output]\nlisten = no\n");
  assert_null(strstr(text, "<script"));
  assert_null(strstr(text, "id=\"listen\""));
  free(text);
}

/// A long session keeps to the room: tracks in pairs of dry and finished, and a
/// line about the rest
static void
large_sessions_keep_to_the_room(void** state)
{
  (void)state;
  char text[8192] = "";
  for (int i = 0; i < 40; ++i) {
    (void)snprintf(text + strlen(text), sizeof(text) - strlen(text),
                   "[track %d]\nfile = a.wav\nsetup = two.ini\n"
                   "gain_db = -40\n",
                   i);
  }
  write_text("two.ini", "[delay]\n[widener]\n");
  char* const page = page_of(text);
  assert_int_equal(count(page, "<template"), 2 + 2 * 30);
  assert_non_null(strstr(page, " 10 further tracks are left out"));
  free(page);
}

/// A take without sound cannot be brought to a loudness
static void
silence_is_left_out(void** state)
{
  (void)state;
  sound s = sound_noise(FLOAT_WAV, RATE_HZ, 1, 2 * RATE_HZ);
  memset(s.x, 0, 2 * RATE_HZ * sizeof(*s.x));
  sound_write(&s, "zero.wav");
  sound_free(&s);
  write_text("s.ini",
             "[track a]\nfile = zero.wav\nsetup = t.ini\n"
             "[track b]\nfile = a.wav\nsetup = t.ini\ngain_db = -20\n");
  char line[512];
  (void)snprintf(line, sizeof(line), "--bundle %s s.ini -o out --quiet",
                 FIXTURE_DIR);
  assert_int_equal(render_status(line), 0);
  FILE* const f    = fopen("out/report.html", "r");
  char* const text = calloc(1, 4000000);
  assert_true(f && text && fread(text, 1, 3999999, f) < 3999999);
  assert_int_equal(fclose(f), 0);
  assert_int_equal(count(text, "<template"), 4); // The mix, and b
  free(text);
}

static int
start(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  sound s = write_noise("a.wav", RATE_HZ, 1, 4 * RATE_HZ);
  sound_free(&s);
  write_text("t.ini", "[delay]\ngain_db = 6\n");
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(clip_keeps_its_stretch),
    cmocka_unit_test(clips_add_up),
    cmocka_unit_test(excerpt_is_the_telling_one),
    cmocka_unit_test(levels_are_read),
    cmocka_unit_test(loudness_is_that_of_the_standard),
    cmocka_unit_test(sound_survives_coding),
    cmocka_unit_test(times_are_read),
    cmocka_unit_test(session_says_where),
    cmocka_unit_test(large_sessions_keep_to_the_room),
    cmocka_unit_test(silence_is_left_out),
  };
  return cmocka_run_group_tests_name("listen", tests, start, leave_tree);
}
