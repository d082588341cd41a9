// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Saving one stage into a setup: the file stays its author's, the values come
/// back to the bit, and what goes wrong leaves all as it was

#include "tests/support/check.h"

#include "plugins/setup/setup_chain.h"
#include "plugins/setup/setup_save.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NUMBER(name, its_unit, lowest, normal, highest)                  \
  {                                                                      \
    .symbol = (char*)(name), .unit = (char*)(its_unit), .min = (lowest), \
    .def = (normal), .max = (highest),                                   \
  }

static control_choice cones[] = {{(char*)"10 inch", 0}, {(char*)"12 inch", 1}};

static const control_input drive_controls[] = {
  {.symbol = (char*)"enabled",
   .unit   = (char*)"",
   .kind   = CONTROL_TOGGLE,
   .def    = 1,
   .max    = 1},
  NUMBER("drive_db", "dB", -12, 6, 48),
  {.symbol    = (char*)"cone",
   .unit      = (char*)"",
   .kind      = CONTROL_CHOICE,
   .max       = 1,
   .choices   = cones,
   .n_choices = 2},
  NUMBER("mix_pc", "%", 0, 50, 100),
};
static const control_input echo_controls[] = {
  NUMBER("time_ms", "ms", 1, 30, 2000),
};

static const setup_part parts[] = {
  {"cone-drive", drive_controls, 4},
  {"slap-echo", echo_controls, 1},
};
static const setup_parts all = {parts, 2};

enum { DRIVE = 1, CONE, MIX };

static char folder[] = "/tmp/setup-save-XXXXXX";

static int
enter(void** state)
{
  (void)state;
  return mkdtemp(folder) && !chdir(folder) ? 0 : 1;
}

static int
leave(void** state)
{
  (void)state;
  return system("rm -rf \"$PWD\"");
}

static void
write_file(const char* path, const char* text)
{
  FILE* const file = fopen(path, "w");
  assert_non_null(file);
  assert_true(fputs(text, file) >= 0);
  assert_int_equal(fclose(file), 0);
}

static const char*
read_file(const char* path)
{
  static char text[4096];
  FILE* const file = fopen(path, "r");
  assert_non_null(file);
  text[fread(text, 1, sizeof(text) - 1, file)] = '\0';
  assert_int_equal(fclose(file), 0);
  return text;
}

static void
save(const char* path, uint32_t part, const float* values)
{
  failure f = {""};
  if (!setup_save(path, &all, part, values, &f)) {
    fail_msg("%s", f.text);
  }
}

static void
check_saved(const char* before, const float* values, const char* after)
{
  write_file("f.ini", before);
  save("f.ini", 0, values);
  assert_string_equal(read_file("f.ini"), after);
}

/// Nothing but what the tests wrote
static uint32_t
count_files(void)
{
  uint32_t   n = 0;
  DIR* const d = opendir(".");
  assert_non_null(d);
  for (struct dirent* e = NULL; (e = readdir(d));) {
    n += e->d_name[0] != '.';
  }
  (void)closedir(d);
  return n;
}

static void
a_new_file_holds_what_departs_from_the_defaults(void** state)
{
  const float values[] = {0, 12.5F, 1, 50};
  (void)state;
  (void)unlink("f.ini");
  save("f.ini", 0, values);
  assert_string_equal(read_file("f.ini"),
                      "[cone-drive]\ndrive_db = 12.5\ncone = 12 inch\n");
}

static void
comments_order_and_other_sections_stay(void** state)
{
  const float values[] = {1, 20, 1, 75};
  (void)state;
  check_saved("; Mine\n\n[slap-echo]\ntime_ms = 20 ; short\n\n[cone-drive]\n"
              "; Much\n  mix_pc=60 %   ; of it\ndrive_db = 20 dB\n\n; End\n",
              values,
              "; Mine\n\n[slap-echo]\ntime_ms = 20 ; short\n\n[cone-drive]\n"
              "; Much\n  mix_pc=75   ; of it\ndrive_db = 20 dB\n"
              "cone = 12 inch\n\n; End\n");
}

static void
what_has_not_changed_keeps_its_bytes(void** state)
{
  static const char text[]   = "[cone-drive]\r\ndrive_db: 0.20e2 dB\r\n"
                               "enabled = off\r\ncone = 12  INCH";
  const float       values[] = {1, 20, 1, 50};
  (void)state;
  check_saved(text, values,
              "[cone-drive]\r\ndrive_db: 0.20e2 dB\r\n"
              "enabled = off\r\ncone = 12  INCH\n");
}

static void
with_a_base_values_are_relative_to_it(void** state)
{
  const float values[] = {1, 14, 0, 30};
  const float same[]   = {1, 10, 1, 40};
  (void)state;
  write_file("b.ini",
             "[cone-drive]\ndrive_db = 10\ncone = 12 inch\nmix_pc = 40\n");
  // Where there is nothing yet
  check_saved("from = b.ini\n", values,
              "from = b.ini\n\n[cone-drive]\ndrive_db = base + 4\n"
              "cone = 10 inch\nmix_pc = base - 10\n");
  // By the operation that is there; a plain number does not follow
  check_saved("from = b.ini\n[cone-drive]\nmix_pc = base * 1.5 ; more\n"
              "drive_db = 11\n",
              values,
              "from = b.ini\n[cone-drive]\nmix_pc = base * 0.75 ; more\n"
              "drive_db = 14\ncone = 10 inch\n");
  check_saved("from = b.ini\n[cone-drive]\ndrive_db = base + 1\n"
              "cone = 10 inch\n",
              same,
              "from = b.ini\n[cone-drive]\ndrive_db = base\ncone = 12 inch\n");
}

static void
a_section_is_put_in_the_order_of_a_track(void** state)
{
  const float values[] = {1, 14, 0, 50};
  const float echo[]   = {44};
  (void)state;
  check_saved("align = yes\n\n[slap-echo]\ntime_ms = 20\n", values,
              "align = yes\n\n[cone-drive]\ndrive_db = 14\n\n[slap-echo]\n"
              "time_ms = 20\n");
  write_file("f.ini", "[cone-drive]\nmix_pc = 3");
  save("f.ini", 1, echo);
  assert_string_equal(read_file("f.ini"), "[cone-drive]\nmix_pc = 3\n\n"
                                          "[slap-echo]\ntime_ms = 44\n");
}

static void
values_of_the_track_stay_as_they_are(void** state)
{
  const float values[] = {0, 6, 0, 50};
  (void)state;
  check_saved("[cone-drive]\nenabled = on\n", values,
              "[cone-drive]\nenabled = on\n");
}

// ---------------------------------------------------------------------------

static float
any(const control_input* c)
{
  static uint32_t u = 1;
  u             = u * 1664525U + 1013904223U; // Numerical Recipes, from memory
  const float x = (float)(u >> 8U) / (1U << 24U);
  return c->kind == CONTROL_NUMBER ? c->min + x * (c->max - c->min)
                                   : (float)(u >> 31U);
}

/// With and without a base, over and over in one file
static void
any_values_come_back_to_the_bit(void** state)
{
  static const char* const begins[] = {
    "", "from = b.ini\n",
    "from = b.ini\n[cone-drive]\ndrive_db = base * 2\nmix_pc = base / 2\n"};
  (void)state;
  write_file("b.ini", "[cone-drive]\ndrive_db = 10.1\nmix_pc = 0.3\n");
  for (size_t k = 0; k < 3; ++k) {
    (void)unlink("f.ini");
    if (*begins[k]) {
      write_file("f.ini", begins[k]);
    }
    for (int round = 0; round < 200; ++round) {
      setup_chain chain;
      failure     f         = {""};
      float       values[4] = {1};
      for (uint32_t i = 1; i < 4; ++i) {
        values[i] = any(&drive_controls[i]);
      }
      save("f.ini", 0, values);
      assert_true(setup_chain_load(&chain, "f.ini", &all, &f));
      assert_memory_equal(chain.stages[0].values, values, sizeof(values));
      setup_chain_clear(&chain);
    }
  }
}

// ---------------------------------------------------------------------------

static void
check_refused(const char* path, const char* want)
{
  const float    values[] = {1, 14, 0, 30};
  const uint32_t n        = count_files();
  failure        f        = {""};
  assert_false(setup_save(path, &all, 0, values, &f));
  if (!strstr(f.text, want) || strchr(f.text, '\n')) {
    fail_msg("'%s', not '%s'", f.text, want);
  }
  assert_int_equal(count_files(), n);
}

static void
what_cannot_be_read_is_left_alone(void** state)
{
  static const char broken[] = "[cone-drive]\ndrive_db = 200\n";
  (void)state;
  write_file("f.ini", broken);
  check_refused("f.ini", "f.ini:2: drive_db = 200 is out of range");
  assert_string_equal(read_file("f.ini"), broken);
  write_file("f.ini", "from = f.ini\n");
  check_refused("f.ini", "f.ini:1: from = f.ini leads back to f.ini");
}

static void
what_cannot_be_written_is_said(void** state)
{
  (void)state;
  check_refused("nowhere/f.ini", "nowhere/f.ini: cannot be written");
  assert_int_equal(mkdir("folder.ini", 0777), 0);
  check_refused("folder.ini", "folder.ini: is a folder");
}

static void
links_and_rights_stay(void** state)
{
  const float values[] = {1, 14, 0, 50};
  struct stat status;
  (void)state;
  write_file("real.ini", "[cone-drive]\n");
  assert_int_equal(chmod("real.ini", 0640), 0);
  assert_int_equal(symlink("real.ini", "link.ini"), 0);
  save("link.ini", 0, values);
  assert_int_equal(lstat("link.ini", &status), 0);
  assert_true(S_ISLNK(status.st_mode));
  assert_int_equal(stat("real.ini", &status), 0);
  assert_int_equal(status.st_mode & 0777U, 0640);
  assert_string_equal(read_file("real.ini"), "[cone-drive]\ndrive_db = 14\n");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_new_file_holds_what_departs_from_the_defaults),
    cmocka_unit_test(comments_order_and_other_sections_stay),
    cmocka_unit_test(what_has_not_changed_keeps_its_bytes),
    cmocka_unit_test(with_a_base_values_are_relative_to_it),
    cmocka_unit_test(a_section_is_put_in_the_order_of_a_track),
    cmocka_unit_test(values_of_the_track_stay_as_they_are),
    cmocka_unit_test(any_values_come_back_to_the_bit),
    cmocka_unit_test(what_cannot_be_read_is_left_alone),
    cmocka_unit_test(what_cannot_be_written_is_said),
    cmocka_unit_test(links_and_rights_stay),
  };
  return cmocka_run_group_tests_name("setup-save", tests, enter, leave);
}
