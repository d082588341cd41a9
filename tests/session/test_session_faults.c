// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Faults in a session: one line, the right exit status, no file left

#include "tests/support/fault_check.h"

static void
check_session(const char* text, const char* want)
{
  write_text("s.ini", text);
  check_says("s.ini -o out", 1, want);
}

static int
enter_with_files(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  sound s = write_noise("a.wav", RATE_HZ, 1, 4800);
  sound_free(&s);
  write_text("t.ini", "[delay]\n");
  write_text("good.ini", "[track a]\nfile = a.wav\nsetup = t.ini\n");
  write_text("s.ini", "");
  write_text("stdout", "");
  write_text("stderr", "");
  return 0;
}

static void
usage_faults(void** state)
{
  (void)state;
  check_says("", 2, "no session; expected SESSION");
  check_says("good.ini", 2, "no output folder; expected -o FOLDER");
  check_says("good.ini t.ini -o out", 2,
             "a second session t.ini; expected one");
  check_says("good.ini -o", 2, "-o: needs an argument");
  check_says("good.ini --loud", 2, "unknown option --loud; try --help");
  check_says("good.ini -o out --threads 0", 2,
             "--threads 0: expected a whole number from 1 to 64");
}

static void
section_faults(void** state)
{
  (void)state;
  check_says("none.ini -o out", 1,
             "none.ini: no such file; expected a session");
  check_says(". -o out", 1, ".: is a folder; expected a session");
  check_session("", "s.ini:1: no track in this file; expected a section such "
                    "as [track NAME]");
  check_session("gain_db = 3\n",
                "s.ini:1: 'gain_db' before the first section; expected a "
                "section such as [track NAME]");
  check_session("[trakc a]\n",
                "s.ini:1: unknown section [trakc a]; expected [track NAME], "
                "[send plate], [send room], [bus] or [output]");
  check_session("[track a\n",
                "s.ini:1: a heading without ']'; expected [track NAME], [send "
                "plate], [send room], [bus] or [output]");
  check_session("[bus] loud\n",
                "s.ini:1: text after a heading; expected the heading "
                "alone");
  check_session("[bus]\ngain_db\n",
                "s.ini:2: a line without '='; expected key = value");
  check_session("[send hall]\n",
                "s.ini:1: unknown section [send hall]; expected [track NAME], "
                "[send plate], [send room], [bus] or [output]");
  check_session("[track]\n",
                "s.ini:1: track ''; expected a name in UTF-8 of 1 to 512 "
                "bytes");
  check_session("[track \"\"]\n",
                "s.ini:1: track ''; expected a name in UTF-8 of 1 to 512 "
                "bytes");
  check_session("[track caf\xE9]\n", // ISO 8859-1
                "s.ini:1: track 'caf\\xE9'; expected a name in UTF-8 of 1 to "
                "512 bytes");
  check_session("[track \"a]\n",
                "s.ini:1: a quote that is not closed; expected [track NAME], "
                "[send plate], [send room], [bus] or [output]");
  check_session("[track \"a\" b]\n",
                "s.ini:1: track \"a\" b; expected its name alone in quotes");
  check_session("[track a]\nfile = a.wav\n\n[track A]\n",
                "s.ini:4: a second track 'A' (first on line 1); expected "
                "another name");
  check_session("[bus]\n[ bus ]\n",
                "s.ini:2: a second section for the bus (first on line 1); "
                "expected one");
  check_session("[track a]\npan = 3\n",
                "s.ini:1: track 'a' has no file; expected file = ...");
}

static void
value_faults(void** state)
{
  (void)state;
  check_session("[track a]\nfile = b.wav\n",
                "s.ini:2: file = b.wav: No such file or directory; expected a "
                "sound file");
  check_session("[track a]\nfile = \"a.wav\n",
                "s.ini:2: a quote that is not closed; expected a second one");
  check_session("[track a]\nfile = \"a.wav\" b\n",
                "s.ini:2: text behind a closing quote; expected the value "
                "alone");
  check_session("[track a]\nfile = \"\"\n",
                "s.ini:2: nothing on one side of '='; expected key = value");
  check_session("[track a]\nfile = .\n",
                "s.ini:2: file = .: is a folder; expected a sound file");
  check_session("[track a]\nsetup = rythm.ini\n",
                "s.ini:2: setup = rythm.ini: No such file or directory; "
                "expected a setup");
  check_session(
    "[track a]\npan = base + 3\n",
    "s.ini:2: pan = base + 3: base is for setups; expected a value");
  check_session("[track a]\npan = 120\n",
                "s.ini:2: pan = 120 is out of range; expected a number from "
                "-100 to 100");
  check_session("[track a]\npan = left\n",
                "s.ini:2: pan = left; expected a number from -100 to 100");
  check_session("[track a]\ngain_db = 3 ms\n",
                "s.ini:2: gain_db = 3 ms: 'ms' is not its unit; expected a "
                "number from -60 to 24 dB");
  check_session("[track a]\nalign = maybe\n",
                "s.ini:2: align = maybe; expected on or off");
  check_session("[track a]\nplat_db = -3\n",
                "s.ini:2: unknown key 'plat_db' of a track; did you mean "
                "'plate_db'?");
  check_session("[send plate]\npan = 3\n",
                "s.ini:2: unknown key 'pan' of a send; expected one of: setup, "
                "gain_db");
  check_session("[track a]\npan = 3\npan = 4\n",
                "s.ini:3: a second pan in this section; expected one");
}

static void
output_faults(void** state)
{
  (void)state;
  check_session("[output]\nbits = 20\n",
                "s.ini:2: bits = 20; expected one of: 16, 24, float");
  check_session("[output]\nstems = mp3\n",
                "s.ini:2: stems = mp3; expected one of: wav, flac, off, on, "
                "yes, no, 1, 0");
  check_session(
    "[track a]\nfile = a.wav\n[output]\nstems = flac\nbits = float\n",
    "s.ini:3: stems = flac with bits = float: FLAC cannot hold "
    "float; expected stems = wav, or bits = 16 or 24");
  check_session("[output]\nlisten = soon\n",
                "s.ini:2: listen = soon; expected minutes and seconds such as "
                "0:21, or no");
  check_session("[track a]\nlisten = 0:60\n",
                "s.ini:2: listen = 0:60; expected minutes and seconds such as "
                "0:21, or no");
  check_session("[track a]\nlisten = -3\n",
                "s.ini:2: listen = -3; expected minutes and seconds such as "
                "0:21, or no");
  check_session("[bus]\nlisten = 3\n",
                "s.ini:2: unknown key 'listen' of the bus; expected one of: "
                "setup, gain_db");
  check_session("[track a]\nlisten = 1\nlisten = no\n",
                "s.ini:3: a second listen in this section; expected one");
}

static void
deeper_faults(void** state)
{
  (void)state;
  write_text("bad.ini", "[delay]\ngain_db = 60\n");
  check_session("[track a]\nfile = a.wav\nsetup = bad.ini\n",
                "bad.ini:2: gain_db = 60 is out of range; expected a number "
                "from -24 to 12.5 dB");
  check_session("[track a]\nfile = t.ini\n",
                "t.ini: is not a sound file that can be read (Format not "
                "recognised.); expected WAV, FLAC or AIFF");
  write_text("bad.ini", "[breaker]\n");
  check_session("[track a]\nfile = a.wav\nsetup = bad.ini\n",
                "track 'a': breaker: outputs samples that are not finite, near "
                "frame 512");
  check_session("[track a]\nfile = a.wav\n[bus]\nsetup = bad.ini\n",
                "bus: breaker: has no form for a stereo signal");
  check_session(
    "[track a]\nfile = a.wav\n[output]\nlisten = 1:02.5\n",
    "s.ini:4: listen = 1:02.5: the piece ends at 0:04.1; expected a "
    "time at least 1 s before that");
  check_session("[track a]\nfile = a.wav\nalign = yes\n",
                "track 'a': align = yes needs di-cleanup, which is not in the "
                "bundle");
  (void)unlink("bad.ini");
}

/// A send without a section gives a warning, not an error
static void
missing_send_is_none(void** state)
{
  (void)state;
  write_text("s.ini", "[track a]\nfile = a.wav\nplate_db = -3\n");
  char text[1024];
  (void)snprintf(text, sizeof(text), "--bundle %s s.ini -o out --quiet",
                 FIXTURE_DIR);
  assert_int_equal(render_status(text), 0);
  assert_string_equal(read_text("stderr"),
                      "dustcap-session: warning: s.ini: track 'a' sends to the "
                      "plate, but there is no section [send plate]\n");
  assert_string_equal(read_text("stdout"), "");
  remove_tree("out");
}

/// Only output of this program is ever replaced
static void
folders_of_others_stay(void** state)
{
  (void)state;
  session_well(FIXTURE_DIR, "good.ini -o out --quiet");
  session_well(FIXTURE_DIR, "good.ini -o out/ --quiet"); // Replaced
  write_text("out/stems/notes.txt", "precious");
  check_says("good.ini -o out", 1,
             "out: holds stems/notes.txt, which was not written by this "
             "program or has changed since; expected a new folder");
  assert_int_equal(unlink("out/stems/notes.txt"), 0);

  // A folder of somebody's under a name of this program's
  assert_int_equal(rename("out/mix.wav", "mix.wav"), 0);
  assert_int_equal(mkdir("out/mix.wav", 0777), 0);
  write_text("out/mix.wav/notes.txt", "precious");
  check_says("good.ini -o out", 1,
             "out: holds mix.wav, which was not written by this program or has "
             "changed since; expected a new folder");
  assert_string_equal(read_text("out/mix.wav/notes.txt"), "precious");
  remove_tree("out/mix.wav");
  assert_int_equal(rename("mix.wav", "out/mix.wav"), 0);
  write_text("out/stems/notes.txt", "precious");
  assert_string_equal(read_text("out/stems/notes.txt"), "precious");
  remove_tree("out");
  assert_int_equal(mkdir("out", 0777), 0); // An empty one counts as none
  session_well(FIXTURE_DIR, "good.ini -o out --quiet");
  remove_tree("out");
  check_says("good.ini -o a.wav", 1,
             "a.wav: is not a folder; expected a new one");
  check_says("good.ini -o .", 1, ".: expected the name of a new folder");
  check_says("good.ini -o none/out", 1,
             "none/out: cannot be created there (No such file or directory)");
}

/// A track whose full scale is that of 16 bits: half of it would be muted
static void
scale_fault(void** state)
{
  (void)state;
  sound s = sound_noise(FLOAT_WAV, RATE_HZ, 1, 48000);
  for (int i = 0; i < 48000; ++i) {
    s.x[i] *= 32768.0F;
  }
  s.x[47000] = -16400.0F;
  sound_write(&s, "scaled.wav");
  sound_free(&s);
  check_session("[track a]\nfile = a.wav\n[track b]\nfile = scaled.wav\n",
                "track 'b': scaled.wav: samples reach 16400: seems to be "
                "floating point at integer scale; expected +-1.0 (divide by "
                "32768 when exporting)");
  assert_int_equal(unlink("scaled.wav"), 0);
}

static void
failure_keeps_the_old_folder(void** state)
{
  (void)state;
  session_well(FIXTURE_DIR, "good.ini -o out --quiet");
  sound mix = sound_read("out/mix.wav");
  write_text("bad.ini", "[breaker]\n");
  check_session("[track a]\nfile = a.wav\nsetup = bad.ini\n",
                "track 'a': breaker: outputs samples that are not finite, near "
                "frame 512");
  sound same = sound_read("out/mix.wav");
  assert_memory_equal(mix.x, same.x,
                      (size_t)mix.info.frames * 2 * sizeof(float));
  sound_free(&mix);
  sound_free(&same);
  (void)unlink("bad.ini");
  remove_tree("out");
}

static void
signals_leave_nothing(void** state)
{
  (void)state;
  sound s = write_noise("long.wav", RATE_HZ, 1, 480000); // 19 s at least
  sound_free(&s);
  write_text("slow.ini", "[dawdler]\n");
  write_text("s.ini", "[track a]\nfile = long.wav\nsetup = slow.ini\n");
  check_signals("s.ini -o out");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(usage_faults),
    cmocka_unit_test(section_faults),
    cmocka_unit_test(value_faults),
    cmocka_unit_test(output_faults),
    cmocka_unit_test(deeper_faults),
    cmocka_unit_test(missing_send_is_none),
    cmocka_unit_test(folders_of_others_stay),
    cmocka_unit_test(scale_fault),
    cmocka_unit_test(failure_keeps_the_old_folder),
    cmocka_unit_test(signals_leave_nothing),
  };
  return cmocka_run_group_tests_name("session-faults", tests, enter_with_files,
                                     leave_tree);
}
