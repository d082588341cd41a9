// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Takes that were cut short or changed in transfer: the renderer reads all of
/// the audio or refuses the file.  Half a take is worse than none.

#include "tests/support/session_check.h"

#include "tests/support/damaged_audio.h"

static file_bytes good[DAMAGED_N_KINDS];
static reading    whole[DAMAGED_N_KINDS];

static int
enter_with_files(void** state)
{
  if (enter_folder(state)) {
    return -1;
  }
  for (size_t i = 0; i < DAMAGED_N_KINDS; ++i) {
    damaged_make(i, &good[i]);
    damaged_read("take", good[i].data, good[i].size, 0.0, &whole[i]);
    assert_int_equal(whole[i].n, DAMAGED_FRAMES);
  }
  return 0;
}

static bool
is_same(const reading* a, const reading* b)
{
  return a->n == b->n && !memcmp(a->x, b->x, sizeof(a->x));
}

/// Each kind of file, cut at every length
static void
cut_files_are_refused(void** state)
{
  (void)state;
  static reading r;
  for (size_t i = 0; i < DAMAGED_N_KINDS; ++i) {
    size_t n_refused = 0;
    for (size_t size = 0; size < good[i].size; ++size) {
      damaged_read("take", good[i].data, size, 0.0, &r);
      n_refused += r.n < 0;
      if (r.n >= 0 && !is_same(&r, &whole[i])) {
        fail_msg("%s cut at %zu of %zu: %lld frames were taken for all",
                 damaged_kinds[i].name, size, good[i].size, (long long)r.n);
      }
    }
    print_message("# %s: %zu of %zu lengths refused\n", damaged_kinds[i].name,
                  n_refused, good[i].size);
    assert_true(n_refused * 10 > good[i].size * 9);
  }
}

/// Written to a pipe, by a program that cannot know the length at the start:
/// RIFF and data chunk of 0xFFFFFFFF bytes, common practice
static void
streamed_wav_is_read(void** state)
{
  (void)state;
  static file_bytes b;
  static reading    r;
  b = good[0];
  for (size_t i = 0; i + 8 <= b.size; ++i) {
    if (!memcmp(b.data + i, "data", 4)) {
      memset(b.data + i + 4, 0xFF, 4);
      memset(b.data + 4, 0xFF, 4);
      break;
    }
  }
  damaged_read("take", b.data, b.size, 0.0, &r);
  assert_true(is_same(&r, &whole[0]));
}

/// Every bit of the head flipped, one at a time, and each byte of the rest
static void
changed_files_are_survived(void** state)
{
  (void)state;
  static file_bytes b;
  static reading    r;
  for (size_t i = 0; i < DAMAGED_N_KINDS; ++i) {
    b = good[i];
    for (size_t at = 0; at < b.size; ++at) {
      const unsigned n_bits = at < 128 ? 8 : 1;
      for (unsigned bit = 0; bit < n_bits; ++bit) {
        const uint8_t mask = n_bits == 1 ? 0xFF : (uint8_t)(1U << bit);
        b.data[at] ^= mask;
        damaged_read("take", b.data, b.size, at % 2 ? 0.0 : 44100.0, &r);
        b.data[at] ^= mask;
      }
    }
  }
}

/// FLAC has a checksum in each frame: changed audio is never played
static void
changed_flac_is_refused(void** state)
{
  (void)state;
  static file_bytes b;
  static reading    r;
  for (size_t i = 0; i < DAMAGED_N_KINDS; ++i) {
    if ((damaged_kinds[i].format & SF_FORMAT_TYPEMASK) == SF_FORMAT_FLAC) {
      b = good[i];
      for (size_t at = b.size / 2; at < b.size; ++at) {
        b.data[at] ^= 0x55U;
        damaged_read("take", b.data, b.size, 0.0, &r);
        b.data[at] ^= 0x55U;
        if (r.n >= 0 && !is_same(&r, &whole[i])) {
          fail_msg("%s, byte %zu: %lld frames, other than before",
                   damaged_kinds[i].name, at, (long long)r.n);
        }
      }
    }
  }
}

/// Runs a program: exit status 1, one line about the take, no new file
static void
check_refuses(const char* program, const char* line)
{
  char      text[1024];
  int       status = 0;
  const int n      = count_files(".");
  (void)snprintf(text, sizeof(text), "--bundle %s %s", FIXTURE_DIR, line);
  const pid_t id = program_start_to(program, text, "stderr");
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_true(WIFEXITED(status));
  assert_int_equal(WEXITSTATUS(status), 1);
  const char* const said = read_text("stderr");
  assert_non_null(strstr(said, "take.wav: "));
  assert_int_equal(strcspn(said, "\n") + 1, strlen(said));
  assert_int_equal(count_files("."), n);
}

/// The programs as a user sees them, a file of each kind cut in the middle,
/// alone and among good ones
static void
programs_leave_nothing(void** state)
{
  (void)state;
  write_text("t.ini", "[delay]\n");
  write_text("s.ini", "[track good]\nfile = good.wav\nsetup = t.ini\n"
                      "[track bad]\nfile = take.wav\nsetup = t.ini\n");
  write_text("stdout", "");
  write_text("stderr", "");
  file_write("good.wav", good[0].data, good[0].size);
  for (size_t i = 0; i < DAMAGED_N_KINDS; ++i) {
    for (size_t part = 1; part < 4; ++part) {
      file_write("take.wav", good[i].data, good[i].size * part / 4);
      check_refuses(RENDER, "take.wav --setup t.ini -o out.wav");
      check_refuses(SESSION, "s.ini -o out");
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(cut_files_are_refused),
    cmocka_unit_test(streamed_wav_is_read),
    cmocka_unit_test(changed_files_are_survived),
    cmocka_unit_test(changed_flac_is_refused),
    cmocka_unit_test(programs_leave_nothing),
  };
  return cmocka_run_group_tests_name("damaged-audio", tests, enter_with_files,
                                     leave_tree);
}
