// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Messages and exit status of the renderer: levels, warnings, errors.  Each
/// fault gives one line, the right exit status, and leaves no file.

#include "tests/support/fault_check.h"

#include <sys/resource.h>

static void
check_fault(const char* line, const char* want)
{
  check_says(line, 1, want);
}

static void
check_usage(const char* line, const char* want)
{
  check_says(line, 2, want);
}

/// A good file and a good setup, so that each fault is the only one
static void
write_good(void)
{
  sound in = sound_noise(FLOAT_WAV, RATE_HZ, 1, 4800);
  sound_write(&in, "in.wav");
  sound_free(&in);
  write_text("s.ini", "[delay]\n");
  write_text("stdout", "");
  write_text("stderr", "");
}

static void
usage_faults(void** state)
{
  (void)state;
  write_good();
  check_usage("", "no input file; expected IN");
  check_usage("in.wav -o out.wav", "no setup; expected --setup FILE");
  check_usage("in.wav --setup s.ini", "no output file; expected -o OUT");
  check_usage("in.wav --setup", "--setup: needs an argument");
  check_usage("in.wav -x", "unknown option -x; try --help");
  check_usage("in.wav --louder", "unknown option --louder; try --help");
  check_usage("in.wav --sutep s.ini",
              "unknown option --sutep; did you mean --setup?");
  check_usage("in.wav --quiet=2", "--quiet=2: takes no argument");
  check_usage("in.wav --louder=3", "unknown option --louder=3; try --help");
  check_usage("a.wav b.wav --setup s.ini -o out.wav",
              "a second input file b.wav; expected one");
  check_usage("in.wav --setup s.ini -o out.wav --bits 20",
              "--bits 20: expected 16, 24 or float");
  check_usage("in.wav --setup s.ini -o out.wav --rate 4000",
              "--rate 4000: expected a whole number from 8000 to 384000");
  check_usage("in.wav --setup s.ini -o out.wav --rate 48000.5",
              "--rate 48000.5: expected a whole number from 8000 to 384000");
  check_usage("in.wav --setup s.ini -o out.wav --tail nan",
              "--tail nan: expected a number from 0 to 60");
  check_usage("in.wav --setup s.ini -o out.wav --tail 1s",
              "--tail 1s: expected a number from 0 to 60");
}

static void
input_faults(void** state)
{
  (void)state;
  write_good();
  check_fault("none.wav --setup s.ini -o out.wav",
              "none.wav: No such file or directory; expected a sound file");
  check_fault(". --setup s.ini -o out.wav",
              ".: is a folder; expected a sound file");
  check_fault("s.ini --setup s.ini -o out.wav",
              "s.ini: is not a sound file that can be read (Format not "
              "recognised.); expected WAV, FLAC or AIFF");
  sound s = sound_new(FLOAT_WAV, RATE_HZ, 1, 0);
  sound_write(&s, "bad.wav");
  sound_free(&s);
  check_fault("bad.wav --setup s.ini -o out.wav",
              "bad.wav: holds no audio (0 frames)");
  s = sound_noise(FLOAT_WAV, RATE_HZ, 6, 100);
  sound_write(&s, "bad.wav");
  sound_free(&s);
  check_fault("bad.wav --setup s.ini -o out.wav",
              "bad.wav: 6 channels; expected 1 or 2");
  s = sound_noise(FLOAT_WAV, 4000, 1, 100);
  sound_write(&s, "bad.wav");
  sound_free(&s);
  check_fault("bad.wav --setup s.ini -o out.wav",
              "bad.wav: sample rate 4000 Hz; expected 8000 to 384000 Hz");
}

static void
sample_faults(void** state)
{
  (void)state;
  write_good();
  sound s             = sound_noise(FLOAT_WAV, RATE_HZ, 2, 90000);
  s.x[2 * 77777L + 1] = NAN;
  s.x[2 * 77778L]     = INFINITY;
  sound_write(&s, "bad.wav");
  check_fault(
    "bad.wav --setup s.ini -o out.wav",
    "bad.wav: not a number at frame 77777 of channel 2; expected finite "
    "samples");
  check_fault(
    "bad.wav --setup s.ini -o out.wav --rate 44100",
    "bad.wav: not a number at frame 77777 of channel 2; expected finite "
    "samples");
  s.x[2 * 77777L + 1] = 0.0F;
  sound_write(&s, "bad.wav");
  check_fault(
    "bad.wav --setup s.ini -o out.wav",
    "bad.wav: an infinite sample at frame 77778 of channel 1; expected "
    "finite samples");
  sound_free(&s);
  // A FLAC file that was cut short
  s = sound_noise(SF_FORMAT_FLAC | SF_FORMAT_PCM_24, RATE_HZ, 1, 90000);
  sound_write(&s, "bad.wav");
  sound_free(&s);
  assert_int_equal(truncate("bad.wav", 100000), 0);
  char text[2048];
  (void)snprintf(text, sizeof(text),
                 "--bundle %s bad.wav --setup s.ini -o out.wav", FIXTURE_DIR);
  const int n = count_files(".");
  assert_int_equal(WEXITSTATUS(render_status(text)), 1);
  assert_int_equal(count_files("."), n);
  assert_non_null(strstr(read_text("stderr"), "dustcap-render: bad.wav: "));
  assert_int_equal(strcspn(read_text("stderr"), "\n") + 1,
                   strlen(read_text("stderr")));
}

/// Noise with a full scale of `scale`, and one sample of `peak` near the end
static void
write_scaled(int format, float scale, float peak)
{
  sound s = sound_noise(format, RATE_HZ, 2, 90000);
  for (long i = 0; i < 2 * 90000L; ++i) {
    s.x[i] *= scale;
  }
  s.x[2 * 88888L + 1] = peak;
  sound_write(&s, "bad.wav");
  sound_free(&s);
}

/// Floating point at the scale of integers: the stages mute beyond +-1000
static void
scale_faults(void** state)
{
  (void)state;
  write_good();
  const int double_wav = SF_FORMAT_WAV | SF_FORMAT_DOUBLE;
  static const struct {
    float       scale, peak;
    const char* want;
  } takes[] = {
    {30000.0F, 16383.5F,
     "16383.5: seems to be floating point at integer "
     "scale; expected +-1.0 (divide by 32768 when "
     "exporting)"},
    {8388608.0F, -8388608.0F,
     "8388608: seems to be floating point at integer "
     "scale; expected +-1.0 (divide by 8388608 when "
     "exporting)"},
    {2147483648.0F, 2147483648.0F,
     "2.147484e+09: seems to be floating point at integer scale; expected "
     "+-1.0 (divide by 2147483648 when exporting)"},
    {1.0F, 1e20F, "1e+20; expected +-1.0"},
    {1.0F, 1000.1F,
     "1000.1: seems to be floating point at integer scale; "
     "expected +-1.0 (divide by 32768 when exporting)"},
  };
  for (size_t i = 0; i < sizeof(takes) / sizeof(takes[0]); ++i) {
    char want[256];
    (void)snprintf(want, sizeof(want), "bad.wav: samples reach %s",
                   takes[i].want);
    write_scaled(i % 2 ? double_wav : FLOAT_WAV, takes[i].scale, takes[i].peak);
    check_fault("bad.wav --setup s.ini -o out.wav", want);
    check_fault("bad.wav --setup s.ini -o out.wav --rate 44100 --compare",
                want);
  }
  // Hot, but all of it passes the stages
  write_scaled(FLOAT_WAV, 100.0F, 1000.0F);
  check_says(
    "bad.wav --setup s.ini -o out.wav --bits float", 0,
    "warning: bad.wav: hot: the playing is at 29.2 dBFS RMS, 47.2 dB "
    "above the level of the stages (peak +60.0 dBFS); set align = yes, "
    "or record with less gain");
  assert_int_equal(unlink("out.wav"), 0);
}

static void
setup_faults(void** state)
{
  (void)state;
  write_good();
  check_fault("in.wav --setup none.ini -o out.wav",
              "none.ini: no such file; expected a setup");
  write_text("bad.ini", "[delay]\ngain_db = 60 dB\n");
  check_fault("in.wav --setup bad.ini -o out.wav",
              "bad.ini:2: gain_db = 60 dB is out of range; expected a number "
              "from -24 to 12.5 dB");
}

static void
stage_faults(void** state)
{
  (void)state;
  write_good();
  sound s = sound_noise(FLOAT_WAV, RATE_HZ, 2, 4800);
  sound_write(&s, "stereo.wav");
  sound_free(&s);
  write_text("bad.ini", "[breaker]\n");
  check_fault("in.wav --setup bad.ini -o out.wav",
              "breaker: outputs samples that are not finite, near frame 512");
  check_fault("stereo.wav --setup bad.ini -o out.wav",
              "breaker: has no form for a stereo signal");
  write_text("bad.ini", "[shifter]\n");
  check_fault("in.wav --setup bad.ini -o out.wav",
              "shifter: changes its latency from 37 to 7 frames while "
              "playing");
  write_text("bad.ini", "[decliner]\n");
  check_fault("in.wav --setup bad.ini -o out.wav",
              "urn:fixture:decliner: cannot be instantiated at 48000 Hz");
  write_text("bad.ini", "[demander]\n");
  check_fault("in.wav --setup bad.ini -o out.wav",
              "urn:fixture:demander: requires <urn:fixture:unheard-of>, which "
              "is not offered here");
}

static void
bundle_faults(void** state)
{
  (void)state;
  write_good();
  check_fault("--bundle none in.wav --setup s.ini -o out.wav",
              "none: no such folder; expected an LV2 bundle");
  check_fault("--bundle . in.wav --setup s.ini -o out.wav",
              ".: has no manifest.ttl; expected an LV2 bundle");
  write_text("manifest.ttl", "# Nothing\n");
  check_fault("--bundle . in.wav --setup s.ini -o out.wav",
              ".: holds no plugin");
}

static void
output_faults(void** state)
{
  (void)state;
  write_good();
  check_fault("in.wav --setup s.ini -o none/out.wav",
              "none/out.wav: cannot write in that folder (No such file or "
              "directory)");
  check_fault("in.wav --setup s.ini -o in.wav/out.wav",
              "in.wav/out.wav: cannot write in that folder (Not a directory)");
  check_fault("in.wav --setup s.ini -o out.mp3",
              "out.mp3: unknown kind of file; expected .wav, .flac or .aiff");
  check_fault("in.wav --setup s.ini -o out",
              "out: unknown kind of file; expected .wav, .flac or .aiff");
  check_fault("in.wav --setup s.ini -o out.flac --bits float",
              "out.flac: FLAC cannot hold float; expected 16 or 24 bits");
  check_fault("in.wav --setup s.ini -o ./in.wav",
              "./in.wav: is the input; expected another file to write");
  assert_int_equal(link("s.ini", "s.wav"), 0);
  check_fault("in.wav --setup s.ini -o s.wav",
              "s.wav: is the setup s.ini; expected another file to write");
  write_text("from.ini", "from = s.ini\n");
  assert_int_equal(rename("s.wav", "out-dry.wav"), 0);
  check_fault("in.wav --setup from.ini -o out.wav --compare",
              "out-dry.wav: is the setup s.ini; expected another file to "
              "write");
  assert_int_equal(unlink("out-dry.wav"), 0);
  assert_int_equal(mkdir("out.wav", 0777), 0);
  check_fault("in.wav --setup s.ini -o out.wav",
              "out.wav: is not a regular file; expected one, or none");
  assert_int_equal(rmdir("out.wav"), 0);
}

static struct rlimit any_size;

static int
limit_sizes(void** state)
{
  (void)state;
  if (getrlimit(RLIMIT_FSIZE, &any_size)) {
    return -1;
  }
  const struct rlimit small = {.rlim_cur = 65536,
                               .rlim_max = any_size.rlim_max};
  write_good();
  return setrlimit(RLIMIT_FSIZE, &small);
}

static int
unlimit_sizes(void** state)
{
  (void)state;
  return setrlimit(RLIMIT_FSIZE, &any_size);
}

/// The disk fills up: here a limit on the size of files
static void
full_disk(void** state)
{
  (void)state;
  check_fault("in.wav --setup s.ini -o out.wav",
              "out.wav: cannot be written (File too large)");
}

/// A failure leaves the older file
static void
old_output_stays(void** state)
{
  (void)state;
  write_good();
  write_text("out.wav", "precious");
  write_text("bad.ini", "[breaker]\n");
  check_fault("in.wav --setup bad.ini -o out.wav",
              "breaker: outputs samples that are not finite, near frame 512");
  assert_string_equal(read_text("out.wav"), "precious");
  check_says("in.wav --setup s.ini -o out.wav", 0, "");
  assert_true(strcmp(read_text("out.wav"), "precious") != 0);
  assert_int_equal(unlink("out.wav"), 0);
}

static void
signals_leave_nothing(void** state)
{
  (void)state;
  write_good();
  sound s = sound_noise(FLOAT_WAV, RATE_HZ, 1, 480000); // 19 s at least
  sound_write(&s, "in.wav");
  sound_free(&s);
  write_text("slow.ini", "[dawdler]\n");
  check_signals("in.wav --setup slow.ini -o out.wav");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(usage_faults),
    cmocka_unit_test(input_faults),
    cmocka_unit_test(sample_faults),
    cmocka_unit_test(scale_faults),
    cmocka_unit_test(setup_faults),
    cmocka_unit_test(stage_faults),
    cmocka_unit_test(bundle_faults),
    cmocka_unit_test(output_faults),
    cmocka_unit_test_setup_teardown(full_disk, limit_sizes, unlimit_sizes),
    cmocka_unit_test(old_output_stays),
    cmocka_unit_test(signals_leave_nothing),
  };
  return cmocka_run_group_tests_name("render-faults", tests, enter_folder,
                                     leave_folder);
}
