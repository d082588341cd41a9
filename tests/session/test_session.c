// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Sessions from end to end: all files line up, nothing is added or lost, and
/// the order of threads does not matter

#include "tests/support/session_check.h"

#include "presets-demo/render/host/catalogue.h"

#define N_FRAMES 30000

/// Gains of a track; constant power as tested below
typedef struct {
  double sides[2];
} pan_gains;

static pan_gains
gains_of(double gain_db, double pan, int n_channels)
{
  const double gain  = pow(10.0, gain_db / 20.0);
  const double angle = (pan + 100.0) / 200.0 * DSP_PI / 2.0;
  pan_gains    g     = {{cos(angle), sin(angle)}};
  for (int k = 0; k < 2; ++k) {
    g.sides[k] =
      gain * (n_channels == 1 ? g.sides[k] : fmin(1.0, sqrt(2.0) * g.sides[k]));
  }
  return g;
}

/// Adds a track's sound times its gains and `factor` to `sum`
static void
add_track(double*      sum,
          const sound* s,
          double       gain_db,
          double       pan,
          double       factor)
{
  const pan_gains g = gains_of(gain_db, pan, s->info.channels);
  for (sf_count_t i = 0; i < s->info.frames; ++i) {
    for (int k = 0; k < 2; ++k) {
      const int from = k < s->info.channels ? k : 0;
      sum[2 * i + k] +=
        factor * g.sides[k] * (double)s->x[i * s->info.channels + from];
    }
  }
}

/// Checks that the RMS of the difference is below -140 dBFS
static void
check_null(const char* name, const double* want, sf_count_t n)
{
  sound  got = sound_read(name);
  double sum = 0.0;
  assert_int_equal(got.info.channels, 2);
  assert_int_equal(got.info.frames, n);
  for (sf_count_t i = 0; i < 2 * n; ++i) {
    const double d = (double)got.x[i] - want[i];
    sum += d * d;
  }
  assert_below(10.0 * log10(sum / (double)(2 * n) + 1e-30), -140.0);
  sound_free(&got);
}

/// Three tracks, both sends and the bus make a plain sum with all stages off
static void
check_plain_sum(const char* bundle)
{
  sound a = write_noise("a.wav", RATE_HZ, 1, N_FRAMES);
  sound b = write_noise("b.wav", RATE_HZ, 2, N_FRAMES - 7000);
  sound c = write_noise("c.wav", RATE_HZ, 1, 100);
  for (int i = 0; i < N_FRAMES; ++i) {
    a.x[i] *= 0.3F;
  }
  sound_write(&a, "a.wav");
  write_text("null.ini",
             "[track one]\nfile = a.wav\nsetup = track.ini\npan = -70\n"
             "gain_db = -3\nplate_db = -6\nroom_db = -12 dB\n"
             "[track two]\nfile = b.wav\nsetup = track.ini\npan = 25\n"
             "gain_db = -12\nroom_db = -20\n"
             "[track three]\nfile = c.wav\npan = 100\nplate_db = -60\n"
             "[send plate]\nsetup = send.ini\n"
             "[send room]\nsetup = send.ini\ngain_db = -6\n"
             "[bus]\nsetup = bus.ini\n"
             "[output]\nbits = float\ntail_s = 0.5\n");
  session_well(bundle, "null.ini -o out --quiet");

  const sf_count_t n       = N_FRAMES + RATE_HZ / 2;
  double* const    sum     = calloc((size_t)n * 2, sizeof(double));
  double* const    sends[] = {calloc((size_t)n * 2, sizeof(double)),
                              calloc((size_t)n * 2, sizeof(double))};
  assert_true(sum && sends[0] && sends[1]);
  const double room = pow(10.0, -6.0 / 20.0);
  add_track(sends[0], &a, -3.0, -70.0, pow(10.0, -6.0 / 20.0));
  add_track(sends[1], &a, -3.0, -70.0, room * pow(10.0, -12.0 / 20.0));
  add_track(sends[1], &b, -12.0, 25.0, room * pow(10.0, -20.0 / 20.0));
  add_track(sum, &a, -3.0, -70.0, 1.0);
  check_null("out/stems/track-one.wav", sum, n);
  add_track(sum, &b, -12.0, 25.0, 1.0);
  add_track(sum, &c, 0.0, 100.0, 1.0);
  for (sf_count_t i = 0; i < 2 * n; ++i) {
    sum[i] += sends[0][i] + sends[1][i];
  }
  check_null("out/stems/send-plate.wav", sends[0], n);
  check_null("out/stems/send-room.wav", sends[1], n);
  check_null("out/stems/bus-input.wav", sum, n);
  check_null("out/mix.wav", sum, n);
  sound dry = sound_read("out/stems/dry-one.wav");
  assert_int_equal(dry.info.channels, 1);
  assert_int_equal(dry.info.frames, n);
  assert_memory_equal(dry.x, a.x, N_FRAMES * sizeof(float));
  sound_free(&dry);
  sound_free(&a);
  sound_free(&b);
  sound_free(&c);
  free(sum);
  free(sends[0]);
  free(sends[1]);
}

/// Mixes a session with those lines in its [output] into a folder
static void
mix_as(const char* output, const char* folder)
{
  char text[512];
  (void)snprintf(text, sizeof(text),
                 "[track one]\nfile = a.wav\npan = -70\nplate_db = -6\n"
                 "[send plate]\n[output]\ntail_s = 0\n%s",
                 output);
  write_text("kinds.ini", text);
  (void)snprintf(text, sizeof(text), "kinds.ini -o %s --quiet", folder);
  session_well(FIXTURE_DIR, text);
}

/// FLAC holds the same samples as WAV, of 16 and of 24 bits, at most as long
static void
stems_are_of_the_kind_that_is_asked_for(void** state)
{
  (void)state;
  static const char* const names[] = {"dry-one", "track-one", "send-plate",
                                      "bus-input"};
  static const int         bits[]  = {16, 24};
  sound                    a       = write_noise("a.wav", RATE_HZ, 1, 20000);
  for (int b = 0; b < 2; ++b) {
    char output[64];
    (void)snprintf(output, sizeof(output), "bits = %d\nstems = wav\n", bits[b]);
    mix_as(output, "as-wav");
    (void)snprintf(output, sizeof(output), "bits = %d\nstems = FLAC\n",
                   bits[b]);
    mix_as(output, "as-flac");
    for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
      char path[64];
      (void)snprintf(path, sizeof(path), "as-wav/stems/%s.wav", names[i]);
      sound wav = sound_read(path);
      (void)snprintf(path, sizeof(path), "as-flac/stems/%s.flac", names[i]);
      sound     flac   = sound_read(path);
      const int format = bits[b] == 16 ? SF_FORMAT_PCM_16 : SF_FORMAT_PCM_24;
      assert_int_equal(wav.info.format, SF_FORMAT_WAV | format);
      assert_int_equal(flac.info.format, SF_FORMAT_FLAC | format);
      assert_int_equal(flac.info.channels, wav.info.channels);
      assert_int_equal(flac.info.frames, wav.info.frames);
      assert_memory_equal(flac.x, wav.x,
                          (size_t)(wav.info.frames * wav.info.channels) *
                            sizeof(float));
      sound_free(&wav);
      sound_free(&flac);
    }
  }
  assert_int_equal(count_files("as-flac/stems"), 4);
  mix_as("stems = off\n", "as-wav");
  assert_int_not_equal(access("as-wav/stems", F_OK), 0);
  assert_int_equal(access("as-wav/mix.wav", F_OK), 0);
  sound_free(&a);
}

/// Latencies of 74, 111 and 37 frames are taken out
static void
all_off_nulls_on_the_fixture(void** state)
{
  (void)state;
  write_text("track.ini", "[delay]\nenabled = off\ngain_db = 6\n");
  write_text("send.ini", "[widener]\nenabled = off\n[delay]\nenabled = off\n");
  write_text("bus.ini", "[widener]\nenabled = off\ngain_db = 3\n");
  check_plain_sum(FIXTURE_DIR);
}

static void
all_off_nulls_on_the_bundle(void** state)
{
  (void)state;
  catalogue parts;
  failure   f           = {""};
  char      track[4096] = "";
  char      group[4096] = "";
  assert_true(catalogue_open(&parts, BUNDLE_DIR, &f));
  for (uint32_t i = 0; i < parts.n_parts; ++i) {
    const part* const p = &parts.parts[i];
    char              text[256];
    (void)snprintf(text, sizeof(text), "[%s]\nenabled = off\n", p->stem);
    strcat(p->forms[0].n_in == 1 && p->forms[0].n_out == 1 ? track : group,
           text);
  }
  catalogue_close(&parts);
  write_text("track.ini", track);
  write_text("send.ini", group);
  write_text("bus.ini", group);
  check_plain_sum(BUNDLE_DIR);
}

/// Checks that two files hold the same bytes
static void
check_same_file(const char* folder_a, const char* folder_b, const char* name)
{
  char a[256];
  char b[256];
  (void)snprintf(a, sizeof(a), "%s/%s", folder_a, name);
  (void)snprintf(b, sizeof(b), "%s/%s", folder_b, name);
  sound x = sound_read(a);
  sound y = sound_read(b);
  assert_int_equal(x.info.frames, y.info.frames);
  assert_int_equal(x.info.channels, y.info.channels);
  assert_memory_equal(
    x.x, y.x, (size_t)(x.info.frames * x.info.channels) * sizeof(float));
  sound_free(&x);
  sound_free(&y);
}

/// The same for any number of threads, on the built bundle
static void
threads_do_not_matter(void** state)
{
  (void)state;
  static const char* const files[] = {"mix.wav",
                                      "stems/track-one.wav",
                                      "stems/track-two.wav",
                                      "stems/track-three.wav",
                                      "stems/send-plate.wav",
                                      "stems/bus-input.wav"};
  sound                    a       = write_noise("a.wav", RATE_HZ, 1, N_FRAMES);
  sound                    b       = write_noise("b.wav", 44100, 2, N_FRAMES);
  write_text("track.ini", "[di-cleanup]\n[speaker-breakup]\n[air-shelf]\n");
  write_text("bus.ini", "[bus-tone]\n[bus-leveler]\n");
  write_text("many.ini",
             "[track one]\nfile = a.wav\nsetup = track.ini\nalign = yes\n"
             "plate_db = -10\n"
             "[track two]\nfile = b.wav\nsetup = track.ini\nalign = yes\n"
             "[track three]\nfile = a.wav\nplate_db = -10\n"
             "[send plate]\nsetup = bus.ini\n"
             "[bus]\nsetup = bus.ini\n"
             "[output]\nbits = float\ntail_s = 0.2\n");
  session_well(BUNDLE_DIR, "many.ini -o t1 --quiet --threads 1");
  for (int n = 2; n <= 7; ++n) {
    char line[256];
    (void)snprintf(line, sizeof(line), "many.ini -o tn --quiet --threads %d",
                   n);
    session_well(BUNDLE_DIR, line);
    for (size_t i = 0; i < sizeof(files) / sizeof(files[0]); ++i) {
      check_same_file("t1", "tn", files[i]);
    }
  }
  sound_free(&a);
  sound_free(&b);
}

/// Constant power: the squares of both gains of a mono track always have the
/// same sum, -3.01 dB each in the middle (common practice)
static void
pan_keeps_the_power(void** state)
{
  (void)state;
  static const double pans[] = {-100, -50, 0, 33, 100};
  sound               one    = sound_new(FLOAT_WAV, RATE_HZ, 1, 1);
  one.x[0]                   = 0.5F;
  sound_write(&one, "one.wav");
  for (size_t i = 0; i < sizeof(pans) / sizeof(pans[0]); ++i) {
    char text[256];
    (void)snprintf(text, sizeof(text),
                   "[track t]\nfile = one.wav\npan = %g\n"
                   "[output]\nbits = float\ntail_s = 0\n",
                   pans[i]);
    write_text("pan.ini", text);
    session_well(FIXTURE_DIR, "pan.ini -o out --quiet");
    sound        mix = sound_read("out/mix.wav");
    const double l   = 2.0 * (double)mix.x[0];
    const double r   = 2.0 * (double)mix.x[1];
    assert_near(l * l + r * r, 1.0, 1e-6);
    if (pans[i] == 0.0) {
      assert_near(20.0 * log10(l), -3.0103, 1e-4);
      assert_true(l == r);
    } else {
      assert_true((l > r) == (pans[i] < 0.0));
    }
    if (fabs(pans[i]) == 100.0) {
      assert_true((pans[i] < 0.0 ? r : l) == 0.0);
    }
    sound_free(&mix);
  }
  sound_free(&one);
}

/// A sine recorded at 44.1 kHz is the same sine in a session of 48 kHz
static void
rates_meet(void** state)
{
  (void)state;
  sound a = sound_new(FLOAT_WAV, 44100, 1, 44100);
  sound b = sound_new(FLOAT_WAV, RATE_HZ, 1, RATE_HZ);
  check_sine(a.x, 44100, 1000.0, 0.5, 44100);
  check_sine(b.x, RATE_HZ, 1000.0, -0.5, RATE_HZ);
  sound_write(&a, "a.wav");
  sound_write(&b, "b.wav");
  write_text("rates.ini", "[track a]\nfile = a.wav\n[track b]\nfile = b.wav\n"
                          "[output]\nbits = float\ntail_s = 0\n");
  session_well(FIXTURE_DIR, "rates.ini -o out --quiet");
  sound mix = sound_read("out/mix.wav");
  assert_int_equal(mix.info.samplerate, RATE_HZ);
  assert_int_equal(mix.info.frames, RATE_HZ);
  // Away from the ends, where the sine starts and stops abruptly
  for (int i = 2000; i < RATE_HZ - 2000; ++i) {
    assert_below(fabs((double)mix.x[2L * i]), 1e-5);
  }
  sound_free(&mix);
  sound_free(&a);
  sound_free(&b);
}

/// Checks the level to which a sine of -30 dBFS RMS is brought, without pauses
static void
check_aligned(const char* setup_text,
              const char* session_line,
              double      want_db,
              const char* want_row)
{
  sound        s    = sound_new(FLOAT_WAV, RATE_HZ, 1, 8L * RATE_HZ);
  const double peak = sqrt(2.0) * pow(10.0, -30.0 / 20.0);
  check_sine(s.x + RATE_HZ, 6 * RATE_HZ, 1000.0, peak, RATE_HZ);
  sound_write(&s, "s.wav");
  char text[256];
  (void)snprintf(text, sizeof(text),
                 "[track t]\nfile = s.wav\nsetup = flat.ini\n%s"
                 "pan = -100\n[output]\nbits = float\ntail_s = 0\n",
                 session_line);
  write_text("flat.ini", setup_text);
  write_text("align.ini", text);
  session_well(BUNDLE_DIR, "align.ini -o out");
  sound mix = sound_read("out/mix.wav");
  sound dry = sound_read("out/stems/dry-t.wav");
  float left[RATE_HZ];
  for (int i = 0; i < RATE_HZ; ++i) {
    left[i] = mix.x[2L * (3 * RATE_HZ + i)];
  }
  // The gate counts windows that are partly silent: a little more gain
  assert_near(check_rms_db(left, RATE_HZ), want_db, 0.3);
  assert_memory_equal(dry.x, s.x, 8 * RATE_HZ * sizeof(float));
  assert_non_null(strstr(read_text("stdout"), want_row));
  sound_free(&dry);
  sound_free(&mix);
  sound_free(&s);
}

/// Asked for by the session or the setup, once if by both; the session
/// overrides the setup
static void
align_brings_to_level(void** state)
{
  (void)state;
  static const char plain[] = "[di-cleanup]\nbody_db = 0\npresence_db = 0\n";
  static const char asks[] =
    "align = yes\n[di-cleanup]\nbody_db = 0\npresence_db = 0\n";
  static const char row[]  = "\nt        12.";
  static const char none[] = "\nt           -";
  check_aligned(plain, "align = yes\n", -18.0, row);
  check_aligned(asks, "", -18.0, row);
  check_aligned(asks, "align = yes\n", -18.0, row);
  check_aligned(plain, "", -30.0, none);
  check_aligned(asks, "align = no\n", -30.0, none);
}

/// Writes seconds of notes between seconds of silence: mono, or on the right of
/// a stereo file
static void
write_notes(const char* name, int n_channels, double peak)
{
  sound s = sound_new(FLOAT_WAV, RATE_HZ, n_channels, 6L * RATE_HZ);
  for (int i = RATE_HZ; i < 5 * RATE_HZ; ++i) {
    const double t = (double)(i % RATE_HZ) / RATE_HZ;
    s.x[(i + 1) * n_channels - 1] =
      (float)(peak * exp(-2.0 * t) * sin(2.0 * DSP_PI * 220.0 * t));
  }
  sound_write(&s, name);
  sound_free(&s);
}

/// A take on one channel plays as the mono one does, and a very quiet one as
/// the loud one: both come to the level
static void
bad_takes_are_mended(void** state)
{
  (void)state;
  write_notes("good.wav", 1, 0.3);
  write_notes("one.wav", 2, 0.3);
  write_notes("quiet.wav", 1, 0.3 * pow(10.0, -30.0 / 20.0));
  write_text("flat.ini", "align = yes\n[di-cleanup]\n");
  static const char* const names[] = {"good", "one", "quiet"};
  static const char* const wants[] = {
    "",
    "dustcap-session: warning: track 't': the left channel is silent: the "
    "right one is played as mono\n",
    "dustcap-session: warning: track 't': very quiet: the playing is at -49.7 "
    "dBFS RMS, 31.7 dB below the level of the stages; alignment lifts its "
    "noise "
    "as well: record with more gain\n"};
  sound good = {.x = NULL};
  for (int i = 0; i < 3; ++i) {
    char text[256];
    (void)snprintf(text, sizeof(text),
                   "[track t]\nfile = %s.wav\nsetup = flat.ini\n"
                   "[output]\nbits = float\ntail_s = 0\n",
                   names[i]);
    write_text("takes.ini", text);
    (void)snprintf(text, sizeof(text), "--bundle %s takes.ini -o takes",
                   BUNDLE_DIR);
    assert_int_equal(render_status(text), 0);
    assert_string_equal(read_text("stderr"), wants[i]);
    sound mix = sound_read("takes/mix.wav");
    sound dry = sound_read("takes/stems/dry-t.wav");
    assert_int_equal(dry.info.channels, 1);
    sound_free(&dry);
    if (!i) {
      good = mix;
      continue;
    }
    assert_int_equal(mix.info.frames, good.info.frames);
    for (sf_count_t k = 0; k < 2 * mix.info.frames; ++k) {
      assert_near((double)mix.x[k], (double)good.x[k], i == 1 ? 0.0 : 1e-3);
    }
    sound_free(&mix);
  }
  sound_free(&good);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(stems_are_of_the_kind_that_is_asked_for),
    cmocka_unit_test(all_off_nulls_on_the_fixture),
    cmocka_unit_test(all_off_nulls_on_the_bundle),
    cmocka_unit_test(threads_do_not_matter),
    cmocka_unit_test(pan_keeps_the_power),
    cmocka_unit_test(rates_meet),
    cmocka_unit_test(align_brings_to_level),
    cmocka_unit_test(bad_takes_are_mended),
  };
  return cmocka_run_group_tests_name("session", tests, enter_folder,
                                     leave_tree);
}
