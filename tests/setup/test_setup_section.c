// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// One stage's section as text: what is written reads back to the same bits, by
/// the grammar of setups, in any locale; what cannot be used is named with its
/// line, and the rest is taken

#include "tests/support/check.h"

#include "plugins/setup/setup_section.h"

#include <float.h>
#include <string.h>

static control_choice cones[] = {
  {(char*)"10 inch", 0},
  {(char*)"12 inch", 1},
};

#define NUMBER(name, its_unit, lowest, normal, highest)                  \
  {                                                                      \
    .symbol = (char*)(name), .unit = (char*)(its_unit), .min = (lowest), \
    .def = (normal), .max = (highest),                                   \
  }

static const control_input controls[] = {
  {.symbol = (char*)"enabled",
   .unit   = (char*)"",
   .kind   = CONTROL_TOGGLE,
   .def    = 1,
   .max    = 1},
  NUMBER("drive_db", "dB", -FLT_MAX, 6, FLT_MAX),
  {.symbol    = (char*)"cone",
   .unit      = (char*)"",
   .kind      = CONTROL_CHOICE,
   .max       = 1,
   .choices   = cones,
   .n_choices = 2},
  {.symbol = (char*)"follow",
   .unit   = (char*)"",
   .kind   = CONTROL_TOGGLE,
   .max    = 1},
  NUMBER("mix_pc", "%", 0, 50, 100),
};

enum {
  N     = sizeof(controls) / sizeof(controls[0]),
  DRIVE = 1,
  CONE,
  FOLLOW,
  MIX
};

static const setup_part part = {"cone-drive", controls, N};

static setup_section_result
read_text(const char* text, float* values)
{
  setup_section_result r;
  assert_true(setup_section_read(&part, "t", text, strlen(text), values, &r));
  return r;
}

static uint32_t
bits(float x)
{
  uint32_t u = 0;
  memcpy(&u, &x, sizeof(u));
  return u;
}

static void
check_there_and_back(float x)
{
  const float  values[N] = {0, x, 1, 1, 12.5F};
  float        again[N]  = {0};
  char         text[512];
  const size_t n = setup_section_write(&part, values, text, sizeof(text));
  assert_int_equal(n, strlen(text));
  const setup_section_result r = read_text(text, again);
  assert_true(r.is_found);
  assert_int_equal(r.n_faults, 0);
  for (uint32_t i = 1; i < N; ++i) {
    if (bits(again[i]) != bits(values[i])) {
      fail_msg("%s: %.9g became %.9g", controls[i].symbol, (double)values[i],
               (double)again[i]);
    }
  }
}

/// IEEE 754, 5.12.2: nine decimal digits bring any float back
static void
every_float_comes_back_to_the_bit(void** state)
{
  static const float odd[] = {0,       -0.0F,    0.1F,     1e-45F, FLT_MIN,
                              FLT_MAX, -FLT_MAX, 16777216, 1e-5F,  123456.789F};
  uint32_t           u     = 1;
  (void)state;
  for (size_t i = 0; i < sizeof(odd) / sizeof(odd[0]); ++i) {
    check_there_and_back(odd[i]);
  }
  for (int i = 0; i < 20000; ++i) {
    float x = 0;
    u       = u * 1664525U + 1013904223U; // Numerical Recipes, from memory
    memcpy(&x, &u, sizeof(x));
    if (x - x == 0) { // Finite
      check_there_and_back(x);
    }
  }
}

static void
few_digits_are_written_where_they_do(void** state)
{
  const float values[N] = {0, 0.1F, 1, 0, 33};
  char        text[512];
  (void)state;
  (void)setup_section_write(&part, values, text, sizeof(text));
  assert_string_equal(text, "[cone-drive]\ndrive_db = 0.1\ncone = 12 inch\n"
                            "follow = off\nmix_pc = 33\n");
}

static void
without_room_nothing_is_written(void** state)
{
  const float  values[N] = {0, 0.1F, 1, 0, 33};
  char         text[128];
  const size_t whole = setup_section_write(&part, values, text, sizeof(text));
  (void)state;
  assert_true(whole > 0);
  for (size_t room = 1; room <= whole; ++room) {
    assert_int_equal(setup_section_write(&part, values, text, room), 0);
  }
  assert_int_equal(setup_section_write(&part, values, text, whole + 1), whole);
}

// ---------------------------------------------------------------------------

static void
what_is_not_mentioned_gets_its_default(void** state)
{
  float values[N] = {0, 1, 1, 1, 1};
  (void)state;
  assert_true(read_text("[cone-drive]\nmix_pc = 20 %\n", values).is_found);
  assert_float_equal(values[MIX], 20, 0);
  assert_float_equal(values[DRIVE], 6, 0);
  assert_float_equal(values[CONE], 0, 0);
  assert_float_equal(values[FOLLOW], 0, 0);
  assert_float_equal(values[0], 0, 0); // The track's
}

/// The text does not hold the base
static void
behind_a_from_it_keeps_its_value(void** state)
{
  float values[N] = {0, 1, 1, 1, 1};
  (void)state;
  const setup_section_result r =
    read_text("from = rhythm.ini\n[other]\nx = 1\n[cone-drive]\nmix_pc = 20\n"
              "drive_db = base + 2\n",
              values);
  assert_true(r.is_found);
  assert_int_equal(r.n_faults, 1);
  assert_non_null(
    strstr(r.fault.text, "t:6: drive_db = base + 2: there is no base"));
  assert_float_equal(values[DRIVE], 1, 0);
  assert_float_equal(values[MIX], 20, 0);
  assert_float_equal(values[FOLLOW], 1, 0);
}

static void
values_of_the_track_stay(void** state)
{
  float values[N] = {0, 1, 1, 1, 1};
  (void)state;
  assert_int_equal(read_text("[cone-drive]\nenabled = on\n", values).n_faults,
                   0);
  assert_float_equal(values[0], 0, 0);
}

static void
a_letter_may_stand_around_it(void** state)
{
  float values[N] = {0};
  (void)state;
  const setup_section_result r =
    read_text("Dear colleague,\r\n[this one\r\n= here it is:\r\n\r\n"
              "  [cone-drive] ; mine\r\n  drive_db = 3\r\n[other]\r\nYours\r\n",
              values);
  assert_true(r.is_found);
  assert_int_equal(r.n_faults, 0);
  assert_float_equal(values[DRIVE], 3, 0);
}

static void
what_cannot_be_used_is_named_with_its_line(void** state)
{
  float values[N] = {0, 1, 1, 1, 1};
  (void)state;
  const setup_section_result r =
    read_text("\n[cone-drive]\ndrive = 3\nmix_pc = 400\nfollow = on\n"
              "Yours\nfollow = off\n[cone-drive]\nmix_pc = 2\n",
              values);
  assert_string_equal(r.fault.text,
                      "t:3: unknown control 'drive' of cone-drive;"
                      " did you mean 'drive_db'?");
  // drive, mix_pc, "Yours", the second follow, the second section
  assert_int_equal(r.n_faults, 5);
  assert_float_equal(values[FOLLOW], 1, 0);
  assert_float_equal(values[MIX], 1, 0); // As it was
  assert_float_equal(values[DRIVE], 6, 0);
}

static void
without_a_section_nothing_moves(void** state)
{
  static const char* const texts[] = {
    "", "\n", "drive_db = 3\n", "[cone]\nx=1\n", "[cone-drive\ndrive_db = 3\n"};
  (void)state;
  for (size_t i = 0; i < sizeof(texts) / sizeof(texts[0]); ++i) {
    float values[N] = {0, 1, 1, 1, 1};
    assert_false(read_text(texts[i], values).is_found);
    assert_float_equal(values[DRIVE], 1, 0);
    assert_float_equal(values[MIX], 1, 0);
  }
}

static void
a_zero_byte_is_a_fault_of_its_line(void** state)
{
  static const char    text[]    = "[cone-drive]\ndrive_db\0 = 3\nmix_pc = 7\n";
  float                values[N] = {0};
  setup_section_result r;
  (void)state;
  assert_true(
    setup_section_read(&part, "t", text, sizeof(text) - 1, values, &r));
  assert_int_equal(r.n_faults, 1);
  assert_string_equal(r.fault.text, "t:2: not text; expected an INI file");
  assert_float_equal(values[MIX], 7, 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(every_float_comes_back_to_the_bit),
    cmocka_unit_test(few_digits_are_written_where_they_do),
    cmocka_unit_test(without_room_nothing_is_written),
    cmocka_unit_test(what_is_not_mentioned_gets_its_default),
    cmocka_unit_test(behind_a_from_it_keeps_its_value),
    cmocka_unit_test(values_of_the_track_stay),
    cmocka_unit_test(a_letter_may_stand_around_it),
    cmocka_unit_test(what_cannot_be_used_is_named_with_its_line),
    cmocka_unit_test(without_a_section_nothing_moves),
    cmocka_unit_test(a_zero_byte_is_a_fault_of_its_line),
  };
  return cmocka_run_group_tests_name("setup-section", tests, NULL, NULL);
}
