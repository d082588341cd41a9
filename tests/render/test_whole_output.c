// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Files and folders that are written completely or not at all: the order in
/// which they are synced to disk, and what is left if any step fails.
///
/// The order that survives a power cut (common practice; POSIX 1003.1, fsync()
/// and rename()): the files, the folders that name them, the rename, the folder
/// of the new name.

#include "disk_calls.h"

#include "presets-demo/render/audio/audio_out.h"
#include "presets-demo/render/program/whole_file.h"
#include "presets-demo/render/program/whole_folder.h"

#include <time.h>

// ---------------------------------------------------------------------------
// Files

static bool
write_by_stream(const char* path, const char* text, failure* f)
{
  whole_file* const w = whole_file_open(path, f);
  if (!w) {
    return false;
  }
  (void)fputs(text, whole_file_stream(w));
  return whole_file_finish(w, f);
}

static void
a_file_is_on_the_disk_before_its_name(void** state)
{
  (void)state;
  failure f = {""};
  forget_calls();
  assert_true(write_by_stream("a.txt", "text", &f));
  check_synced("a.txt", naming("a.txt"));
  check_named(".", naming("a.txt"));
  assert_string_equal(read_text("a.txt"), "text");

  assert_int_equal(mkdir("in", 0777), 0);
  forget_calls();
  whole_file* const w = whole_file_open("in/b.txt", &f);
  assert_non_null(w);
  assert_int_equal(write(whole_file_descriptor(w), "bytes", 5), 5);
  assert_true(whole_file_finish(w, &f));
  check_synced("in/b.txt", naming("in/b.txt"));
  check_named("in", naming("in/b.txt"));
  assert_string_equal(read_text("in/b.txt"), "bytes");

  static const char* const names[] = {"c.wav", "c.flac", "c.aiff"};
  static const float       x[4800];
  const float* const       channels[] = {x};
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    forget_calls();
    audio_out* const a = audio_out_open(
      &(audio_out_spec){names[i], 1, 48000.0, SAMPLES_24, 4800}, &f);
    assert_non_null(a);
    assert_true(audio_out_write(a, channels, 4800, &f));
    assert_true(audio_out_finish(a, &f));
    check_synced(names[i], naming(names[i]));
    check_named(".", naming(names[i]));
    assert_int_equal(unlink(names[i]), 0);
  }
  remove_tree("in");
  assert_int_equal(unlink("a.txt"), 0);
}

static void
a_file_that_fails_leaves_old_or_new(void** state)
{
  (void)state;
  static const struct {
    call_kind   kind;
    int         after;
    const char* left;
    const char* said;
  } faults[] = {
    {SYNC, 0, "old", "a.txt: cannot be completed (Input/output error)"},
    {RENAME, 0, "old",
     "a.txt: cannot be renamed into place (Input/output error)"},
    {SYNC, 1, "new",
     "a.txt: is in place, but its folder cannot be synced to disk "
     "(Input/output error)"},
  };
  for (size_t i = 0; i < sizeof(faults) / sizeof(faults[0]); ++i) {
    failure f = {""};
    write_text("a.txt", "old");
    const int n = count_files(".");
    let_fail(faults[i].kind, faults[i].after);
    assert_false(write_by_stream("a.txt", "new", &f));
    assert_string_equal(f.text, faults[i].said);
    assert_string_equal(read_text("a.txt"), faults[i].left);
    assert_int_equal(count_files("."), n);
  }
  forget_calls();
  assert_int_equal(unlink("a.txt"), 0);
}

static bool
write_both(const char* text, failure* f)
{
  whole_file* const a = whole_file_open("a.txt", f);
  whole_file* const b = whole_file_open("b.txt", f);
  assert_non_null(a);
  assert_non_null(b);
  (void)fputs(text, whole_file_stream(a));
  (void)fputs(text, whole_file_stream(b));
  return whole_file_finish_both(a, b, f);
}

/// "" without such a file
static const char*
text_of(const char* path)
{
  return access(path, F_OK) ? "" : read_text(path);
}

/// Two files over older ones, or none, while the call of a kind fails that
/// comes after others: both are of one time.  True if it does not come.
static bool
write_both_with_fault(call_kind   kind,
                      int         after,
                      const char* old,
                      bool        has_no_exchange)
{
  failure f = {""};
  forget_calls();
  (void)unlink("a.txt");
  (void)unlink("b.txt");
  if (*old) {
    write_text("a.txt", old);
    write_text("b.txt", old);
  }
  const int n = count_files(".");
  let_fail(kind, after);
  seen.has_no_exchange = has_no_exchange;
  const bool ok        = write_both("new", &f);
  assert_true(ok == !*f.text);
  const bool is_new = ok || strstr(f.text, "is in place, but its folder");
  assert_string_equal(text_of("a.txt"), is_new ? "new" : old);
  assert_string_equal(text_of("b.txt"), is_new ? "new" : old);
  assert_int_equal(count_files("."), n + (is_new && !*old ? 2 : 0));
  return ok;
}

/// Both are new, or both are old
static void
two_files_are_of_one_time(void** state)
{
  (void)state;
  for (int i = 0; i < 4; ++i) {
    const bool        has_no_exchange = i % 2;
    const char* const old             = i < 2 ? "old" : "";
    int               n               = 0;
    while (!write_both_with_fault(SYNC, n, old, has_no_exchange)) {
      ++n;
    }
    assert_int_equal(n, 4); // Two files, their places
    n = 0;
    while (!write_both_with_fault(RENAME, n, old, has_no_exchange)) {
      ++n;
    }
#ifdef RENAME_EXCHANGE
    // The first changes places with the older one
    assert_int_equal(n, i == 0 ? 1 : 2);
#else
    assert_int_equal(n, 2);
#endif
  }
  // One of them is new to this place
  failure f = {""};
  forget_calls();
  write_text("b.txt", "old");
  (void)unlink("a.txt");
  let_fail(RENAME, 1);
  assert_false(write_both("new", &f));
  assert_string_equal(f.text,
                      "b.txt: cannot be renamed into place (Input/output "
                      "error)");
  assert_int_not_equal(access("a.txt", F_OK), 0);
  assert_string_equal(read_text("b.txt"), "old");
  forget_calls();
  assert_int_equal(unlink("b.txt"), 0);
}

// ---------------------------------------------------------------------------
// Folders

/// Two files, one of them in an inner folder
static bool
write_folder(const char* path, const char* text, failure* f)
{
  whole_folder* const w = whole_folder_open(path, f);
  if (!w) {
    return false;
  }
  write_text(whole_folder_file(w, "a.txt"), text);
  write_text(whole_folder_file(w, "in/b.txt"), text);
  return whole_folder_finish(w, f);
}

static void
check_folder(const char* want)
{
  assert_string_equal(read_text("out/a.txt"), want);
  assert_string_equal(read_text("out/in/b.txt"), want);
  assert_int_equal(count_files("out"), 3);
  assert_int_equal(count_files("out/in"), 1);
}

static void
a_folder_is_on_the_disk_before_its_name(void** state)
{
  (void)state;
  static const char* const texts[] = {"new", "newer"};
  for (int i = 0; i < 2; ++i) {
    failure f = {""};
    forget_calls();
    assert_true(write_folder("out", texts[i], &f));
    const int at = naming("out");
    check_synced("out/a.txt", at);
    check_synced("out/in/b.txt", at);
    check_synced("out/.written", at);
    check_synced("out/in", at);
    check_synced("out", at);
    // Folders after the files they name
    assert_true(last_sync("out/in", at) > last_sync("out/in/b.txt", at));
    assert_true(last_sync("out", at) > last_sync("out/a.txt", at));
    assert_true(last_sync("out", at) > last_sync("out/in", at));
    check_named(".", at);
    // The older one is removed after that
    for (int k = 0; k < last_sync(".", seen.n); ++k) {
      assert_int_not_equal(seen.calls[k].kind, REMOVE);
    }
    check_folder(texts[i]);
  }
  remove_tree("out");
}

/// Replaces an old folder while a call of a kind fails that comes after `n`
/// others; returns true if there is no such call
static bool
replace_with_fault(call_kind kind, int after, bool has_no_exchange)
{
  failure f = {""};
  forget_calls();
  assert_true(write_folder("out", "old", &f));
  const int n = count_files(".");
  let_fail(kind, after);
  seen.has_no_exchange = has_no_exchange;
  const bool ok        = write_folder("out", "new", &f);
  assert_true(ok == !*f.text);
  const bool is_new = ok || strstr(f.text, "is in place, but its folder");
  check_folder(is_new ? "new" : "old");
  assert_int_equal(count_files("."), n);
  return ok;
}

static void
a_folder_that_fails_leaves_old_or_new(void** state)
{
  (void)state;
  for (int i = 0; i < 2; ++i) {
    const bool has_no_exchange = i != 0;
    int        n               = 0;
    while (!replace_with_fault(SYNC, n, has_no_exchange)) {
      ++n;
    }
    // Two files, the list, the inner folder, the folder itself, its parent
    assert_int_equal(n, 6);
  }
  // In two steps, each of which may fail
  assert_false(replace_with_fault(RENAME, 0, true));
  assert_false(replace_with_fault(RENAME, 1, true));
  assert_true(replace_with_fault(RENAME, 2, true));
  remove_tree("out");

  // With no folder to replace
  failure   f = {""};
  const int n = count_files(".");
  let_fail(RENAME, 0);
  assert_false(write_folder("out", "new", &f));
  assert_string_equal(f.text,
                      "out: cannot be renamed into place (Input/output error)");
  assert_int_equal(count_files("."), n);
  forget_calls();
}

/// Refused for the sake of `name`
static void
check_refused(const char* name)
{
  failure   f = {""};
  char      want[256];
  const int n = count_files(".");
  (void)snprintf(want, sizeof(want),
                 "out: holds %s, which was not written by this program or has "
                 "changed since; expected a new folder",
                 name);
  assert_false(write_folder("out", "new", &f));
  assert_string_equal(f.text, want);
  assert_int_equal(count_files("."), n);
}

static void
only_what_was_written_is_replaced(void** state)
{
  (void)state;
  failure f = {""};
  forget_calls();
  assert_true(write_folder("out", "old", &f));
  write_text("out/mine.txt", "precious");
  check_refused("mine.txt");
  assert_int_equal(unlink("out/mine.txt"), 0);
  write_text("out/in/mine.txt", "precious");
  check_refused("in/mine.txt");
  assert_int_equal(unlink("out/in/mine.txt"), 0);

  // Folders of others, be they empty
  assert_int_equal(mkdir("out/ideas", 0777), 0);
  check_refused("ideas");
  assert_int_equal(rename("out/ideas", "out/in/ideas"), 0);
  check_refused("in/ideas");
  assert_int_equal(rmdir("out/in/ideas"), 0);
  assert_true(write_folder("out", "newer", &f));
  check_folder("newer");
  remove_tree("out");
}

/// What bears the name of a file that was written is not that file for it
static void
only_as_it_was_written(void** state)
{
  (void)state;
  failure f = {""};
  forget_calls();
  assert_true(write_folder("out", "old", &f));
  assert_int_equal(rename("out/a.txt", "a.txt"), 0);

  // A folder with the name of a listed file
  assert_int_equal(mkdir("out/a.txt", 0777), 0);
  check_refused("a.txt");
  write_text("out/a.txt/mine.txt", "precious");
  check_refused("a.txt");
  assert_string_equal(read_text("out/a.txt/mine.txt"), "precious");
  remove_tree("out/a.txt");

  assert_int_equal(symlink("../a.txt", "out/a.txt"), 0);
  check_refused("a.txt");
  assert_int_equal(unlink("out/a.txt"), 0);
  assert_int_equal(mkfifo("out/a.txt", 0666), 0);
  check_refused("a.txt");
  assert_int_equal(unlink("out/a.txt"), 0);

  // Other contents: of another size, or of another time
  write_text("out/a.txt", "longer");
  check_refused("a.txt");
  write_text("out/a.txt", "OLD");
  const struct timespec later[2] = {{.tv_sec = time(NULL) + 60},
                                    {.tv_sec = time(NULL) + 60}};
  assert_int_equal(utimensat(AT_FDCWD, "out/a.txt", later, 0), 0);
  check_refused("a.txt");
  assert_string_equal(read_text("out/a.txt"), "OLD");

  // The file itself, elsewhere meanwhile
  assert_int_equal(rename("a.txt", "out/a.txt"), 0);
  assert_true(write_folder("out", "new", &f));
  check_folder("new");

  // A file in the place of the folder within
  remove_tree("out/in");
  write_text("out/in", "precious");
  check_refused("in");
  remove_tree("out");
}

#ifdef RENAME_EXCHANGE
/// Too late to refuse: the new folder is in place, and the file stays in the
/// rest of the old one
static void
a_late_file_of_others_stays(void** state)
{
  (void)state;
  failure f = {""};
  forget_calls();
  assert_true(write_folder("out", "old", &f));
  seen.has_visitor = true;
  assert_true(write_folder("out", "new", &f));
  forget_calls();
  check_folder("new");
  char       left[300] = "";
  DIR* const d         = opendir(".");
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (!strncmp(e->d_name, ".out.", 5)) {
      (void)snprintf(left, sizeof(left), "%s/mine.txt", e->d_name);
    }
  }
  (void)closedir(d);
  assert_string_equal(read_text(left), "precious");
  *strrchr(left, '/') = '\0';
  assert_int_equal(count_files(left), 1);
  remove_tree(left);
  remove_tree("out");
}
#endif

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(a_file_is_on_the_disk_before_its_name),
    cmocka_unit_test(a_file_that_fails_leaves_old_or_new),
    cmocka_unit_test(two_files_are_of_one_time),
    cmocka_unit_test(a_folder_is_on_the_disk_before_its_name),
    cmocka_unit_test(a_folder_that_fails_leaves_old_or_new),
    cmocka_unit_test(only_what_was_written_is_replaced),
    cmocka_unit_test(only_as_it_was_written),
#ifdef RENAME_EXCHANGE
    cmocka_unit_test(a_late_file_of_others_stays),
#endif
  };
  return cmocka_run_group_tests_name("whole-output", tests, enter_folder,
                                     leave_tree);
}
