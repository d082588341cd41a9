// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The exact line for each fault in a setup, and the nearest word

#include "tests/support/setup_check.h"

#include "plugins/text/spelling.h"

static void
write_bytes(const char* name, const char* text, size_t length)
{
  FILE* const f = fopen(name, "w");
  assert_non_null(f);
  assert_int_equal(fwrite(text, 1, length, f), length);
  assert_int_equal(fclose(f), 0);
}

static void
check_fault(const char* name, const char* want)
{
  setup   s;
  failure f = {""};
  assert_false(setup_load(&s, name, &parts, &f));
  assert_string_equal(f.text, want);
  assert_int_equal(s.n_stages, 0);
  assert_null(s.stages);
}

static void
check_fault_in(const char* text, const char* want)
{
  write_text("f.ini", text);
  check_fault("f.ini", want);
}

static void
faults_of_names(void** state)
{
  (void)state;
  check_fault_in("[delay]\n\n[dealy]\n",
                 "f.ini:3: unknown stage 'dealy'; did you mean 'delay'?");
  check_fault_in("[Splitter2]\n",
                 "f.ini:1: unknown stage 'Splitter2'; did you mean "
                 "'splitter'?");
  check_fault_in("[delay-stereo]\n",
                 "f.ini:1: unknown stage 'delay-stereo'; expected one of: "
                 "breaker, dawdler, decliner, delay, demander, shifter, "
                 "splitter, widener");
  check_fault_in("[delay]\ngain_bd = 3\n",
                 "f.ini:2: unknown control 'gain_bd' of delay; did you mean "
                 "'gain_db'?");
  check_fault_in("[delay]\ntempo = 3\n",
                 "f.ini:2: unknown control 'tempo' of delay; expected one of: "
                 "enabled, gain_db, mode, count, volume_m3");
  check_fault_in("[delay]\nreduction_db = 3\n",
                 "f.ini:2: unknown control 'reduction_db' of delay; expected "
                 "one of: enabled, gain_db, mode, count, volume_m3");
}

static void
faults_of_alignment(void** state)
{
  (void)state;
  check_fault_in("align = maybe\n[delay]\n",
                 "f.ini:1: align = maybe; expected on or off");
  check_fault_in("align = yes\nalign = no\n[delay]\n",
                 "f.ini:2: a second 'align' (first on line 1); expected one");
  check_fault_in("[delay]\nalign = yes\n",
                 "f.ini:2: unknown control 'align' of delay; expected one of: "
                 "enabled, gain_db, mode, count, volume_m3");
}

static void
faults_of_values(void** state)
{
  (void)state;
  static const struct {
    const char* line;
    const char* want;
  } rows[] = {
    {"gain_db = 12.6", " is out of range; expected a number from -24 to 12.5 "
                       "dB"},
    {"gain_db = -1e999", " is out of range; expected a number from -24 to 12.5 "
                         "dB"},
    {"gain_db = nan", "; expected a number from -24 to 12.5 dB"},
    {"gain_db = -inf", "; expected a number from -24 to 12.5 dB"},
    {"gain_db = 0x3", "; expected a number from -24 to 12.5 dB"},
    {"gain_db = loud", "; expected a number from -24 to 12.5 dB"},
    {"gain_db = 3,5", ": has a decimal comma, not a point; expected a "
                      "number from -24 to 12.5 dB"},
    {"gain_db = 3 Hz", ": 'Hz' is not its unit; expected a number from -24 to "
                       "12.5 dB"},
    {"gain_db = 3 # louder", ": '# louder' is not its unit; expected a number "
                             "from -24 to 12.5 dB"},
    {"count = 2 dB", ": 'dB' is not its unit; expected a whole number from 1 "
                     "to 9"},
    {"count = 2.5", " is not whole; expected a whole number from 1 to 9"},
    {"volume_m3 = 0", " is out of range; expected a number from 0.1 to 400 "
                      "m³"},
    {"mode = 1", "; expected one of: plain, upside down, 12 dB/oct"},
    {"mode = upside", "; expected one of: plain, upside down, 12 dB/oct"},
    {"enabled = maybe", "; expected on or off"},
    {"enabled = 2", "; expected on or off"},
    {"gain_db = base", ": there is no base; expected 'from = FILE' before the "
                       "first section"},
  };
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    char text[256];
    char want[512];
    (void)snprintf(text, sizeof(text), "[delay]\n%s\n", rows[i].line);
    (void)snprintf(want, sizeof(want), "f.ini:2: %s%s", rows[i].line,
                   rows[i].want);
    check_fault_in(text, want);
  }
}

static void
faults_relative_to_a_base(void** state)
{
  (void)state;
  static const struct {
    const char* line;
    const char* want;
  } rows[] = {
    {"gain_db = base + 9", " gives 13, which is out of range; expected a "
                           "number from -24 to 12.5 dB"},
    {"count = base / 4", " gives 0.5, which is out of range; expected a whole "
                         "number from 1 to 9"},
    {"count = base * 1.25",
     " gives 2.5, which is not whole; expected a whole number from "
     "1 to 9"},
    {"gain_db = base + 2 Hz", ": 'Hz' is not its unit; expected a number from "
                              "-24 to 12.5 dB"},
    {"gain_db = base * 2 dB", ": unit 'dB'; expected a plain factor"},
    {"gain_db = base / 0", "; expected base + x, base - x, base * x or base / "
                           "x"},
    {"gain_db = base +", "; expected base + x, base - x, base * x or base / x"},
    {"gain_db = base 2", "; expected base + x, base - x, base * x or base / x"},
    {"gain_db = base ^ 2", "; expected base + x, base - x, base * x or base / "
                           "x"},
    {"gain_db = base + nan", "; expected base + x, base - x, base * x or base "
                             "/ x"},
    {"gain_db = based", "; expected a number from -24 to 12.5 dB"},
    {"mode = base + 1", "; expected one of: plain, upside down, 12 dB/oct"},
    {"enabled = base * 0", "; expected on or off"},
  };
  write_text("base.ini", "[delay]\ngain_db = 4\n");
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    char text[256];
    char want[512];
    (void)snprintf(text, sizeof(text), "from = base.ini\n[delay]\n%s\n",
                   rows[i].line);
    (void)snprintf(want, sizeof(want), "f.ini:3: %s%s", rows[i].line,
                   rows[i].want);
    check_fault_in(text, want);
  }
}

static void
faults_of_bases(void** state)
{
  (void)state;
  write_text("base.ini", "[delay]\ngain_db = 99\n");
  check_fault_in("from = base.ini\n[delay]\n",
                 "base.ini:2: gain_db = 99 is out of range; expected a number "
                 "from -24 to 12.5 dB");
  check_fault_in("\nfrom = none.ini\n[delay]\n",
                 "f.ini:2: from = none.ini: no file none.ini; expected another "
                 "setup");
  check_fault_in("from = .\n[delay]\n",
                 "f.ini:1: from = .: no file .; expected another setup");
  check_fault_in("from = f.ini\n[delay]\n",
                 "f.ini:1: from = f.ini leads back to f.ini; expected a base "
                 "that does not");
  write_text("g.ini", "; first\nfrom = h.ini\n[delay]\n");
  write_text("h.ini", "from = ./g.ini\n[delay]\n");
  check_fault_in("from = g.ini\n[delay]\n",
                 "h.ini:1: from = ./g.ini leads back to g.ini; expected a base "
                 "that does not");
  write_text("base.ini", "[delay]\n");
  check_fault_in("from = base.ini\n\nfrom = base.ini\n[delay]\n",
                 "f.ini:3: a second 'from' (first on line 1); expected one");
  check_fault_in("[delay]\nfrom = base.ini\n",
                 "f.ini:2: 'from' in a section; expected before the first one");
}

static void
faults_of_form(void** state)
{
  (void)state;
  check_fault("none.ini", "none.ini: no such file; expected a setup");
  check_fault(".", ".: is a folder; expected a setup");
  check_fault_in("", "f.ini:1: no stage in this file; expected a section such "
                     "as [breaker]");
  check_fault_in("; nothing\n; at all\n",
                 "f.ini:2: no stage in this file; expected a section such as "
                 "[breaker]");
  check_fault_in("gain_db = 3\n[delay]\n",
                 "f.ini:1: 'gain_db' before the first section; expected a "
                 "stage such as [breaker]");
  check_fault_in("[delay]\ngain_db 3\n[none]\n",
                 "f.ini:2: a line without '='; expected symbol = value");
  check_fault_in("[delay]\ngain_db =\n",
                 "f.ini:2: nothing on one side of '='; expected symbol = "
                 "value");
  check_fault_in("[delay]\n = 3\n",
                 "f.ini:2: nothing on one side of '='; expected symbol = "
                 "value");
  check_fault_in("[delay\ngain_db = 3\n",
                 "f.ini:1: a heading without ']'; expected [stage]");
  check_fault_in("[delay] gain_db = 3\n",
                 "f.ini:1: text after a heading; expected the heading alone");
  check_fault_in("[delay]\ngain_db = 3\ncount = 1\n  gain_db = 4\n",
                 "f.ini:4: a second gain_db in [delay] (first on line 2); "
                 "expected one");
  check_fault_in("[delay]\n[splitter]\n[delay]\n",
                 "f.ini:3: a second section [delay] (first on line 1); "
                 "expected one");
}

static void
faults_of_files_that_are_no_text(void** state)
{
  (void)state;
  write_bytes("f.ini", "[delay]\ngain\0= 3\n", 17);
  check_fault("f.ini", "f.ini:2: not text; expected an INI file");
  char text[256];
  (void)snprintf(text, sizeof(text), "[delay]\ncount = %0200d\n", 2);
  write_text("f.ini", text);
  check_fault("f.ini", "f.ini:2: a line too long; expected 197 characters at "
                       "most, or its value in quotes");
  // A name that would break the line is shown without doing so
  write_text("a\nb.ini", "[delay]\nx = 1\n");
  check_fault("a\nb.ini",
              "a\\x0Ab.ini:2: unknown control 'x' of delay; expected "
              "one of: enabled, gain_db, mode, count, volume_m3");
}

/// Distances worked out by hand from the definition; "kitten" to "sitting" is
/// the customary example
static void
nearest_words(void** state)
{
  (void)state;
  assert_int_equal(spelling_distance("kitten", "sitting"), 3);
  assert_int_equal(spelling_distance("drive", "drive"), 0);
  assert_int_equal(spelling_distance("dirve", "drive"), 1);
  assert_int_equal(spelling_distance("DRIVE", "drive"), 0);
  assert_int_equal(spelling_distance("", "abc"), 3);
  assert_int_equal(spelling_distance("ca", "abc"), 3); // Optimal alignment

  const char* const known[] = {"time_ms", "repeats_pc", "low_cut_hz"};
  assert_string_equal(spelling_nearest("tiem_ms", known, 3), "time_ms");
  assert_string_equal(spelling_nearest("repeat_pc", known, 3), "repeats_pc");
  assert_null(spelling_nearest("presence", known, 3));
  // An omitted unit is one edit
  assert_string_equal(spelling_nearest("time", known, 3), "time_ms");
  assert_string_equal(spelling_nearest("low_cutt", known, 3), "low_cut_hz");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(faults_of_names),
    cmocka_unit_test(faults_of_alignment),
    cmocka_unit_test(faults_of_values),
    cmocka_unit_test(faults_relative_to_a_base),
    cmocka_unit_test(faults_of_bases),
    cmocka_unit_test(faults_of_form),
    cmocka_unit_test(faults_of_files_that_are_no_text),
    cmocka_unit_test(nearest_words),
  };
  return cmocka_run_group_tests_name("setup-faults", tests, enter_with_fixture,
                                     leave_parts);
}
