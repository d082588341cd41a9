// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Files of rendered tracks: what is written is read, any damage is noticed,
/// and a folder of them is cleaned of what nobody used for longest

#include "presets-demo/session/cache/cache_folder.h"
#include "presets-demo/session/cache/pack.h"
#include "presets-demo/session/cache/track_file.h"
#include "tests/support/session_check.h"

#include <sys/time.h>

#define FILE_NAME "one" CACHE_ENDING
#define N_FRAMES  20000U ///< Two chunks and a part
#define HEAD      "what is known before"
#define FACTS     "and behind"

static const volatile sig_atomic_t no_stop;
static const digest_value key = {0x0123456789abcdefU, 0xfedcba987654321U};

/// Noise in one or two channels
static float sides[2][N_FRAMES];

static void
write_track(const char* name, digest_value k, uint32_t n_channels, uint64_t n)
{
  failure            f      = {""};
  const track_header wanted = {
    .key = k, .n_frames = n, .n_channels = n_channels};
  track_file_out* const t =
    track_file_create(name, &wanted, HEAD, sizeof(HEAD), &f);
  assert_non_null(t);
  // In pieces of any length, the last beyond the end
  for (uint32_t at = 0, length = 1; at < N_FRAMES; at += length) {
    length                 = 1 + (at * 7U) % 3001U;
    length                 = length < N_FRAMES - at ? length : N_FRAMES - at;
    const float* const x[] = {sides[0] + at, sides[1] + at};
    assert_true(track_file_write(t, x, length, &f));
  }
  assert_true(track_file_finish(t, FACTS, sizeof(FACTS), &f));
}

static int
enter_with_track(void** state)
{
  uint32_t seed = 1;
  for (uint32_t i = 0; i < 2 * N_FRAMES; ++i) {
    sides[i % 2][i / 2] = check_noise(&seed);
  }
  return enter_folder(state);
}

/// Opens it; it must fail, and say so
static void
check_refused(const char* name, digest_value k, const char* says)
{
  failure f = {""};
  assert_null(track_file_open(name, k, &no_stop, &f));
  assert_string_equal(f.text, says);
}

static void
check_read(uint32_t n_channels, uint64_t n_frames)
{
  static float         x[N_FRAMES + 5000];
  static float         y[N_FRAMES + 5000];
  failure              f = {""};
  track_file_in* const t = track_file_open(FILE_NAME, key, &no_stop, &f);
  assert_non_null(t);
  const track_header* const h = track_file_header(t);
  assert_int_equal(h->n_frames, n_frames);
  assert_int_equal(h->n_channels, n_channels);
  assert_int_equal(h->n_head, sizeof(HEAD));
  assert_int_equal(h->n_facts, sizeof(FACTS));
  assert_memory_equal(track_file_head(t), HEAD, sizeof(HEAD));
  assert_memory_equal(track_file_facts(t), FACTS, sizeof(FACTS));
  track_file_forget(t);
  memset(x, 1, sizeof(x));
  memset(y, 1, sizeof(y));
  for (uint32_t at = 0, length = 0; at < N_FRAMES + 5000; at += length) {
    length = 1 + (at * 5U) % 4999U;
    length = length < N_FRAMES + 5000 - at ? length : N_FRAMES + 5000 - at;
    float* const to[] = {x + at, y + at};
    assert_true(track_file_read(t, to, length, &f));
  }
  track_file_close(t);
  const float* const got[] = {x, y};
  for (uint32_t k = 0; k < n_channels; ++k) {
    assert_memory_equal(got[k], sides[k], n_frames * sizeof(float));
    for (uint64_t i = n_frames; i < N_FRAMES + 5000; ++i) {
      assert_true(got[k][i] == 0.0F);
    }
  }
}

static void
what_is_written_is_read(void** state)
{
  (void)state;
  static const uint64_t lengths[] = {0,
                                     1,
                                     TRACK_CHUNK_FRAMES - 1,
                                     TRACK_CHUNK_FRAMES,
                                     TRACK_CHUNK_FRAMES + 1,
                                     N_FRAMES};
  for (uint32_t n = 1; n <= 2; ++n) {
    for (size_t i = 0; i < sizeof(lengths) / sizeof(lengths[0]); ++i) {
      write_track(FILE_NAME, key, n, lengths[i]);
      check_read(n, lengths[i]);
    }
  }
}

/// Any one byte, wherever it is
static void
any_damage_is_noticed(void** state)
{
  (void)state;
  write_track(FILE_NAME, key, 1, 100);
  struct stat status;
  const int   d = open(FILE_NAME, O_RDWR);
  assert_true(d >= 0 && !fstat(d, &status));
  for (off_t at = 0; at < status.st_size; ++at) {
    failure       f = {""};
    unsigned char is;
    assert_int_equal(pread(d, &is, 1, at), 1);
    const unsigned char damaged = is ^ (unsigned char)(1U << (at % 8));
    assert_int_equal(pwrite(d, &damaged, 1, at), 1);
    if (track_file_open(FILE_NAME, key, &no_stop, &f) || !*f.text) {
      fail_msg("byte %ld: \"%s\"", (long)at, f.text);
    }
    assert_int_equal(pwrite(d, &is, 1, at), 1);
  }
  (void)close(d);
  check_read(1, 100);
}

static void
any_other_length_is_noticed(void** state)
{
  (void)state;
  write_track(FILE_NAME, key, 1, 100);
  struct stat status;
  assert_int_equal(stat(FILE_NAME, &status), 0);
  char says[256];
  for (off_t n = status.st_size + 1; n >= 0; --n) {
    if (n == status.st_size) {
      continue;
    }
    failure f = {""};
    assert_int_equal(truncate(FILE_NAME, n), 0);
    assert_null(track_file_open(FILE_NAME, key, &no_stop, &f));
    assert_true(*f.text);
    if (n == status.st_size - 1) {
      (void)snprintf(says, sizeof(says), "is damaged: %ld bytes instead of %ld",
                     (long)n, (long)status.st_size);
      assert_string_equal(f.text, says);
    }
    if (n > status.st_size) { // Back to what it was
      assert_int_equal(truncate(FILE_NAME, status.st_size), 0);
      check_read(1, 100);
    }
  }
}

/// A chunk whose checksum holds, but in another place
static void
an_exchanged_chunk_is_noticed(void** state)
{
  (void)state;
  write_track(FILE_NAME, key, 1, N_FRAMES);
  const track_header h    = {.n_channels = 1};
  const size_t       n    = track_file_chunk_bytes(&h);
  const off_t        from = (off_t)(sizeof(track_header) + sizeof(HEAD));
  char* const        a    = malloc(n);
  char* const        b    = malloc(n);
  const int          d    = open(FILE_NAME, O_RDWR);
  assert_true(a && b && d >= 0);
  assert_int_equal(pread(d, a, n, from), n);
  assert_int_equal(pread(d, b, n, from + (off_t)n), n);
  assert_int_equal(pwrite(d, b, n, from), n);
  assert_int_equal(pwrite(d, a, n, from + (off_t)n), n);
  check_refused(FILE_NAME, key, "is damaged in its sound");
  (void)close(d);
  free(a);
  free(b);
}

static void
what_is_no_track_is_refused(void** state)
{
  (void)state;
  digest_value other = key;
  ++other.low;
  check_refused("none", key, ""); // It just is not there
  write_track(FILE_NAME, key, 2, N_FRAMES);
  check_refused(FILE_NAME, other, "is the file of another track");
  write_text("text", "[track one]\n");
  check_refused("text", key, "is not the file of a track");
  assert_int_equal(mkdir("folder", 0777), 0);
  check_refused("folder", key, "is not the file of a track");
  assert_int_equal(mkfifo("pipe", 0666), 0); // Does not wait for a writer
  check_refused("pipe", key, "is not the file of a track");
  const sig_atomic_t stopped = 1;
  failure            f       = {""};
  assert_null(track_file_open(FILE_NAME, key, &stopped, &f));
  assert_string_equal(f.text, "");
}

/// Of another version, or from a machine with another order of bytes
static void
other_versions_are_refused(void** state)
{
  (void)state;
  static const size_t places[] = {offsetof(track_header, version),
                                  offsetof(track_header, order)};
  for (size_t i = 0; i < 2; ++i) {
    write_track(FILE_NAME, key, 1, 100);
    const int      d     = open(FILE_NAME, O_RDWR);
    const uint32_t value = i ? 0x04030201U : TRACK_VERSION + 1U;
    assert_int_equal(pwrite(d, &value, sizeof(value), (off_t)places[i]), 4);
    (void)close(d);
    check_refused(FILE_NAME, key, "is of another version");
  }
}

/// Its sound is checked again where it is used
static void
damage_while_it_is_open_is_noticed(void** state)
{
  (void)state;
  static float x[N_FRAMES];
  float* const to[] = {x};
  failure      f    = {""};
  write_track(FILE_NAME, key, 1, N_FRAMES);
  track_file_in* const t = track_file_open(FILE_NAME, key, &no_stop, &f);
  assert_non_null(t);
  const int d = open(FILE_NAME, O_RDWR);
  assert_int_equal(pwrite(d, "x", 1, 60000), 1); // The second chunk
  (void)close(d);
  assert_true(track_file_read(t, to, TRACK_CHUNK_FRAMES, &f));
  assert_false(track_file_read(t, to, 1, &f));
  assert_string_equal(f.text, FILE_NAME
                      ": is damaged in its sound since it was opened");
  track_file_close(t);
}

/// One that lacks its end gets no name, and what was there stays
static void
an_unfinished_file_is_none(void** state)
{
  (void)state;
  failure               f      = {""};
  const track_header    wanted = {.key = key, .n_frames = 10, .n_channels = 1};
  const float* const    x[]    = {sides[0]};
  const int             n      = count_files(".");
  track_file_out* const t      = track_file_create("new", &wanted, "", 0, &f);
  assert_non_null(t);
  assert_true(track_file_write(t, x, 9, &f));
  assert_false(track_file_finish(t, "", 0, &f));
  assert_string_equal(f.text, "new: lacks its end");
  track_file_abandon(track_file_create("new", &wanted, "", 0, &f));
  assert_int_equal(count_files("."), n);
}

/// xxHash's own description gives XXH3's 128 bits of nothing, with seed 0
static void
digests_are_those_of_the_library(void** state)
{
  (void)state;
  char text[DIGEST_TEXT_SIZE];
  digest_print(digest_end(digest_new()), text);
  assert_string_equal(text, "99aa06d3014798d86001c324468d497f");

  failure f = {""};
  write_text("abc", "abc");
  digest* const a = digest_new();
  digest* const b = digest_new();
  assert_true(digest_add_file(a, "abc", &no_stop, &f));
  digest_add(b, "a", 1);
  digest_add(b, "bc", 2);
  digest_add_count(b, 3);
  assert_true(digest_is_same(digest_end(a), digest_end(b)));

  digest* const c = digest_new();
  assert_false(digest_add_file(c, "not there", &no_stop, &f));
  assert_string_equal(f.text,
                      "not there: cannot be read (No such file or directory)");
  (void)digest_end(c);
}

/// Where one text ends and the next begins counts
static void
digests_tell_texts_apart(void** state)
{
  (void)state;
  digest* const a = digest_new();
  digest* const b = digest_new();
  digest_add_text(a, "ab");
  digest_add_text(a, "c");
  digest_add_text(b, "a");
  digest_add_text(b, "bc");
  assert_false(digest_is_same(digest_end(a), digest_end(b)));
}

typedef struct {
  uint64_t count;
  uint32_t small;
  double   numbers[2];
  float    samples[3];
  char     text[8];
} packed;

static void
pass(pack* p, packed* x)
{
  pack_count(p, &x->count);
  pack_small(p, &x->small);
  pack_numbers(p, x->numbers, 2);
  pack_samples(p, x->samples, 3);
  pack_text(p, x->text, sizeof(x->text));
}

/// And not a byte more or less
static void
packs_give_back_what_they_got(void** state)
{
  (void)state;
  static packed got; // Static ones have zeroes in their gaps
  static packed is  = {1, 2, {3.0, -0.0}, {5.0F, 6.0F, 7.0F}, "seven77"};
  pack          out = pack_to_write();
  pass(&out, &is);
  pack in = pack_to_read(out.bytes, out.n);
  pass(&in, &got);
  assert_true(pack_is_read(&in));
  assert_memory_equal(&got, &is, sizeof(is));
  for (size_t n = 0; n < out.n; ++n) {
    pack less = pack_to_read(out.bytes, n);
    pass(&less, &got);
    assert_false(pack_is_read(&less));
  }
  pack more = pack_to_read(out.bytes, out.n);
  pack_count(&more, &got.count);
  assert_false(pack_is_read(&more));

  // A number of elements that cannot follow makes no room for them
  pack many = pack_to_read(out.bytes, out.n);
  assert_null(pack_room(&many, NULL, SIZE_MAX / 2, 8));
  assert_false(pack_is_read(&many));
  free(out.bytes);
}

/// Makes the file of a track that was last used so many seconds after 1970
static void
add_track(const char* folder, digest_value k, time_t used)
{
  char* const          path    = cache_folder_path(folder, k);
  const struct timeval times[] = {{used, 0}, {used, 0}};
  write_track(path, k, 1, 100);
  assert_int_equal(utimes(path, times), 0);
  free(path);
}

static bool
has_track(const char* folder, digest_value k)
{
  char* const path = cache_folder_path(folder, k);
  const bool  is   = access(path, F_OK) == 0;
  free(path);
  return is;
}

static void
what_was_not_used_for_longest_goes(void** state)
{
  (void)state;
  failure      f = {""};
  digest_value keys[6];
  assert_true(cache_folder_make("cache", &f));
  assert_true(cache_folder_make("cache", &f)); // It may be there
  for (uint32_t i = 0; i < 6; ++i) {
    keys[i] = (digest_value){i, 5};
    add_track("cache", keys[i], 2000000 - 100 * (time_t)i);
  }
  // Those that are no files of tracks, whatever they are called
  write_text("cache/notes.txt", "mine");
  write_text("cache/00000000000000000000000000000000" CACHE_ENDING, "mine");
  struct stat status;
  char* const one = cache_folder_path("cache", keys[0]);
  assert_int_equal(stat(one, &status), 0);
  free(one);
  // Room for three and a half; the oldest is used
  cache_folder_clean("cache", &keys[5], 1, 3.5 * (double)status.st_size);
  for (uint32_t i = 0; i < 6; ++i) {
    assert_int_equal(has_track("cache", keys[i]), i < 2 || i == 5);
  }
  // What is used stays without any room
  cache_folder_clean("cache", &keys[5], 1, 0.0);
  assert_int_equal(count_files("cache"), 3);
  assert_true(has_track("cache", keys[5]));
  assert_string_equal(read_text("cache/notes.txt"), "mine");
  cache_folder_clean("not there", NULL, 0, 0.0);
}

/// Opening counts as use
static void
what_is_opened_is_used(void** state)
{
  (void)state;
  failure            f      = {""};
  const digest_value two[2] = {{1, 6}, {2, 6}};
  assert_true(cache_folder_make("used", &f));
  add_track("used", two[0], 1000000);
  add_track("used", two[1], 2000000);
  char* const          path = cache_folder_path("used", two[0]);
  track_file_in* const t    = track_file_open(path, two[0], &no_stop, &f);
  free(path);
  assert_non_null(t);
  cache_folder_clean("used", NULL, 0,
                     1.5 *
                       (double)(sizeof(track_header) +
                                track_file_chunk_bytes(track_file_header(t))));
  assert_true(has_track("used", two[0]));
  assert_false(has_track("used", two[1]));
  track_file_close(t);
}

/// A run that was killed leaves a part, which is kept while it may still grow
static void
what_killed_runs_left_goes(void** state)
{
  (void)state;
  failure            f      = {""};
  const digest_value k      = {1, 7};
  const track_header wanted = {.key = k, .n_frames = 10, .n_channels = 1};
  assert_true(cache_folder_make("killed", &f));
  char* const path = cache_folder_path("killed", k);
  const pid_t id   = fork();
  if (!id) {
    _exit(!track_file_create(path, &wanted, "", 0, &f));
  }
  free(path);
  int status = 0;
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_int_equal(status, 0);
  assert_int_equal(count_files("killed"), 1);
  cache_folder_clean("killed", NULL, 0, 0.0);
  assert_int_equal(count_files("killed"), 1); // It is not a minute old
  DIR* const d = opendir("killed");
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    const struct timeval times[] = {{1000000, 0}, {1000000, 0}};
    char                 part[512];
    (void)snprintf(part, sizeof(part), "killed/%s", e->d_name);
    if (strstr(e->d_name, CACHE_ENDING)) {
      assert_int_equal(utimes(part, times), 0);
    }
  }
  (void)closedir(d);
  cache_folder_clean("killed", NULL, 0, 0.0);
  assert_int_equal(count_files("killed"), 0);
}

static void
a_folder_that_cannot_be_is_refused(void** state)
{
  (void)state;
  failure f = {""};
  write_text("plain", "");
  assert_false(cache_folder_make("plain", &f));
  assert_string_equal(f.text, "is not a folder");
  assert_false(cache_folder_make("plain/inner", &f));
  assert_string_equal(f.text, "cannot be made (Not a directory)");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(what_is_written_is_read),
    cmocka_unit_test(any_damage_is_noticed),
    cmocka_unit_test(any_other_length_is_noticed),
    cmocka_unit_test(an_exchanged_chunk_is_noticed),
    cmocka_unit_test(what_is_no_track_is_refused),
    cmocka_unit_test(other_versions_are_refused),
    cmocka_unit_test(damage_while_it_is_open_is_noticed),
    cmocka_unit_test(an_unfinished_file_is_none),
    cmocka_unit_test(digests_are_those_of_the_library),
    cmocka_unit_test(digests_tell_texts_apart),
    cmocka_unit_test(packs_give_back_what_they_got),
    cmocka_unit_test(what_was_not_used_for_longest_goes),
    cmocka_unit_test(what_is_opened_is_used),
    cmocka_unit_test(what_killed_runs_left_goes),
    cmocka_unit_test(a_folder_that_cannot_be_is_refused),
  };
  return cmocka_run_group_tests_name("track-file", tests, enter_with_track,
                                     leave_tree);
}
