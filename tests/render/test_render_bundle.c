// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The renderer and the setups on the built bundle: every part in every form,
/// every control at the ends of its range

#include "tests/support/setup_check.h"

/// Renders in.wav through s.ini by the program's own bundle
static sound
rendered(void)
{
  const int status =
    render_status("in.wav --setup s.ini -o out.wav --bits float --tail 0.5");
  if (status || *read_text("stderr")) {
    fail_msg("status %d: %s", status, read_text("stderr"));
  }
  return sound_read("out.wav");
}

/// Checks that `out` is `in`, on both channels if mono became stereo, then
/// silence: the latency is right to the frame
static void
check_untouched(const char* what, const sound* in, const sound* out)
{
  assert_int_equal(out->info.frames, in->info.frames + RATE_HZ / 2);
  assert_true(out->info.channels >= in->info.channels);
  for (sf_count_t i = 0; i < out->info.frames; ++i) {
    for (int k = 0; k < out->info.channels; ++k) {
      const int   from = k < in->info.channels ? k : 0;
      const float want =
        i < in->info.frames ? in->x[i * in->info.channels + from] : 0.0F;
      const float got = out->x[i * out->info.channels + k];
      if (got != want) {
        fail_msg("%s: frame %lld of channel %d is %.9g, want %.9g", what,
                 (long long)i, k + 1, (double)got, (double)want);
      }
    }
  }
}

/// Each part alone, and all of them in a row, switched off
static void
all_off_is_a_null(void** state)
{
  (void)state;
  for (int n_channels = 1; n_channels <= 2; ++n_channels) {
    char   all[4096] = "";
    size_t length    = 0;
    sound  in        = sound_noise(FLOAT_WAV, RATE_HZ, n_channels, 5000);
    sound_write(&in, "in.wav");
    for (uint32_t i = 0; i <= parts.n_parts; ++i) {
      char one[256] = "";
      if (i < parts.n_parts) {
        (void)snprintf(one, sizeof(one), "[%s]\nenabled = off\n",
                       parts.parts[i].stem);
        length +=
          (size_t)snprintf(all + length, sizeof(all) - length, "%s", one);
      }
      write_text("s.ini", *one ? one : all);
      sound out = rendered();
      check_untouched(*one ? one : all, &in, &out);
      sound_free(&out);
    }
    sound_free(&in);
  }
}

/// Prints a control as a line of a setup
static void
print_line(char* line, size_t size, const control_input* c, float value)
{
  const char* text = "";
  for (uint32_t i = 0; i < c->n_choices; ++i) {
    text = c->choices[i].value == value ? c->choices[i].label : text;
  }
  if (c->kind == CONTROL_NUMBER) {
    (void)snprintf(line, size, "%s = %.9g %s", c->symbol, (double)value,
                   c->unit);
  } else {
    (void)snprintf(line, size, "%s = %s", c->symbol,
                   c->kind == CONTROL_CHOICE ? text
                   : value == 1.0F           ? "on"
                                             : "off");
  }
}

static void
check_value(const part* p, uint32_t control, float value)
{
  const control_input* const c = &p->forms[0].controls[control];
  char                       line[160];
  char                       text[256];
  setup                      s;
  failure                    f = {""};
  print_line(line, sizeof(line), c, value);
  (void)snprintf(text, sizeof(text), "[%s]\n%s\n", p->stem, line);
  write_text("s.ini", text);
  if (!setup_load(&s, "s.ini", &parts, &f)) {
    fail_msg("%s", f.text);
  }
  if (s.stages[0].values[control] != value) {
    fail_msg("%s of %s: %.9g, want %.9g", line, p->stem,
             (double)s.stages[0].values[control], (double)value);
  }
  setup_clear(&s);
}

/// What a window keeps is nothing for a setup
static void
hidden_controls_are_unknown(void** state)
{
  static const char* const hidden[] = {
    "window_mark", "group", "group_mark", "group_move", "group_mask", "row"};
  (void)state;
  for (uint32_t i = 0; i < parts.n_parts; ++i) {
    for (int k = 0; k < 6; ++k) {
      char    text[256];
      char    want[256];
      setup   s;
      failure f = {""};
      (void)snprintf(text, sizeof(text), "[%s]\n%s = 0\n", parts.parts[i].stem,
                     hidden[k]);
      (void)snprintf(want, sizeof(want), "s.ini:2: unknown control '%s' of %s;",
                     hidden[k], parts.parts[i].stem);
      write_text("s.ini", text);
      assert_false(setup_load(&s, "s.ini", &parts, &f));
      assert_non_null(strstr(f.text, want));
    }
  }
}

/// Written values come back: ends of the range, default, every choice
static void
values_come_back(void** state)
{
  (void)state;
  for (uint32_t i = 0; i < parts.n_parts; ++i) {
    const part* const p = &parts.parts[i];
    for (uint32_t k = 0; k < p->forms[0].n_controls; ++k) {
      const control_input* const c = &p->forms[0].controls[k];
      check_value(p, k, c->min);
      check_value(p, k, c->def);
      check_value(p, k, c->max);
      for (uint32_t j = 0; j < c->n_choices; ++j) {
        check_value(p, k, c->choices[j].value);
      }
    }
  }
}

/// -18 dBFS RMS after the filters of the DI clean-up, whatever the input level
static void
alignment_reaches_the_common_level(void** state)
{
  (void)state;
  sound in = sound_new(SF_FORMAT_WAV | SF_FORMAT_FLOAT, 48000, 1, 96000);
  for (sf_count_t i = 0; i < in.info.frames; ++i) {
    in.x[i] = 0.02F * sinf((float)(i % 48) * 0.1308996939F); // 1 kHz
  }
  sound_write(&in, "in.wav");
  write_text("base.ini", "align = yes\n[di-cleanup]\nbody_db = 0\n");
  write_text("s.ini", "from = base.ini\n[di-cleanup]\npresence_db = 0\n");
  sound  out = rendered();
  double sum = 0.0;
  for (sf_count_t i = 24000; i < 72000; ++i) {
    sum += (double)out.x[i] * (double)out.x[i];
  }
  assert_true(fabs(10.0 * log10(sum / 48000.0) + 18.0) < 0.05);
  sound_free(&out);

  write_text("s.ini", "align = no\nfrom = base.ini\n");
  out = rendered();
  sum = 0.0;
  for (sf_count_t i = 24000; i < 72000; ++i) {
    sum += (double)out.x[i] * (double)out.x[i];
  }
  assert_true(10.0 * log10(sum / 48000.0) < -36.0);
  sound_free(&out);
  sound_free(&in);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(all_off_is_a_null),
    cmocka_unit_test(values_come_back),
    cmocka_unit_test(hidden_controls_are_unknown),
    cmocka_unit_test(alignment_reaches_the_common_level),
  };
  return cmocka_run_group_tests_name("render-bundle", tests, enter_with_bundle,
                                     leave_parts);
}
