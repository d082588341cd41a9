// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Cost of other programs: a host's scan of the bundle, and a chain of generic
/// filters

#include "bench.h"

#include "report.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define SCANS         25
#define SECONDS       40
#define FILTER_PASSES 3

static double
wall_ms(void)
{
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return 1e3 * (double)t.tv_sec + 1e-6 * (double)t.tv_nsec;
}

static double
ms_of(struct timeval t)
{
  return 1e3 * (double)t.tv_sec + 1e-3 * (double)t.tv_usec;
}

/// In the child: becomes the program
static void
become(const char* const* arguments)
{
  const int null = open("/dev/null", O_RDWR | O_CLOEXEC);
  for (int i = 0; i < 3; ++i) {
    dup2(null, i);
  }
  execvp(arguments[0], (char* const*)arguments);
  _exit(127);
}

bool
bench_spawn(const char* const* arguments,
            double*            cpu_ms,
            double*            took_ms,
            double*            peak_mib)
{
  const double start = wall_ms();
  const pid_t  child = fork();
  if (child == 0) {
    become(arguments);
  }
  int           status = 0;
  struct rusage used;
  if (child < 0 || wait4(child, &status, 0, &used) != child) {
    return false;
  }
  *took_ms = wall_ms() - start;
  *cpu_ms  = ms_of(used.ru_utime) + ms_of(used.ru_stime);
  if (peak_mib) {
    *peak_mib = (double)used.ru_maxrss / 1024.0;
  }
  return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

// ---------------------------------------------------------------------------
// A host's scan

#define SPECIFICATIONS "/usr/local/lib/lv2:/usr/lib/lv2"

/// Measures the least times of lv2ls with and without the bundle, in turn
static bool
scan(const char* lv2_folder, double cpu_ms[2], double took_ms[2])
{
  char        with[8192];
  char* const whole = realpath(lv2_folder, NULL); // lilv needs a full path
  if (!whole) {
    return false;
  }
  (void)snprintf(with, sizeof(with), "%s:%s", whole, SPECIFICATIONS);
  free(whole);
  const char* const paths[]     = {SPECIFICATIONS, with};
  const char* const arguments[] = {"lv2ls", NULL};
  for (int pass = 0; pass < 2 * SCANS; ++pass) {
    const int i    = pass % 2;
    double    cpu  = 0.0;
    double    took = 0.0;
    setenv("LV2_PATH", paths[i], 1);
    if (!bench_spawn(arguments, &cpu, &took, NULL)) {
      return false;
    }
    cpu_ms[i]  = pass < 2 ? cpu : bench_least(cpu_ms[i], cpu);
    took_ms[i] = pass < 2 ? took : bench_least(took_ms[i], took);
  }
  return true;
}

void
bench_load(const char* folder, const char* lv2_folder)
{
  char        path[4096];
  struct stat module;
  (void)snprintf(path, sizeof(path), "%s/dustcap.so", folder);
  const double start  = wall_ms();
  void* const  handle = dlopen(path, RTLD_NOW | RTLD_LOCAL);
  const double loaded = wall_ms() - start;
  if (!handle || stat(path, &module)) {
    fprintf(stderr, "bench: %s does not load\n", path);
    exit(1);
  }
  dlclose(handle);

  double     cpu_ms[2]  = {0};
  double     took_ms[2] = {0};
  const bool scanned    = scan(lv2_folder, cpu_ms, took_ms);
  if (!scanned) {
    cpu_ms[0] = took_ms[0] = took_ms[1] = NAN;
  }
  report_section("load", "The module, and lv2ls with the bundle installed "
                         "and without; it may take 50 ms more at most");
  report_text("what", scanned ? "bundle" : "bundle (no lv2ls)");
  report_number("module_kib", 0, (double)module.st_size / 1024.0);
  report_number("dlopen_ms", 2, loaded);
  report_number("without_ms", 1, took_ms[0]);
  report_number("with_ms", 1, took_ms[1]);
  report_number("more_ms", 1, took_ms[1] - took_ms[0]);
  report_number("more_cpu_ms", 1, cpu_ms[1] - cpu_ms[0]);
  report_end_row();
}

// ---------------------------------------------------------------------------
// Generic filters: two soft clippers at 4x, two compressors, eleven
// second-order sections, one echo

#define GENERIC                                                     \
  "highpass=f=70,highpass=f=70,equalizer=f=220:t=o:w=1.2:g=-2,"     \
  "equalizer=f=3500:t=o:w=1:g=-2,"                                  \
  "acompressor=threshold=0.2:ratio=3:attack=10:release=200,"        \
  "highshelf=f=1600:g=2,asoftclip=type=tanh:oversample=4,"          \
  "aecho=1:0.35:34:0.2,equalizer=f=110:t=o:w=1:g=3,"                \
  "asoftclip=type=atan:oversample=4,"                               \
  "equalizer=f=2500:t=o:w=1:g=4,lowpass=f=5000,lowshelf=f=200:g=3," \
  "acompressor=threshold=0.1:ratio=2:attack=5:release=100,"         \
  "equalizer=f=3000:t=o:w=1:g=1.5,highshelf=f=11000:g=5"

/// Two seconds of input, again and again
static bool
write_input(int file)
{
  for (int i = 0; i < SECONDS / 2; ++i) {
    if (write(file, bench_input[0], sizeof(bench_input[0])) !=
        (ssize_t)sizeof(bench_input[0])) {
      return false;
    }
  }
  return true;
}

/// Returns the processor time in ms of ffmpeg with these filters; NaN without
/// it
static double
filter_ms(const char* path, const char* filters)
{
  const char* const arguments[] = {
    "ffmpeg", "-nostdin", "-v",    "error", "-filter_threads",
    "1",      "-f",       "f32le", "-ar",   "48000",
    "-ac",    "1",        "-i",    path,    "-af",
    filters,  "-f",       "null",  "-",     NULL};
  double least = NAN;
  for (int pass = 0; pass < FILTER_PASSES; ++pass) {
    double cpu  = 0.0;
    double took = 0.0;
    if (!bench_spawn(arguments, &cpu, &took, NULL)) {
      return NAN;
    }
    least = pass == 0 ? cpu : bench_least(least, cpu);
  }
  return least;
}

double
bench_generic_ns(void)
{
  const char* const folder = getenv("TMPDIR");
  char              path[4096];
  (void)snprintf(path, sizeof(path), "%s/bench-XXXXXX",
                 folder ? folder : "/tmp");
  const int file = mkstemp(path);
  double    ms   = NAN;
  if (file >= 0 && write_input(file)) {
    ms = filter_ms(path, GENERIC) - filter_ms(path, "anull");
  }
  if (file >= 0) {
    close(file);
    unlink(path);
  }
  return ms * 1e6 / (SECONDS * BENCH_RATE_HZ);
}
