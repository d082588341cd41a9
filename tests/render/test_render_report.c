// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Output and warnings of the renderer, and the very bytes it writes

#include "tests/support/render_check.h"

#include "presets-demo/render/audio/level_meter.h"

#include <sys/ioctl.h>

/// Returns the line of the table that starts with `name`
static void
check_row(const char* name, const char* want)
{
  char              row[256];
  const char* const line = strstr(read_text("stdout"), name);
  assert_non_null(line);
  (void)snprintf(row, sizeof(row), "%.*s", (int)strcspn(line, "\n"), line);
  assert_string_equal(row, want);
}

/// A sine of peak 0.5 has -9.03 dBFS RMS.  Here are 3 s of it between silences,
/// and 2 s of it 20 dB softer, which the gate leaves out.  Of the windows 27
/// are full and two each have 1/4, 1/2 and 3/4 of it (as in BS.1770-5): -9.03 +
/// 10 lg(30 / 33) = -9.44.  The fixture's reduction is 3 dB during the first of
/// the 5 s of playing and then 1 dB: 1.4 on average.  Loudness: 997 Hz at 0
/// dBFS in one channel reads -3.01 LKFS (BS.1770-5), and mono counts as heard
/// from two: -6.02 for this peak, less the same 0.41 of the gate.
static void
levels_are_those_of_the_playing(void** state)
{
  (void)state;
  sound in = sound_new(FLOAT_WAV, RATE_HZ, 1, 10L * RATE_HZ);
  check_sine(in.x + RATE_HZ, 3 * RATE_HZ, 1000.0, 0.5, RATE_HZ);
  check_sine(in.x + 6L * RATE_HZ, 2 * RATE_HZ, 1000.0, 0.05, RATE_HZ);
  sound_write(&in, "in.wav");
  sound_free(&in);
  write_text("s.ini", "[delay]\ngain_db = 6\n[widener]\ngain_db = -20\n");
  render_well("in.wav --setup s.ini -o out.wav");
  check_row(
    "delay",
    "delay      -9.4    -3.4     -6.4     -0.4     6.0     0.0    1.4 / 3.0 "
    "      37");
  check_row(
    "widener",
    "widener    -3.4   -23.4     -0.4    -20.4   -20.0   -20.0    1.4 / 3.0 "
    "      37");
  check_row(
    "total",
    "total      -9.4   -23.4     -6.4    -20.4   -14.0   -20.0            - "
    "      74");
}

/// Signals whose level follows from how they are made
static void
level_meter_by_itself(void** state)
{
  (void)state;
  static float       x[RATE_HZ];
  const float* const both[] = {x, x};
  level_meter        m;

  level_meter_init(&m, RATE_HZ);
  assert_true(isinf(level_meter_gated_db(&m)));
  assert_true(level_meter_add(&m, both, 1, RATE_HZ)); // Silence
  assert_true(isinf(level_meter_gated_db(&m)));
  assert_true(isinf(level_meter_peak_db(&m)));
  level_meter_clear(&m);

  // The same in pieces of any size and any number of equal channels
  check_sine(x, RATE_HZ, 100.0, 1.0, RATE_HZ);
  for (uint32_t n_channels = 1; n_channels <= 2; ++n_channels) {
    level_meter_init(&m, RATE_HZ);
    for (uint32_t i = 0; i < RATE_HZ; i += 333) {
      const float* const part[] = {x + i, x + i};
      const uint32_t     left   = RATE_HZ - i;
      assert_true(
        level_meter_add(&m, part, n_channels, left < 333 ? left : 333));
    }
    assert_near(level_meter_gated_db(&m), -3.0103, 1e-4); // 20 lg sqrt(1/2)
    assert_near(level_meter_peak_db(&m), 0.0, 1e-4);
    level_meter_clear(&m);
  }

  // Less than a window: the level of all of it
  level_meter_init(&m, RATE_HZ);
  assert_true(level_meter_add(&m, both, 1, 480));
  assert_near(level_meter_gated_db(&m), -3.0103, 1e-4);
  x[5] = INFINITY;
  assert_false(level_meter_add(&m, both, 1, 480));
  level_meter_clear(&m);
}

/// Renders in.wav, which must succeed with this on stderr
static void
check_warning(const char* line, const char* want)
{
  char text[2048];
  (void)snprintf(text, sizeof(text),
                 "--bundle %s in.wav --setup s.ini -o out.wav --quiet %s",
                 FIXTURE_DIR, line);
  assert_int_equal(render_status(text), 0);
  assert_string_equal(read_text("stderr"), want);
  assert_string_equal(read_text("stdout"), "");
}

static void
clipping_is_counted(void** state)
{
  (void)state;
  sound in = sound_new(FLOAT_WAV, RATE_HZ, 1, 4);
  in.x[0]  = 1.0F; // Full scale is not over it
  in.x[1]  = 2.0F;
  in.x[2]  = -1.0F;
  in.x[3]  = -1.0001F;
  sound_write(&in, "in.wav");
  write_text("s.ini", "[delay]\n");
  check_warning("--bits float", "");
  check_warning("", "dustcap-render: warning: out.wav: 2 samples above 0 dBFS "
                    "were clipped (peak +6.0 dBFS); lower the level or use "
                    "--bits float\n");
  sound       out    = sound_read("out.wav");
  const float top    = 8388607.0F / 8388608.0F; // 24 bits
  const float want[] = {top, top, -1.0F, -1.0F};
  for (int i = 0; i < 4; ++i) {
    assert_true(out.x[i] == want[i]);
  }
  sound_free(&out);
  sound_free(&in);
}

static void
end_is_watched(void** state)
{
  (void)state;
  // 37 frames of latency are no tail: 1 s is enough here, 0 is taken as given
  sound in = sound_noise(FLOAT_WAV, RATE_HZ, 1, 4800);
  sound_write(&in, "in.wav");
  write_text("s.ini", "[delay]\n");
  check_warning("", "");
  check_warning("--tail 0", "");
  // 5 ms of tail leave 5 of the last 10 ms to the input
  check_warning("--tail 0.005",
                "dustcap-render: warning: out.wav: still at -6 dBFS at its "
                "end; a longer --tail keeps the rest\n");
  sound_free(&in);
}

/// Mean and variance of the error of 16 bits with triangular dither of 2 LSB
/// peak to peak: 0 and LSB^2 / 4 whatever the signal (Lipshitz, Wannamaker and
/// Vanderkooy, "Quantization and Dither: A Theoretical Survey", J. Audio Eng.
/// Soc. 40(5), 1992)
static void
dither_is_triangular(void** state)
{
  (void)state;
  const double lsb = 1.0 / 32768.0;
  const int    n   = 200000;
  sound        in  = sound_new(FLOAT_WAV, RATE_HZ, 1, n);
  write_text("s.ini", "[delay]\n");
  for (int step = 0; step < 4; ++step) {
    const double level = (10.0 + 0.17 * step) * lsb;
    for (int i = 0; i < n; ++i) {
      in.x[i] = (float)level;
    }
    sound_write(&in, "in.wav");
    check_warning("--bits 16 --tail 0",
                  "dustcap-render: warning: in.wav: no playing: nothing is "
                  "above -70 dBFS; check the file\n");
    sound  out      = sound_read("out.wav");
    double mean     = 0.0;
    double variance = 0.0;
    assert_int_equal(out.info.format & SF_FORMAT_SUBMASK, SF_FORMAT_PCM_16);
    for (int i = 0; i < n; ++i) {
      const double error = ((double)out.x[i] - level) / lsb;
      mean += error / n;
      variance += error * error / n;
    }
    assert_near(mean, 0.0, 0.005);      // 4.5 standard errors
    assert_near(variance, 0.25, 0.005); // Likewise, about 5
    sound_free(&out);
  }
  sound_free(&in);
}

/// Returns all bytes of a file; free() them
static char*
read_bytes(const char* name, size_t* n)
{
  struct stat status;
  assert_int_equal(stat(name, &status), 0);
  *n                = (size_t)status.st_size;
  char* const bytes = malloc(*n);
  FILE* const f     = fopen(name, "r");
  assert_non_null(f);
  assert_non_null(bytes);
  assert_int_equal(fread(bytes, 1, *n, f), *n);
  (void)fclose(f);
  return bytes;
}

/// The same file each time, even a second later
static void
bytes_are_the_same(void** state)
{
  (void)state;
  static const char* const lines[] = {
    "in.wav --setup s.ini --bits float -o ",
    "in.wav --setup s.ini --bits 16 -o ",
    "in.wav --setup s.ini --rate 44100 -o ",
  };
  sound in = sound_noise(FLOAT_WAV, RATE_HZ, 2, 20000);
  sound_write(&in, "in.wav");
  sound_free(&in);
  write_text("s.ini", "[delay]\n");
  for (int i = 0; i < 3; ++i) {
    char   line[128];
    size_t n_a = 0;
    size_t n_b = 0;
    (void)snprintf(line, sizeof(line), "%sa.wav", lines[i]);
    render_well(line);
    if (!i) {
      (void)sleep(1); // A time in the file would differ
    }
    (void)snprintf(line, sizeof(line), "%sb.wav", lines[i]);
    render_well(line);
    char* const a = read_bytes("a.wav", &n_a);
    char* const b = read_bytes("b.wav", &n_b);
    assert_int_equal(n_a, n_b);
    assert_memory_equal(a, b, n_a);
    free(a);
    free(b);
  }
}

/// Returns all that the renderer shows on a terminal of `n_columns` (0: not
/// known) while it plays a file slowly
static void
read_terminal_of(int         n_columns,
                 const char* in,
                 const char* option,
                 char*       shown,
                 size_t      size)
{
  char      line[512];
  const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
  size_t    length   = 0;
  assert_true(terminal >= 0);
  assert_int_equal(grantpt(terminal), 0);
  assert_int_equal(unlockpt(terminal), 0);
  // Held open here, so that the output can be read afterwards
  const int other = open(ptsname(terminal), O_RDWR | O_NOCTTY);
  assert_true(other >= 0);
  const struct winsize columns = {.ws_col = (unsigned short)n_columns};
  assert_int_equal(ioctl(other, TIOCSWINSZ, &columns), 0);
  (void)snprintf(line, sizeof(line),
                 "--bundle %s %s --setup slow.ini --tail 0 -o out.wav %s",
                 FIXTURE_DIR, in, option);
  const pid_t id     = render_start_to(line, ptsname(terminal));
  int         status = 0;
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_int_equal(status, 0);
  assert_int_equal(fcntl(terminal, F_SETFL, O_NONBLOCK), 0);
  for (ssize_t n = 1; n > 0 && length < size - 1;) {
    n = read(terminal, shown + length, size - 1 - length);
    length += n > 0 ? (size_t)n : 0;
  }
  shown[length] = '\0';
  (void)close(other);
  (void)close(terminal);
}

static void
read_terminal(const char* option, char* shown, size_t size)
{
  read_terminal_of(0, "in.wav", option, shown, size);
}

/// The fixture takes 20 ms for each 512 frames: 2 s for 51200
static void
progress_is_for_terminals(void** state)
{
  (void)state;
  static char shown[65536];
  sound       in = sound_noise(FLOAT_WAV, RATE_HZ, 1, 51200);
  sound_write(&in, "in.wav");
  sound_free(&in);
  write_text("slow.ini", "[dawdler]\n");
  write_text("s.ini", "[delay]\n");

  read_terminal("", shown, sizeof(shown));
  assert_memory_equal(shown, "\rin.wav [", 9); // A bar ...
  assert_non_null(strstr(shown, " %, "));
  const char* const end = shown + strlen(shown) - strlen("\r\033[K");
  assert_string_equal(end, "\r\033[K"); // ... that is gone at the end
  read_terminal("--quiet", shown, sizeof(shown));
  assert_string_equal(shown, "");
  render_well("in.wav --setup slow.ini --tail 0 -o out.wav"); // To a file
}

/// Returns the longest number of bytes from a "\r" to a control sequence
static size_t
longest_line(const char* shown)
{
  size_t longest = 0;
  for (const char* at = strchr(shown, '\r'); at; at = strchr(at + 1, '\r')) {
    const size_t length = strcspn(at + 1, "\r\033\n");
    longest             = length > longest ? length : longest;
  }
  return longest;
}

/// The bar stays in one line and leaves the last column free
static void
progress_minds_narrow_terminals(void** state)
{
  (void)state;
  static char shown[65536];
  read_terminal_of(40, "in.wav", "", shown, sizeof(shown));
  assert_memory_equal(shown, "\rin.wav [", 9);
  assert_int_equal(longest_line(shown), 39);
  read_terminal_of(24, "in.wav", "", shown, sizeof(shown));
  assert_memory_equal(shown, "\rin.wav  ", 9); // No room for a bar
  assert_true(longest_line(shown) <= 23);
  assert_int_equal(setenv("COLUMNS", "40", 1), 0);
  read_terminal_of(0, "in.wav", "", shown, sizeof(shown));
  assert_int_equal(longest_line(shown), 39);
  read_terminal_of(60, "in.wav", "", shown, sizeof(shown)); // It knows better
  assert_in_range(longest_line(shown), 40, 59);
  assert_int_equal(unsetenv("COLUMNS"), 0);
}

/// A bar needs control sequences: a terminal without them shows none
static void
progress_spares_dumb_terminals(void** state)
{
  (void)state;
  static char shown[65536];
  assert_int_equal(setenv("TERM", "dumb", 1), 0);
  read_terminal("", shown, sizeof(shown));
  assert_string_equal(shown, "");
  assert_int_equal(unsetenv("TERM"), 0);
  read_terminal("", shown, sizeof(shown));
  assert_string_equal(shown, "");
  assert_int_equal(setenv("TERM", "xterm", 1), 0);
}

/// A name that would clear the screen, in CSI of 7 and of 8 bits (ISO/IEC 6429,
/// 5.4), turn text around, and is no UTF-8 at its end
#define EVIL         \
  "e\033[2J\xC2\x9B" \
  "2J\xE2\x80\xAE\xE2\x80\xAC\xC3\xA9\xFF"
#define EVIL_SHOWN      \
  "e\\x1B[2J\\xC2\\x9B" \
  "2J\\xE2\\x80\\xAE\\xE2\\x80\\xAC\xC3\xA9\\xFF"

static void
no_control_reaches_the_terminal(void** state)
{
  (void)state;
  static char shown[65536];
  sound       in = sound_noise(FLOAT_WAV, RATE_HZ, 1, 51200);
  sound_write(&in, EVIL ".wav");
  sound_free(&in);
  read_terminal_of(80, EVIL ".wav", "", shown, sizeof(shown));
  assert_memory_equal(shown, "\re\\x1B[2J\\xC2\\x9B2J", 18);
  for (const char* at = shown; (at = strchr(at, '\033')); ++at) {
    assert_memory_equal(at, "\033[K", 3); // The bar's own
  }
  render_well(EVIL ".wav --setup s.ini -o " EVIL "-out.wav");
  const char* said = read_text("stdout");
  assert_memory_equal(said, EVIL_SHOWN ".wav: mono", strlen(EVIL_SHOWN) + 10);
  assert_non_null(strstr(said, "\n" EVIL_SHOWN "-out.wav: mono"));
  assert_null(strpbrk(said, "\033\xFF"));
  assert_int_not_equal(
    render_status("--bundle " FIXTURE_DIR " none-" EVIL " --setup s.ini -o x"),
    0);
  said = read_text("stderr");
  assert_non_null(strstr(said, "none-" EVIL_SHOWN ": No such file"));
  assert_null(strpbrk(said, "\033\xFF"));
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(levels_are_those_of_the_playing),
    cmocka_unit_test(level_meter_by_itself),
    cmocka_unit_test(clipping_is_counted),
    cmocka_unit_test(end_is_watched),
    cmocka_unit_test(dither_is_triangular),
    cmocka_unit_test(bytes_are_the_same),
    cmocka_unit_test(progress_is_for_terminals),
    cmocka_unit_test(progress_minds_narrow_terminals),
    cmocka_unit_test(progress_spares_dumb_terminals),
    cmocka_unit_test(no_control_reaches_the_terminal),
  };
  if (setenv("TERM", "xterm", 1) || unsetenv("COLUMNS")) {
    return EXIT_FAILURE;
  }
  return cmocka_run_group_tests_name("render-report", tests, enter_folder,
                                     leave_folder);
}
