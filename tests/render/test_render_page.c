// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// `--report`: the page that plays a take after each stage, beside the file and
/// like it written completely or not at all

#include "tests/support/render_check.h"

#include <sys/stat.h>
#include <unistd.h>

static int
start(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  sound s = sound_noise(FLOAT_WAV, RATE_HZ, 1, 4 * RATE_HZ);
  sound_write(&s, "in.wav");
  sound_free(&s);
  write_text("t.ini", "[delay]\ngain_db = -6\n[widener]\n");
  return 0;
}

static int
status_of(const char* line)
{
  char text[1024];
  (void)snprintf(text, sizeof(text), "--bundle %s in.wav --setup t.ini %s",
                 FIXTURE_DIR, line);
  return render_status(text);
}

/// Returns all of a file; free() it
static char*
page_of(const char* name)
{
  FILE* const f    = fopen(name, "r");
  char* const text = calloc(1, 4000000);
  assert_true(f && text && fread(text, 1, 3999999, f) < 3999999);
  assert_int_equal(fclose(f), 0);
  return text;
}

static int
count(const char* text, const char* what)
{
  int n = 0;
  for (const char* at = text; (at = strstr(at, what)); ++at) {
    ++n;
  }
  return n;
}

/// Dry and after each of both stages, without a mix; the sound file is what it
/// is without a page
static void
page_lies_beside(void** state)
{
  (void)state;
  assert_int_equal(status_of("-o out.wav --bits float --quiet"), 0);
  sound alone = sound_read("out.wav");
  assert_int_equal(status_of("-o out.wav --bits float --report"), 0);
  assert_string_equal(read_text("stderr"), "");
  assert_non_null(strstr(read_text("stdout"),
                         "out-report.html: open it in a browser, with the "
                         "volume low\n"));
  sound with = sound_read("out.wav");
  assert_int_equal(alone.info.frames, with.info.frames);
  assert_memory_equal(alone.x, with.x,
                      (size_t)(alone.info.frames * alone.info.channels) *
                        sizeof(float));
  sound_free(&alone);
  sound_free(&with);
  char* const text = page_of("out-report.html");
  assert_int_equal(count(text, "<template"), 3);
  assert_int_equal(count(text, "<script>"), 1);
  assert_non_null(strstr(text, "<bdi>in.wav</bdi>"));
  assert_non_null(strstr(text, "widener (finished)"));
  assert_null(strstr(text, "id=\"mix\""));
  assert_non_null(strstr(text, "</html>"));
  free(text);
}

static void
no_page_unless_asked(void** state)
{
  (void)state;
  assert_int_equal(status_of("-o plain.wav --quiet"), 0);
  assert_int_not_equal(access("plain-report.html", F_OK), 0);
}

/// What cannot be written, or read again, leaves neither file
static void
nothing_half_written(void** state)
{
  (void)state;
  assert_int_equal(mkdir("bad-report.html", 0777), 0);
  assert_int_not_equal(status_of("-o bad.wav --report --quiet"), 0);
  assert_non_null(strstr(read_text("stderr"), "bad-report.html: "));
  assert_int_not_equal(access("bad.wav", F_OK), 0);
  assert_int_equal(rmdir("bad-report.html"), 0);

  write_text("own-report.html", "[delay]\n");
  char text[1024];
  (void)snprintf(text, sizeof(text),
                 "--bundle %s in.wav --setup own-report.html -o own.wav "
                 "--report --quiet",
                 FIXTURE_DIR);
  assert_int_not_equal(render_status(text), 0);
  assert_string_equal(read_text("stderr"),
                      "dustcap-render: own-report.html: is the setup "
                      "own-report.html; expected another file to write\n");
  assert_string_equal(read_text("own-report.html"), "[delay]\n");
  assert_int_not_equal(access("own.wav", F_OK), 0);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(page_lies_beside),
    cmocka_unit_test(no_page_unless_asked),
    cmocka_unit_test(nothing_half_written),
  };
  return cmocka_run_group_tests_name("render-page", tests, start, leave_folder);
}
