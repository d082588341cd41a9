// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cost of the bundle, through lilv, as in a host: main program of the
/// benchmark

#include "bench.h"

#include "report.h"

#include <stdio.h>
#include <string.h>

#define WARM_UP_PASSES 50

static int
usage(void)
{
  fprintf(stderr,
          "usage: bench BUNDLE_FOLDER LV2_FOLDER [--json] [--idle] [--deep]\n"
          "  --json  print JSON\n"
          "  --idle  also measure stages with nothing to do\n"
          "  --deep  also measure every form at all rates and block lengths\n");
  return 2;
}

/// Takes the option and returns true if `argument` is it
static bool
take_option(const char* argument, const char* name, bool* option)
{
  const bool is_it = strcmp(argument, name) == 0;
  *option          = *option || is_it;
  return is_it;
}

int
main(int argc, char** argv)
{
  bool as_json = false;
  bool idle    = false;
  bool deep    = false;
  for (int i = 3; i < argc; ++i) {
    if (!take_option(argv[i], "--json", &as_json) &&
        !take_option(argv[i], "--idle", &idle) &&
        !take_option(argv[i], "--deep", &deep)) {
      return usage();
    }
  }
  if (argc < 3) {
    return usage();
  }

  bench_bundle b = bench_open(argv[1]);
  bench_fill_input();
  for (int i = 0; i < WARM_UP_PASSES; ++i) {
    (void)bench_yardstick_ns();
  }
  report_open(as_json);
  bench_stages(&b);
  bench_chain(&b);
  bench_many(&b);
  if (idle) {
    bench_idle(&b);
  }
  if (deep) {
    bench_depths(&b);
  }
  bench_load(argv[1], argv[2]);
  report_section("yardstick", "libsoxr HQ, 4x up and down, one channel");
  report_text("what", "yardstick");
  report_number("ns", 2, bench_yardstick_ns());
  report_end_row();
  report_close();
  bench_close(&b);
  return 0;
}
