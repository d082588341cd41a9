// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Inspects what programs leave: whole files, old or new

#ifndef TESTS_SUPPORT_WHOLE_FILES_H
#define TESTS_SUPPORT_WHOLE_FILES_H

#include "session_check.h"

#define USER_PRESETS "lv2/dustcap-user-presets.lv2"
#define MAX_BYTES    131072

typedef struct {
  char   data[MAX_BYTES];
  size_t size;
} content;

static inline void
read_content(const char* name, content* c)
{
  FILE* const f = fopen(name, "rb");
  if (!f) {
    fail_msg("there is no %s", name);
  }
  c->size = fread(c->data, 1, sizeof(c->data), f);
  assert_true(c->size < sizeof(c->data));
  (void)fclose(f);
}

static inline bool
is_same(const content* a, const content* b)
{
  return a->size == b->size && !memcmp(a->data, b->data, a->size);
}

static inline bool
is_file(const char* name, const content* want)
{
  static content now;
  read_content(name, &now);
  return is_same(&now, want);
}

static inline int
run_program(const char* program, const char* line)
{
  char text[1024];
  int  status = 0;
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const pid_t id = program_start_to(program, text, "stderr");
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_true(WIFEXITED(status));
  return WEXITSTATUS(status);
}

static inline void
run_well(const char* program, const char* line)
{
  if (run_program(program, line)) {
    fail_msg("%s: %s", line, read_text("stderr"));
  }
}

static inline void
check_one_line(void)
{
  const char* const said = read_text("stderr");
  assert_int_equal(strncmp(said, "dustcap-", 8), 0);
  assert_int_equal(strcspn(said, "\n") + 1, strlen(said));
}

/// Writes two setups that sound different, a take, and a session for each
static inline int
enter_with_files(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  sound s = write_noise("a.wav", RATE_HZ, 1, 4800);
  sound_free(&s);
  write_text("one.ini", "[delay]\n");
  write_text("two.ini", "[delay]\ngain_db = -6\n");
  write_text("one.session.ini", "[track a]\nfile = a.wav\nsetup = one.ini\n"
                                "[output]\ntail_s = 0\n");
  write_text("two.session.ini", "[track a]\nfile = a.wav\nsetup = two.ini\n"
                                "[output]\ntail_s = 0\n");
  write_text("stdout", "");
  write_text("stderr", "");
  return 0;
}

#endif // TESTS_SUPPORT_WHOLE_FILES_H
