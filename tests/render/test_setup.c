// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The meaning of setups

#include "tests/support/setup_check.h"

/// Loads a setup that must be valid
static setup
good(const char* name)
{
  setup   s;
  failure f = {""};
  if (!setup_load(&s, name, &parts, &f)) {
    fail_msg("%s", f.text);
  }
  return s;
}

static float
value_of(const setup* s, const char* stem, const char* symbol)
{
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    if (!strcmp(s->stages[i].part->stem, stem)) {
      const int control = part_control(s->stages[i].part, symbol);
      assert_true(control >= 0);
      return s->stages[i].values[control];
    }
  }
  fail_msg("no stage %s", stem);
  return 0.0F;
}

/// Returns the one value that `line` sets in a section
static float
value_for(const char* symbol, const char* line)
{
  char text[256];
  (void)snprintf(text, sizeof(text), "[delay]\n%s\n", line);
  write_text("value.ini", text);
  setup       s     = good("value.ini");
  const float value = value_of(&s, "delay", symbol);
  setup_clear(&s);
  return value;
}

/// Returns the order of stages as one text: "delay splitter"
static void
check_order(const char* name, const char* want)
{
  setup  s           = good(name);
  char   order[1024] = "";
  size_t length      = 0;
  for (uint32_t i = 0; i < s.n_stages; ++i) {
    length += (size_t)snprintf(order + length, sizeof(order) - length, "%s%s",
                               i ? " " : "", s.stages[i].part->stem);
  }
  setup_clear(&s);
  assert_string_equal(order, want);
}

static void
values_are_read(void** state)
{
  (void)state;
  static const struct {
    const char* symbol;
    const char* line;
    float       want;
  } rows[] = {
    {"gain_db", "", 0.0F}, // Defaults of the Turtle
    {"enabled", "", 1.0F},
    {"count", "", 2.0F},
    {"gain_db", "gain_db = 3", 3.0F},
    {"gain_db", "gain_db=-1.5", -1.5F},
    {"gain_db", "gain_db = +.5e1 dB", 5.0F},
    {"gain_db", "gain_db = 3db", 3.0F},
    {"gain_db", "gain_db: 3", 3.0F},
    {"gain_db", "   gain_db = 3 ; louder", 3.0F},
    {"gain_db", "\tgain_db = 3\r", 3.0F},
    {"gain_db", "gain_db = \"3\"", 3.0F}, // In quotes
    {"gain_db", "gain_db=\"3 dB\" ; louder", 3.0F},
    {"gain_db", "gain_db : \"3\"\t; \"louder\"", 3.0F},
    {"gain_db", "gain_db = 3 ; = \"louder\"", 3.0F},
    {"gain_db", "gain_db = -24", -24.0F}, // The ends of the range
    {"gain_db", "gain_db = 12.5", 12.5F},
    {"volume_m3", "volume_m3 = 0.1", 0.1F}, // Not exact in binary
    {"volume_m3", "volume_m3 = 60 m³", 60.0F},
    {"volume_m3", "volume_m3 = 60 m3", 60.0F},
    {"count", "count = 9", 9.0F},
    {"mode", "mode = plain", 0.0F},
    {"mode", "mode = Upside  Down", 1.0F},
    {"mode", "mode = 12 dB/oct", 2.0F},
    {"enabled", "enabled = off", 0.0F},
    {"enabled", "enabled = No", 0.0F},
    {"enabled", "enabled = 0", 0.0F},
    {"enabled", "enabled = ON", 1.0F},
    {"enabled", "enabled = yes", 1.0F},
    {"enabled", "enabled = 1", 1.0F},
  };
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    const float got = value_for(rows[i].symbol, rows[i].line);
    if (got != rows[i].want) {
      fail_msg("'%s': %g, want %g", rows[i].line, (double)got,
               (double)rows[i].want);
    }
  }
}

static void
sections_make_the_chain(void** state)
{
  (void)state;
  write_text("order.ini", "; A comment\n\n# Another\n[splitter] ; first\n"
                          "[delay]\ngain_db = 1\n[breaker]");
  check_order("order.ini", "splitter delay breaker");
  write_text("mark.ini", "\xEF\xBB\xBF[delay]\r\n[splitter]\r\n");
  check_order("mark.ini", "delay splitter");
}

static void
base_is_taken_over(void** state)
{
  (void)state;
  write_text("base.ini", "[delay]\ngain_db = 4\nmode = upside down\n"
                         "volume_m3 = 100\ncount = 3\n[widener]\n");
  write_text("more.ini",
             "from = base.ini\n"
             "[delay]\ngain_db = base + 2 dB\ncount = base*3\nmode = base\n"
             "volume_m3 = Base / 8 \n"
             "[splitter]\ngain_db = base - 1.5\n");
  setup s = good("more.ini");
  assert_true(value_of(&s, "delay", "gain_db") == 6.0F);
  assert_true(value_of(&s, "delay", "count") == 9.0F);
  assert_true(value_of(&s, "delay", "mode") == 1.0F);
  assert_true(value_of(&s, "delay", "volume_m3") == 12.5F);
  assert_true(value_of(&s, "widener", "gain_db") == 0.0F);
  // A stage that the base lacks: relative to the default
  assert_true(value_of(&s, "splitter", "gain_db") == -1.5F);
  setup_clear(&s);
  // A base may have a base
  write_text("third.ini", "from = more.ini\n[delay]\ngain_db = base+-1\n"
                          "enabled = base\n");
  s = good("third.ini");
  assert_true(value_of(&s, "delay", "gain_db") == 5.0F);
  assert_true(value_of(&s, "delay", "enabled") == 1.0F);
  assert_true(value_of(&s, "delay", "volume_m3") == 12.5F);
  setup_clear(&s);
}

static void
base_keeps_its_order(void** state)
{
  (void)state;
  write_text("base.ini", "[delay]\n[splitter]\n[widener]\n");
  write_text("f.ini", "from = base.ini\n");
  check_order("f.ini", "delay splitter widener");
  write_text("f.ini", "from = base.ini\n[widener]\n[delay]\n");
  check_order("f.ini", "delay splitter widener");
  write_text("f.ini", "from = base.ini\n[breaker]\n[splitter]\n[shifter]\n"
                      "[dawdler]\n");
  check_order("f.ini", "breaker delay splitter shifter dawdler widener");
  write_text("f.ini", "from = base.ini\n[widener]\n[breaker]\n");
  check_order("f.ini", "delay splitter widener breaker");
}

static void
base_is_found_beside(void** state)
{
  (void)state;
  // From another working folder, and by an absolute path
  char path[128];
  char text[192];
  write_text("base.ini", "[delay]\ngain_db = 4\n");
  write_text("f.ini", "from = base.ini\n");
  assert_int_equal(chdir("/"), 0);
  (void)snprintf(path, sizeof(path), "%s/f.ini", render_folder);
  check_order(path, "delay");
  assert_int_equal(chdir(render_folder), 0);
  (void)snprintf(text, sizeof(text), "from = %s/base.ini\n", render_folder);
  write_text("f.ini", text);
  check_order("f.ini", "delay");
}

/// Paths may be anything that a file may be called
static void
paths_in_quotes(void** state)
{
  (void)state;
  static const char* const names[] = {
    "a ;b.ini",      "say \"a\".ini", "\"a\" ; b",
    "a = b [c].ini", "a # b.ini",     " a ",
  };
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    char  text[256] = "from = \"";
    char* to        = text + strlen(text);
    write_text(names[i], "[delay]\ngain_db = 7\n");
    for (const char* c = names[i]; *c; ++c) {
      *to++ = *c;
      if (*c == '"') { // Twice
        *to++ = *c;
      }
    }
    strcpy(to, "\" ; a comment\n[splitter]\n");
    write_text("quoted.ini", text);
    setup s = good("quoted.ini");
    assert_true(value_of(&s, "delay", "gain_db") == 7.0F);
    setup_clear(&s);
    assert_int_equal(unlink(names[i]), 0);
  }
}

/// Longer than a line without quotes may be
static void
long_paths_in_quotes(void** state)
{
  (void)state;
  char folder[160];
  char text[1024];
  memset(folder, 'f', sizeof(folder) - 1);
  folder[sizeof(folder) - 1] = '\0';
  assert_int_equal(mkdir(folder, 0777), 0);
  (void)snprintf(text, sizeof(text), "from = \"%s/../%s/../%s/../long.ini\"\n",
                 folder, folder, folder);
  write_text("long.ini", "[delay]\ngain_db = 7\n");
  write_text("quoted.ini", text);
  setup s = good("quoted.ini");
  assert_true(value_of(&s, "delay", "gain_db") == 7.0F);
  setup_clear(&s);
  assert_int_equal(rmdir(folder), 0);
}

/// As may be a comment
static void
long_comments(void** state)
{
  (void)state;
  char text[1024];
  (void)snprintf(text, sizeof(text), "; %0500d\n# %0400d\n[delay]\n", 1, 2);
  write_text("long.ini", text);
  check_order("long.ini", "delay");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(values_are_read),
    cmocka_unit_test(sections_make_the_chain),
    cmocka_unit_test(base_is_taken_over),
    cmocka_unit_test(base_keeps_its_order),
    cmocka_unit_test(base_is_found_beside),
    cmocka_unit_test(paths_in_quotes),
    cmocka_unit_test(long_paths_in_quotes),
    cmocka_unit_test(long_comments),
  };
  return cmocka_run_group_tests_name("setup", tests, enter_with_fixture,
                                     leave_parts);
}
