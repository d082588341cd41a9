// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A host whose locale writes numbers with a comma reads and writes setups all
/// the same.  Skipped where no such locale is installed or can be made.

#include "tests/support/check.h"

#include "plugins/setup/setup_lines.h"
#include "plugins/setup/setup_value.h"

#include <locale.h>
#include <stdlib.h>
#include <string.h>

#define EXIT_SKIP 77

static const control_input drive = {.symbol = (char*)"drive_db",
                                    .unit   = (char*)"dB",
                                    .min    = -12,
                                    .max    = 48};

static float got; ///< The value that was read last

static bool
take_section(void* user, uint32_t line, const char* name, failure* f)
{
  (void)user;
  (void)line;
  (void)name;
  (void)f;
  return true;
}

static bool
take_value(void*       user,
           uint32_t    line,
           const char* symbol,
           const char* value,
           failure*    f)
{
  (void)line;
  (void)symbol;
  (void)user;
  return setup_value_read(&drive, value, NULL, &got, f);
}

static bool
read_drive(const char* text, failure* f)
{
  const setup_lines take = {.kind     = "a setup",
                            .headings = "[stage]",
                            .pair     = "symbol = value",
                            .section  = take_section,
                            .value    = take_value};
  uint32_t          n    = 0;
  return setup_lines_read_text("t", text, strlen(text), &take, &n, f);
}

static void
numbers_are_read_with_a_point(void** state)
{
  failure f = {""};
  (void)state;
  assert_true(read_drive("drive_db = 2.5\n", &f));
  assert_float_equal(got, 2.5, 0);
  assert_false(read_drive("drive_db = 2,5\n", &f));
  assert_non_null(strstr(f.text, "has a decimal comma, not a point"));
}

static void
numbers_are_written_with_a_point(void** state)
{
  char text[SETUP_VALUE_TEXT];
  (void)state;
  setup_value_write(&drive, 0.15625F, text);
  assert_string_equal(text, "0.15625");
}

static void
messages_have_a_point(void** state)
{
  failure f = {""};
  (void)state;
  assert_false(read_drive("drive_db = 1e9\n", &f));
  assert_null(strchr(f.text, ','));
}

static void
the_host_keeps_its_comma(void** state)
{
  (void)state;
  assert_string_equal(localeconv()->decimal_point, ",");
}

/// In a folder of this program's own, where it is not installed
static bool
make_locale(void)
{
  return !system("mkdir -p locales && localedef -f UTF-8 -i de_DE "
                 "./locales/de_DE.UTF-8 >locales/log 2>&1") &&
         !setenv("LOCPATH", "locales", 1) &&
         setlocale(LC_NUMERIC, "de_DE.UTF-8");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(numbers_are_read_with_a_point),
    cmocka_unit_test(numbers_are_written_with_a_point),
    cmocka_unit_test(messages_have_a_point),
    cmocka_unit_test(the_host_keeps_its_comma),
  };
  if (!setlocale(LC_NUMERIC, "de_DE.UTF-8") &&
      !setlocale(LC_NUMERIC, "fr_FR.UTF-8") && !make_locale()) {
    return EXIT_SKIP;
  }
  return cmocka_run_group_tests_name("setup-locale", tests, NULL, NULL);
}
