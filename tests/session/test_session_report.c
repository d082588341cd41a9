// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The figures of a session's report, on signals whose figures are known, in
/// the page and the JSON

#include "tests/support/session_check.h"

#include "presets-demo/session/measure/probe.h"
#include "presets-demo/session/measure/stereo_image.h"
#include "presets-demo/session/measure/time_series.h"
#include "presets-demo/session/report/json.h"

#include <unistd.h>

static float two[2][10 * RATE_HZ];

static void
fill_sine(double f_hz, double peak)
{
  check_sine(two[0], 10 * RATE_HZ, f_hz, peak, RATE_HZ);
  memcpy(two[1], two[0], sizeof(two[0]));
}

/// A signal with all that can be measured of it
typedef struct {
  spectrum_tools* tools;
  level_meter     level;
  probe_bank*     bank;
  probe           probe;
} measured;

/// Measures the first `n_channels` of `two`
static measured
measure(uint32_t n_channels, bool is_mix)
{
  measured m = {.tools = spectrum_tools_new(RATE_HZ)};
  m.bank     = probe_bank_new(&(probe_bank_spec){.n_channels   = &n_channels,
                                                 .n_signals    = 1,
                                                 .rate_hz      = RATE_HZ,
                                                 .has_loudness = true,
                                                 .spectra      = m.tools,
                                                 .is_mix       = is_mix});
  level_meter_init(&m.level, RATE_HZ);
  for (uint32_t i = 0; i < 10 * RATE_HZ; i += 777) {
    const float* const part[] = {two[0] + i, two[1] + i};
    const uint32_t     left   = 10 * RATE_HZ - i;
    const uint32_t     n      = left < 777 ? left : 777;
    probe_bank_add(m.bank, 0, part, n);
    assert_true(level_meter_add(&m.level, part, n_channels, n));
  }
  return m;
}

/// Returns the probe of a signal, which must stay where it is
static const probe*
probe_of(measured* m)
{
  m->probe = (probe){&m->level, m->bank, 0};
  return &m->probe;
}

static void
clear(measured* m)
{
  level_meter_clear(&m->level);
  probe_bank_free(m->bank);
  spectrum_tools_free(m->tools);
}

/// ITU-R BS.1770-5, Annex 1: a 997 Hz sine of 0 dBFS in one channel reads -3.01
/// LKFS.  Twice the power is 3.01 more; mono counts as from two loudspeakers.
static void
loudness_is_that_of_the_standard(void** state)
{
  (void)state;
  fill_sine(997.0, 0.5);
  measured m = measure(2, true);
  assert_near(probe_figures(probe_of(&m)).lufs, -6.02, 0.05);
  assert_near(probe_figures(probe_of(&m)).crest_db, 3.01, 0.01);
  assert_near(probe_true_peak_db(probe_of(&m)), -6.02, 0.05);
  assert_near(probe_range_lu(probe_of(&m)), 0.0, 0.05);
  clear(&m);

  m = measure(1, false);
  assert_near(probe_figures(probe_of(&m)).lufs, -6.02, 0.05);
  assert_true(isnan(probe_true_peak_db(probe_of(&m))));
  clear(&m);

  memset(two[1], 0, sizeof(two[1]));
  m = measure(2, false);
  assert_near(probe_figures(probe_of(&m)).lufs, -9.03, 0.05);
  clear(&m);
}

/// A sine in the middle of a band has all its power there: peak^2 / 2
static void
spectrum_of_a_sine(void** state)
{
  (void)state;
  for (uint32_t band = 12; band < SPECTRUM_N_BANDS; band += 7) {
    fill_sine(spectrum_band_hz(band), 0.25);
    measured m = measure(2, false);
    assert_near(probe_figures(probe_of(&m)).bands_db[band], -15.05, 0.1);
    // Two bands away there is none
    assert_below(probe_figures(probe_of(&m)).bands_db[band - 2], -60.0);
    clear(&m);
  }
}

/// White noise has the same power at each frequency: a band has its share of
/// half the sample rate.  Uniform in +-a it is a^2 / 3.  Band edges are a
/// factor of 10^0.05 apart (IEC 61260-1:2014, 5.5).
static void
spectrum_of_noise(void** state)
{
  (void)state;
  uint32_t seed = 1;
  for (uint32_t i = 0; i < 10 * RATE_HZ; ++i) {
    two[0][i] = 0.5F * check_noise(&seed);
  }
  measured     m           = measure(1, false);
  const double half_octave = pow(10.0, 0.025);
  for (uint32_t band = 0; band < SPECTRUM_N_BANDS; ++band) {
    const double width_hz =
      spectrum_band_hz(band) * (half_octave - 1.0 / half_octave);
    const double want = 0.25 / 3.0 * width_hz / (RATE_HZ / 2.0);
    // The narrow bands average over few independent values
    assert_near(probe_figures(probe_of(&m)).bands_db[band] - 10.0 * log10(want),
                0.0, band < 20 ? 1.5 : 0.5);
  }
  clear(&m);
  assert_near(spectrum_band_hz(27), 1000.0 * pow(10.0, -0.025), 0.01);
}

/// Correlation and level in mono of equal, opposite and unrelated sides, and of
/// one side only
static void
image_of_known_pairs(void** state)
{
  (void)state;
  static const struct {
    int    kind;
    double correlation, mono_db;
  } rows[] = {{0, 1.0, 0.0}, {1, -1.0, -200.0}, {2, 0.0, -3.01}};
  const float* const    both[] = {two[0], two[1]};
  spectrum_tools* const tools  = spectrum_tools_new(RATE_HZ);
  for (size_t r = 0; r < 3; ++r) {
    uint32_t seed  = 1;
    uint32_t other = 99;
    for (uint32_t i = 0; i < 10 * RATE_HZ; ++i) {
      two[0][i] = 0.5F * check_noise(&seed);
      two[1][i] = rows[r].kind == 0   ? two[0][i]
                  : rows[r].kind == 1 ? -two[0][i]
                                      : 0.5F * check_noise(&other);
    }
    stereo_image m;
    stereo_image_init(&m, RATE_HZ, 10 * RATE_HZ, tools);
    stereo_image_add(&m, both, 10 * RATE_HZ);
    assert_near(stereo_image_correlation(&m), rows[r].correlation, 0.01);
    if (rows[r].kind == 1) {
      assert_below(stereo_image_mono_db(&m), rows[r].mono_db);
    } else {
      assert_near(stereo_image_mono_db(&m), rows[r].mono_db, 0.05);
    }
    assert_int_equal(m.correlation.n, 97); // The last window starts at 9.6 s
    assert_near(m.correlation.values[50], rows[r].correlation, 0.05);
    stereo_image_clear(&m);
  }
  stereo_image m;
  memset(two[1], 0, sizeof(two[1]));
  stereo_image_init(&m, RATE_HZ, 10 * RATE_HZ, tools);
  stereo_image_add(&m, both, 10 * RATE_HZ);
  assert_true(isnan(stereo_image_correlation(&m)));
  assert_near(stereo_image_mono_db(&m), -3.01, 0.01); // 1/4 against 1/2
  stereo_image_clear(&m);
  spectrum_tools_free(tools);
}

static void
series_keeps_the_highest(void** state)
{
  (void)state;
  time_series s;
  time_series_init(&s, RATE_HZ, 96 * 480);
  for (int i = 0; i < 96; ++i) { // Blocks of 10 ms
    time_series_add(&s, i == 57 ? 9.0 : 1.0, 480);
  }
  assert_int_equal(s.n, 10);
  for (uint32_t i = 0; i < s.n; ++i) {
    assert_true(s.values[i] == (i == 5 ? 9.0 : 1.0));
  }
  time_series_clear(&s);
}

/// A long piece has no more values than a short one, each over a longer step,
/// and none of its peaks is lost
static void
series_does_not_grow(void** state)
{
  (void)state;
  const uint64_t n_frames = (uint64_t)3600 * RATE_HZ;
  time_series    s;
  time_series_init(&s, RATE_HZ, n_frames);
  assert_near(s.step_s, 3.2, 1e-12); // 0.1 s times 2^5: 36000 / 2^5 < 2048
  for (uint64_t at = 0; at < n_frames; at += 4800) {
    time_series_add(&s, at == (uint64_t)1000 * RATE_HZ ? 9.0 : 1.0, 4800);
  }
  assert_int_equal(s.n, 1125);
  for (uint32_t i = 0; i < s.n; ++i) {
    assert_true(s.values[i] == (i == 312 ? 9.0 : 1.0)); // 998.4 to 1001.6 s
  }
  time_series_clear(&s);
}

/// RFC 8259, section 7; RFC 3629, section 4
static void
json_is_escaped(void** state)
{
  (void)state;
  FILE* const f = fopen("j.json", "w");
  json        j = {.file = f};
  assert_non_null(f);
  json_open(&j, NULL, '{');
  json_text(&j, "a\"b", "\\ \n \xC3\xA4 \xC3 \xED\xA0\x80 \xF0\x9F\x98\x80");
  json_number(&j, "x", (double)INFINITY);
  json_numbers(&j, "y", (const double[]){1.0, -0.5, (double)NAN}, 3);
  json_open(&j, "e", '[');
  json_close(&j, ']');
  json_text(&j, "n", NULL);
  json_close(&j, '}');
  assert_int_equal(fclose(f), 0);
  assert_string_equal(
    read_text("j.json"),
    "{\n  \"a\\\"b\": \"\\\\ \\u000a \xC3\xA4 \\ufffd \\ufffd\\ufffd\\ufffd "
    "\xF0\x9F\x98\x80\",\n  \"x\": null,\n  \"y\": [1, -0.5, null],\n"
    "  \"e\": [],\n  \"n\": null\n}\n");
}

static void
write_session(void)
{
  sound a = write_noise("a.wav", RATE_HZ, 1, 72000);
  write_text("t.ini", "[delay]\ngain_db = 6\n");
  write_text("s.ini", "[track ab]\nfile = a.wav\nsetup = t.ini\n"
                      "[output]\nbits = float\ntail_s = 0\n");
  sound_free(&a);
}

/// Returns all of a file; free() it
static char*
read_all(const char* name)
{
  FILE* const f    = fopen(name, "r");
  char* const text = calloc(1, 4000000);
  assert_true(f && text);
  assert_true(fread(text, 1, 3999999, f) < 3999999);
  assert_int_equal(fclose(f), 0);
  return text;
}

/// Returns the figure after a key, from a place on
static double
number_after(const char* text, const char* place, const char* key)
{
  const char* at = strstr(text, place);
  assert_non_null(at);
  at = strstr(at, key);
  assert_non_null(at);
  return strtod(at + strlen(key), NULL);
}

/// Noise of +-0.5 is at -10.79 dBFS RMS: 0.25 / 3.  The fixture lifts it by 6
/// dB, delays by 37 frames and reports 3 dB of reduction during its first 2 s.
static void
json_has_the_figures(void** state)
{
  (void)state;
  const char* const stage = "\"stages\"";
  session_well(FIXTURE_DIR, "s.ini -o out --json --quiet");
  char* const text = read_all("out/report.json");
  assert_near(number_after(text, stage, "\"in_db\": "), -10.79, 0.05);
  assert_near(number_after(text, stage, "\"out_db\": "), -4.79, 0.05);
  assert_near(number_after(text, stage, "\"change_lu\": "), 6.0, 0.01);
  assert_near(number_after(text, stage, "\"peak_db\": "), -0.02, 0.05);
  assert_near(number_after(text, stage, "\"crest_db\": "), 4.77, 0.05);
  assert_near(number_after(text, stage, "\"reduction_mean_db\": "), 3.0, 1e-6);
  assert_near(number_after(text, stage, "\"latency_frames\": "), 37.0, 0.0);
  assert_near(number_after(text, "{", "\"correlation\": "), 1.0, 1e-6);
  free(text);
}

/// One file that needs no other, with its sound, and with every plot if there
/// is gnuplot
static void
page_stands_alone(void** state)
{
  (void)state;
  session_well(FIXTURE_DIR, "s.ini -o out --quiet");
  char* const text = read_all("out/report.html");
  // The only address is that of the SVG namespace
  for (const char* at = text; (at = strstr(at, "http:")); ++at) {
    assert_int_equal(strncmp(at, "http://www.w3.org/", 18), 0);
  }
  assert_null(strstr(text, "https:"));
  assert_null(strstr(text, " src="));
  for (const char* at = text; (at = strstr(at, "url(")); ++at) {
    assert_true(at[4] == '#'); // Within a plot
  }
  // One script, which lies in the page, and may load nothing
  const char* const script = strstr(text, "<script");
  assert_non_null(script);
  assert_null(strstr(script + 1, "<script"));
  assert_int_equal(strncmp(script, "<script>", 8), 0);
  assert_non_null(strstr(text, "content=\"default-src 'none';"));
  // The mix and the track, each dry and after one step: "OggS" in base64
  int n_sounds = 0;
  for (const char* at = text; (at = strstr(at, "\">T2dnU")); ++at) {
    ++n_sounds;
  }
  assert_int_equal(n_sounds, 4);
  assert_non_null(strstr(text, "</html>"));
  int n_plots = 0;
  for (const char* at = text; (at = strstr(at, "<svg")); ++at) {
    ++n_plots;
  }
  // Mix: spectrum, mono, correlation.  Track: reduction, spectrum.
  assert_int_equal(n_plots, 5);
  free(text);
}

static int
start(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  write_session();
  return 0;
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(loudness_is_that_of_the_standard),
    cmocka_unit_test(spectrum_of_a_sine),
    cmocka_unit_test(spectrum_of_noise),
    cmocka_unit_test(image_of_known_pairs),
    cmocka_unit_test(series_keeps_the_highest),
    cmocka_unit_test(series_does_not_grow),
    cmocka_unit_test(json_is_escaped),
    cmocka_unit_test(json_has_the_figures),
    cmocka_unit_test(page_stands_alone),
  };
  return cmocka_run_group_tests_name("session-report", tests, start,
                                     leave_tree);
}
