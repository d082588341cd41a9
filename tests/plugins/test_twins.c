// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The bundle as built, which uses the widest registers of the machine, and the
/// same sources as a machine without AVX-512 runs them, against those compiled
/// without wide registers: every plugin, at three rates, by default and at both
/// ends of its controls, on plucks, in blocks of odd lengths, agrees to the
/// bit.

#include "tests/support/check.h"

#include "plugins/shell.h"

#include <dlfcn.h>
#include <stdlib.h>
#include <string.h>

#define N         24000U
#define MAX_PORTS 64

/// Between modules that a developer names, the bundle before and after a change
/// of sound: -120 dB of full scale, or of the peak if that is higher
#define NAMED_TOLERANCE 1e-6

static float input[MAX_CHANNELS][N];
static float output[2][MAX_CHANNELS][N];

static LV2_Descriptor_Function
module_open(const char* path)
{
  void* const handle = dlopen(path, RTLD_NOW | RTLD_LOCAL);
  if (!handle) {
    print_message("%s\n", dlerror());
  }
  assert_non_null(handle);
  void* const             symbol = dlsym(handle, "lv2_descriptor");
  LV2_Descriptor_Function f      = NULL;
  assert_non_null(symbol);
  memcpy(&f, &symbol, sizeof(f));
  return f;
}

static const LV2_Descriptor*
descriptor_of(LV2_Descriptor_Function all, const char* uri)
{
  const LV2_Descriptor* d = NULL;
  for (uint32_t i = 0; (d = all(i)) && strcmp(d->URI, uri) != 0; ++i) {
  }
  assert_non_null(d);
  return d;
}

/// Two channels that differ: decaying notes with a noisy start
static void
fill_input(void)
{
  uint32_t seed = 7;
  for (uint32_t i = 0; i < N; ++i) {
    for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
      const double u    = (double)((i + 1000U * k) % 9000U) / 48000.0;
      const double pick = exp(-400.0 * u) * (double)check_noise(&seed);
      input[k][i]       = (float)(0.5 * exp(-6.0 * u) *
                              sin(2.0 * DSP_PI * (110.0 + 37.0 * k) * u) +
                            0.2 * pick);
    }
  }
}

/// Control `i` in one of the settings: default, low end, high end, in between
static float
setting(const param_info* p, int which)
{
  const float ends[] = {p->def, p->min, p->max, 0.5F * (p->min + p->max)};
  const float x      = ends[which];
  return p->kind == PARAM_NUM ? x : roundf(x);
}

static void
play(const LV2_Descriptor* d,
     const plugin_form*    form,
     double                rate_hz,
     int                   which,
     float (*out)[N])
{
  const plugin* const p     = form->plugin;
  const uint32_t      audio = shell_param_count(p) + shell_meter_count(p);
  float               control[MAX_PORTS];
  LV2_Handle          handle = d->instantiate(d, rate_hz, "", NULL);
  assert_non_null(handle);
  for (uint32_t i = 0; i < audio; ++i) {
    control[i] = i >= shell_param_count(p) ? 0.0F
                 : shell_param_is_stages(p, i)
                   ? setting(shell_param(p, i), which)
                   : shell_param(p, i)->def;
    d->connect_port(handle, i, &control[i]);
  }
  d->activate(handle);
  for (uint32_t at = 0, n = 1; at < N; at += n) {
    n = n * 5 % 397; // 1, 5, 25, 125, 228 ...
    n = N - at < n ? N - at : n;
    for (uint32_t k = 0; k < form->n_in; ++k) {
      d->connect_port(handle, audio + k, input[k] + at);
    }
    for (uint32_t k = 0; k < form->n_out; ++k) {
      d->connect_port(handle, audio + form->n_in + k, out[k] + at);
    }
    d->run(handle, n);
  }
  if (d->deactivate) {
    d->deactivate(handle);
  }
  d->cleanup(handle);
}

/// Relative to full scale, or to the peak if that is higher
static double
largest_difference(uint32_t n_channels)
{
  double most = 0.0;
  double peak = 1.0;
  for (uint32_t k = 0; k < n_channels; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      const double x = (double)output[0][k][i] - (double)output[1][k][i];
      most           = fabs(x) <= most ? most : fabs(x); // NaN stays
      peak           = fmax(peak, fabs((double)output[1][k][i]));
    }
  }
  return most / peak;
}

/// Plays a form in both modules.  Returns the largest difference.
static double
compare(LV2_Descriptor_Function const all[2],
        const plugin_form*            form,
        double                        tolerance)
{
  static const double rates_hz[] = {44100.0, 48000.0, 96000.0};
  double              most       = 0.0;
  for (int rate = 0; rate < 3; ++rate) {
    for (int which = 0; which < 4; ++which) {
      for (int twin = 0; twin < 2; ++twin) {
        play(descriptor_of(all[twin], form->uri), form, rates_hz[rate], which,
             output[twin]);
      }
      const double difference = largest_difference(form->n_out);
      if (!(difference <= tolerance)) {
        print_message("%s at %g Hz, setting %d: off by %g\n", form->uri,
                      rates_hz[rate], which, difference);
      }
      most = difference <= most ? most : difference;
    }
  }
  return most;
}

static void
compare_all(const char* path, const char* other, double tolerance)
{
  const LV2_Descriptor_Function all[2] = {module_open(path),
                                          module_open(other)};
  const plugin*                 p      = NULL;
  fill_input();
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      const double      most = compare(all, &form, tolerance);
      if (tolerance > 0.0) {
        print_message("# %s: %.1f dBFS\n", form.uri,
                      20.0 * log10(most + 1e-30));
      }
      assert_true(most <= tolerance);
    }
  }
}

/// A developer who names modules wants to know nothing else
static bool
has_names(void)
{
  return getenv("TWIN_WIDE") && getenv("TWIN_PLAIN");
}

static void
skip_without_avx2(void)
{
#if defined(__x86_64__)
  if (!__builtin_cpu_supports("avx2")) {
    print_message("# this machine has no wide registers\n");
    skip();
  }
#endif
}

static void
test_widest_registers_change_no_bit(void** state)
{
  (void)state;
  skip_without_avx2();
  if (has_names()) {
    compare_all(getenv("TWIN_WIDE"), getenv("TWIN_PLAIN"), NAMED_TOLERANCE);
  } else {
    compare_all(WIDE_MODULE, PLAIN_MODULE, 0.0);
  }
}

static void
test_avx2_changes_no_bit(void** state)
{
  (void)state;
  skip_without_avx2();
  if (has_names()) {
    skip();
  }
  compare_all(AVX2_MODULE, PLAIN_MODULE, 0.0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_widest_registers_change_no_bit),
    cmocka_unit_test(test_avx2_changes_no_bit),
  };
  return cmocka_run_group_tests(tests, NULL, NULL);
}
