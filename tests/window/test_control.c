// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Values of controls on their scales, in words, and as typed

#include "tests/support/check.h"

#include "plugins/shell.h"
#include "plugins/window/controls/control.h"

#include <string.h>

static const param_info gain  = {.kind = PARAM_NUM,
                                 .unit = UNIT_DB,
                                 .min  = -24,
                                 .def  = 0,
                                 .max  = 24};
static const param_info pitch = {.kind  = PARAM_NUM,
                                 .unit  = UNIT_HZ,
                                 .taper = TAPER_LOG,
                                 .min   = 20,
                                 .def   = 200,
                                 .max   = 20000};
static const param_info fast  = {.kind  = PARAM_NUM,
                                 .unit  = UNIT_MS,
                                 .taper = TAPER_LOG,
                                 .min   = 0.1F,
                                 .def   = 10,
                                 .max   = 100};
static const param_info slope = {.kind   = PARAM_SEL,
                                 .labels = "12 dB/oct|18 dB/oct|24 dB/oct",
                                 .max    = 2};
static const param_info hum   = {.kind   = PARAM_SEL,
                                 .labels = "Off|50 Hz|60 Hz",
                                 .max    = 2};

static void
scales_go_there_and_back(void** state)
{
  (void)state;
  // Half of a logarithmic scale is the geometric mean
  assert_near(control_value(&pitch, 0.5), sqrt(20.0 * 20000.0), 1e-6);
  assert_near(control_value(&gain, 0.25), -12.0, 1e-9);
  for (int i = 0; i <= 10; ++i) {
    const double u = i / 10.0;
    assert_near(control_place(&pitch, control_value(&pitch, u)), u, 1e-9);
    assert_near(control_place(&gain, control_value(&gain, u)), u, 1e-9);
  }
}

static void
assert_shown(const param_info* p,
             float             value,
             const char*       figure,
             const char*       unit)
{
  char text[CONTROL_TEXT];
  control_figure(p, value, text);
  assert_string_equal(text, figure);
  assert_string_equal(control_unit(p, value), unit);
}

static void
figures_are_those_of_the_trade(void** state)
{
  (void)state;
  assert_shown(&gain, -1.25F, "-1.2", "dB");
  assert_shown(&gain, -0.01F, "0.0", "dB");
  assert_shown(&pitch, 75.2F, "75", "Hz");
  assert_shown(&pitch, 3000, "3.00", "kHz");
  assert_shown(&pitch, 12345, "12.35", "kHz");
  assert_shown(&fast, 0.25F, "0.25", "ms");
  assert_shown(&fast, 3, "3.0", "ms");
  assert_shown(&fast, 34, "34", "ms");
}

static void
steps_are_those_promised(void** state)
{
  (void)state;
  assert_near((double)control_step(&gain, 1, 1, false), 1.5, 1e-6);
  assert_near((double)control_step(&gain, 1, 1, true), 1.1, 1e-6);
  assert_near((double)control_step(&gain, 1, -10, false), -4, 1e-6);
  // A semitone is 6 %
  assert_near((double)control_step(&pitch, 440, 1, false), 466, 0.5);
  assert_near((double)control_step(&pitch, 440, 12, false), 880, 0.5);
  // At the ends and not beyond
  assert_true(control_step(&gain, 24, 1, false) == 24);
  assert_true(control_step(&pitch, 20, -1, false) == 20);
  // Never stuck below the last place shown
  assert_true(control_step(&fast, 0.1F, 1, true) > 0.1F);
}

static void
every_control_can_be_stepped_through(void** state)
{
  const plugin* p = NULL;
  (void)state;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_shown_count(p); ++i) {
      const param_info* const info  = shell_param(p, i);
      float                   value = info->min;
      for (int k = 0; value < info->max; ++k) {
        const float next = control_step(info, value, 1, true);
        if (!(next > value) || k > 20000) {
          fail_msg("%s %s stays at %g", p->stem, info->symbol, (double)value);
        }
        value = next;
      }
      assert_true(control_round(info, (double)info->def) == info->def);
    }
  }
}

static void
assert_read(const param_info* p, const char* text, float now, float want)
{
  float got = NAN;
  if (!control_read(p, text, now, &got)) {
    fail_msg("\"%s\" was not understood", text);
  }
  assert_near((double)got, (double)want, 1e-4);
}

static void
typing_takes_what_engineers_write(void** state)
{
  (void)state;
  assert_read(&gain, "-3.5", 0, -3.5F);
  assert_read(&gain, "-3,5", 0, -3.5F);
  assert_read(&gain, " -3,5 dB ", 0, -3.5F);
  assert_read(&gain, "+3", 2, 5);
  assert_read(&gain, "*1.5", 2, 3);
  assert_read(&gain, "4.25", 0, 4.25F);
  assert_read(&pitch, "3k", 0, 3000);
  assert_read(&pitch, "3,2 kHz", 0, 3200);
  assert_read(&pitch, "440 hz", 0, 440);
  assert_read(&pitch, ".5k", 0, 500);
  // Held in the range
  assert_read(&gain, "90", 0, 24);
  assert_read(&gain, "-90", 0, -24);
}

static void
typing_refuses_the_rest(void** state)
{
  static const char* const bad[] = {"",      "-",    "dB",  "3x",  "3 ms",
                                    "1e3",   "0x10", "nan", "inf", "*",
                                    "1.2.3", "--3",  "3 4"};
  (void)state;
  for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); ++i) {
    float value = 7;
    if (control_read(&gain, bad[i], 0, &value)) {
      fail_msg("\"%s\" was taken for %g", bad[i], (double)value);
    }
    assert_true(value == 7);
  }
}

static void
choices_share_their_unit(void** state)
{
  control_choices c;
  (void)state;
  control_labels(&slope, &c);
  assert_int_equal(c.n, 3);
  assert_string_equal(c.label[1], "18");
  assert_string_equal(c.unit, "dB/oct");
  control_labels(&hum, &c);
  assert_string_equal(c.label[0], "off");
  assert_string_equal(c.label[2], "60 Hz");
  assert_string_equal(c.unit, "");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(scales_go_there_and_back),
    cmocka_unit_test(figures_are_those_of_the_trade),
    cmocka_unit_test(steps_are_those_promised),
    cmocka_unit_test(every_control_can_be_stepped_through),
    cmocka_unit_test(typing_takes_what_engineers_write),
    cmocka_unit_test(typing_refuses_the_rest),
    cmocka_unit_test(choices_share_their_unit),
  };
  return cmocka_run_group_tests_name("control", tests, NULL, NULL);
}
