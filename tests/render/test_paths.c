// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Names and links that try to lead out of the folder being written: nothing
/// outside it changes.

#include "tests/support/whole_files.h"

static void
write_victims(void)
{
  assert_int_equal(mkdir("outside", 0777), 0);
  write_text("outside/presets.ttl", "precious");
  write_text("outside/manifest.ttl", "precious");
  write_text("outside/mix.wav", "precious");
  write_text("victim", "precious");
}

static void
check_victims(void)
{
  assert_string_equal(read_text("outside/presets.ttl"), "precious");
  assert_string_equal(read_text("outside/manifest.ttl"), "precious");
  assert_string_equal(read_text("outside/mix.wav"), "precious");
  assert_string_equal(read_text("victim"), "precious");
  assert_int_equal(count_files("outside"), 3);
}

static int
enter_with_victims(void** state)
{
  const int status = enter_with_files(state);
  write_victims();
  return status;
}

/// The bundle holds its three files and nothing else is new
static void
check_bundle(int n_before)
{
  assert_int_equal(count_files("."), n_before);
  assert_int_equal(count_files("lv2"), 1);
  assert_int_equal(count_files(USER_PRESETS), 3);
  check_victims();
}

/// A label comes from the name of the setup; its files always have the same
/// names
static void
labels_stay_inside(void** state)
{
  (void)state;
  static const char* const names[] = {
    "..ini",          "...ini",          "%2e%2e%2fvictim.ini",
    "..\\victim.ini", "~.ini",           "$(touch${IFS}victim2).ini",
    "<urn:x>.ini",    "presets.ttl.ini", ".written.ini",
  };
  assert_int_equal(mkdir("lv2", 0777), 0);
  const int n = count_files(".");
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char line[256];
    write_text(names[i], "[delay]\n");
    (void)snprintf(line, sizeof(line), "-o lv2 %s", names[i]);
    run_well(PRESETS, line);
    assert_int_equal(unlink(names[i]), 0);
    check_bundle(n);
  }
  // From elsewhere: the folder is not part of the label
  assert_int_equal(mkdir("deep", 0777), 0);
  assert_int_equal(chdir("deep"), 0);
  run_well(PRESETS, "-o ../lv2 ../one.ini");
  (void)unlink("stdout");
  (void)unlink("stderr");
  assert_int_equal(chdir(".."), 0);
  assert_int_equal(rmdir("deep"), 0);
  check_bundle(n);
  remove_tree("lv2");
}

static void
check_refused(const char* program, const char* line, const char* want)
{
  assert_int_equal(run_program(program, line), 1);
  check_one_line();
  if (!strstr(read_text("stderr"), want)) {
    fail_msg("%s: %s", line, read_text("stderr"));
  }
  check_victims();
}

/// A bundle that is a link to a folder elsewhere, or that holds links
static void
links_of_bundles_are_not_followed(void** state)
{
  (void)state;
  assert_int_equal(mkdir("lv2", 0777), 0);
  assert_int_equal(symlink("../outside", USER_PRESETS), 0);
  check_refused(PRESETS, "-o lv2 one.ini", "is not a folder");
  assert_int_equal(unlink(USER_PRESETS), 0);

  // In the place of one of its files it is somebody's
  run_well(PRESETS, "-o lv2 one.ini");
  assert_int_equal(rename(USER_PRESETS "/presets.ttl", "presets.ttl"), 0);
  assert_int_equal(symlink("../../victim", USER_PRESETS "/presets.ttl"), 0);
  check_refused(PRESETS, "-o lv2 two.ini",
                "holds presets.ttl, which was not written by this program");
  assert_int_equal(rename("presets.ttl", USER_PRESETS "/presets.ttl"), 0);

  // The list says what may be replaced, not what is removed
  FILE* const list = fopen(USER_PRESETS "/.written", "a");
  assert_non_null(list);
  struct stat s;
  assert_int_equal(stat("victim", &s), 0);
  assert_true(fprintf(list, "%lld %lld ../../victim\n%lld %lld ../victim\n",
                      (long long)s.st_size, (long long)s.st_mtime,
                      (long long)s.st_size, (long long)s.st_mtime) > 0);
  assert_int_equal(fclose(list), 0);
  run_well(PRESETS, "-o lv2 two.ini");
  check_victims();

  // One without sizes and times is none
  write_text(USER_PRESETS "/.written", "presets.ttl\nmanifest.ttl\n");
  check_refused(PRESETS, "-o lv2 one.ini", "was not written by this program");
  remove_tree("lv2");
}

/// The same of sessions, whose stems are in a folder of their own
static void
links_of_sessions_are_not_followed(void** state)
{
  (void)state;
  const int n = count_files(".");
  assert_int_equal(symlink("outside", "out"), 0);
  check_refused(SESSION, "one.session.ini -o out --quiet", "is not a folder");
  assert_int_equal(unlink("out"), 0);

  run_well(SESSION, "one.session.ini -o out --quiet");
  remove_tree("out/stems");
  assert_int_equal(symlink("../outside", "out/stems"), 0);
  check_refused(SESSION, "one.session.ini -o out --quiet",
                "holds stems, which was not written by this program");
  assert_int_equal(unlink("out/stems"), 0);
  assert_int_equal(unlink("out/mix.wav"), 0);
  assert_int_equal(symlink("../outside/mix.wav", "out/mix.wav"), 0);
  check_refused(SESSION, "one.session.ini -o out --quiet",
                "holds mix.wav, which was not written by this program");
  assert_int_equal(unlink("out/mix.wav"), 0);
  run_well(SESSION, "one.session.ini -o out --quiet");
  check_victims();
  remove_tree("out");
  assert_int_equal(count_files("."), n);
}

/// A track's name becomes part of the names of its stems
static void
track_names_stay_inside(void** state)
{
  (void)state;
  static const struct {
    const char* name;
    const char* stem;
  } rows[] = {
    {"../victim", "victim"},
    {"..", "unnamed"},
    {".", "unnamed"},
    {".x", "x"},
    {"a/b", "a-b"},
    {"/tmp/x", "tmp-x"},
    {"a\\b", "a-b"},
    {"~", "unnamed"},
    {"$(touch victim2)", "touch-victim2"},
  };
  const int n = count_files(".");
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    char text[256];
    (void)snprintf(text, sizeof(text), "[track %s]\nfile = a.wav\n",
                   rows[i].name);
    write_text("odd.session.ini", text);
    run_well(SESSION, "odd.session.ini -o out --quiet");
    (void)snprintf(text, sizeof(text), "out/stems/track-%s.wav", rows[i].stem);
    assert_int_equal(access(text, F_OK), 0);
    assert_int_equal(count_files("out/stems"), 3);
    check_victims();
    remove_tree("out");
    assert_int_equal(unlink("odd.session.ini"), 0);
    assert_int_equal(count_files("."), n);
  }
}

/// A render replaces a link and does not follow it
static void
link_as_output_is_replaced(void** state)
{
  (void)state;
  assert_int_equal(symlink("victim", "out.wav"), 0);
  run_well(RENDER, "a.wav --setup one.ini -o out.wav --quiet");
  struct stat s;
  assert_int_equal(lstat("out.wav", &s), 0);
  assert_true(S_ISREG(s.st_mode));
  check_victims();
  assert_int_equal(unlink("out.wav"), 0);
  check_refused(RENDER, "a.wav --setup one.ini -o /dev/full.wav/x.wav",
                "cannot write in that folder");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(labels_stay_inside),
    cmocka_unit_test(links_of_bundles_are_not_followed),
    cmocka_unit_test(links_of_sessions_are_not_followed),
    cmocka_unit_test(track_names_stay_inside),
    cmocka_unit_test(link_as_output_is_replaced),
  };
  return cmocka_run_group_tests_name("paths", tests, enter_with_victims,
                                     leave_tree);
}
