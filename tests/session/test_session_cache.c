// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Tracks that a session takes from a cache: the same bits and the same figures
/// as if it had played them, whatever changed

#include "tests/support/fault_check.h"

#include "presets-demo/session/cache/cache_folder.h"

#define N_FRAMES 60000

/// Two tracks of different lengths and channels, a send and a bus that look
/// ahead, and excerpts
static const char song[] =
  "[track rhythm]\nfile = a.wav\nsetup = rhythm.ini\nalign = yes\n"
  "pan = -60\nplate_db = -10\n"
  "[track lead]\nfile = b.wav\nsetup = lead.ini\ngain_db = -3\n"
  "[track dry]\nfile = c.wav\n"
  "[send plate]\nsetup = send.ini\n"
  "[bus]\nsetup = bus.ini\n"
  "[output]\nbits = float\ntail_s = 1\nlisten = 0:00.2\n";

static const char rhythm[] =
  "[di-cleanup]\n[input-compressor]\nthreshold_db = -30\n"
  "[tube-stage]\n[speaker-breakup]\n";

static int
enter_with_song(void** state)
{
  static const char* const names[] = {"a.wav", "b.wav", "c.wav"};
  if (enter_folder(state)) {
    return -1;
  }
  for (int i = 0; i < 3; ++i) {
    sound s = write_noise(names[i], i == 1 ? 44100 : RATE_HZ, 1 + i % 2,
                          N_FRAMES - 9000L * i);
    sound_free(&s);
  }
  write_text("rhythm.ini", rhythm);
  write_text("lead.ini", "[air-shelf]\n");
  write_text("send.ini", "[plate-send]\ndecay_s = 0.5\n");
  write_text("bus.ini", "[bus-tone]\n[bus-leveler]\nthreshold_db = -40\n");
  write_text("song.ini", song);
  write_text("stdout", "");
  write_text("stderr", "");
  return 0;
}

/// Writes the song with `from` replaced by `to`
static void
write_changed(const char* from, const char* to)
{
  char              text[2048];
  const char* const at = strstr(song, from);
  assert_non_null(at);
  (void)snprintf(text, sizeof(text), "%.*s%s%s", (int)(at - song), song, to,
                 at + strlen(from));
  write_text("song.ini", text);
}

/// Returns the bytes of a file, with their end; free() them
static char*
read_bytes(const char* folder, const char* name, size_t* n)
{
  char path[512];
  (void)snprintf(path, sizeof(path), "%s/%s", folder, name);
  FILE* const f = fopen(path, "rb");
  assert_non_null(f);
  assert_int_equal(fseek(f, 0, SEEK_END), 0);
  *n             = (size_t)ftell(f);
  char* const to = malloc(*n + 1);
  assert_non_null(to);
  rewind(f);
  assert_int_equal(fread(to, 1, *n, f), *n);
  to[*n] = '\0';
  (void)fclose(f);
  return to;
}

/// Removes the numbers behind a key
static void
remove_numbers(char* text, const char* key)
{
  int n = 0;
  for (char* at = text; (at = strstr(at, key)); ++n) {
    at += strlen(key);
    at += strspn(at, "\": ");
    const size_t length = strspn(at, "0123456789.e-+");
    assert_true(length > 0);
    memmove(at, at + length, strlen(at + length) + 1);
  }
  assert_true(n > 0);
}

/// Returns the figures without how long something took
static char*
read_report(const char* folder)
{
  size_t      n    = 0;
  char* const text = read_bytes(folder, "report.json", &n);
  remove_numbers(text, "\"cost_pc");
  remove_numbers(text, "\"time_s");
  return text;
}

static void
check_same_bytes(const char* a, const char* b, const char* name)
{
  size_t      n_a = 0;
  size_t      n_b = 0;
  char* const x   = read_bytes(a, name, &n_a);
  char* const y   = read_bytes(b, name, &n_b);
  if (n_a != n_b || memcmp(x, y, n_a) != 0) {
    fail_msg("%s/%s is not %s/%s", b, name, a, name);
  }
  free(x);
  free(y);
}

/// All sound, and all figures
static void
check_same(const char* a, const char* b)
{
  static const char* const names[] = {
    "mix.wav",
    "stems/dry-rhythm.wav",
    "stems/dry-lead.wav",
    "stems/dry-dry.wav",
    "stems/track-rhythm.wav",
    "stems/track-lead.wav",
    "stems/track-dry.wav",
    "stems/send-plate.wav",
    "stems/bus-input.wav",
  };
  for (size_t i = 0; i < sizeof(names) / sizeof(names[0]); ++i) {
    check_same_bytes(a, b, names[i]);
  }
  char* const x = read_report(a);
  char* const y = read_report(b);
  assert_string_equal(x, y);
  free(x);
  free(y);
}

/// Runs it; says in the order of the tracks which are taken: 'c', or played:
/// 'p'
static const char*
run(const char* line)
{
  static char from[8];
  char        text[1024];
  int         n = 0;
  (void)snprintf(text, sizeof(text), "song.ini --json %s", line);
  session_well(BUNDLE_DIR, text);
  char said[8192];
  (void)snprintf(said, sizeof(said), "%s", read_text("stdout"));
  for (char* row = strtok(said, "\n"); row; row = strtok(NULL, "\n")) {
    const char* const last     = strrchr(row, ' ');
    const bool        is_track = !strncmp(row, "rhythm ", 7) ||
                          !strncmp(row, "lead ", 5) || !strncmp(row, "dry ", 4);
    if (is_track) {
      assert_true(last && n < 3);
      assert_true(!strcmp(last, " cache") || !strcmp(last, " played"));
      from[n++] = last[1];
    }
  }
  from[n] = '\0';
  return from;
}

/// The page says it, or does not speak of a cache
static void
check_page(const char* folder, const char* says)
{
  size_t      n    = 0;
  char* const page = read_bytes(folder, "report.html", &n);
  assert_int_equal(strstr(page, says ? says : "cache") != NULL, says != NULL);
  free(page);
}

static void
what_is_taken_is_as_played(void** state)
{
  (void)state;
  write_text("song.ini", song);
  session_well(BUNDLE_DIR, "song.ini --json --quiet -o plain");
  assert_string_equal(run("-o filled --cache cache --threads 1"), "ppp");
  assert_int_equal(count_files("cache"), 3);
  assert_string_equal(run("-o taken --cache cache --threads 3"), "ccc");
  check_same("plain", "filled");
  check_same("plain", "taken");
  check_page("plain", NULL);
  check_page("filled", " 0 of 3 tracks came from the cache.</p>");
  check_page("taken", " 3 of 3 tracks came from the cache.</p>");
}

/// What a track is made from makes it play; what comes behind it does not
static void
only_what_changed_is_played(void** state)
{
  (void)state;
  static const struct {
    const char* from;
    const char* to;
    const char* want;
  } rows[] = {
    {"gain_db = -3", "gain_db = 1", "ccc"},
    {"pan = -60\nplate_db = -10", "pan = 20\nplate_db = -3", "ccc"},
    {"[track lead]\nfile = b.wav\nsetup = lead.ini\ngain_db = -3\n", "", "cc"},
    {"[track dry]", "[track other]", "cc"}, // Not counted: it has no such name
    {"[bus]\nsetup = bus.ini\n", "", "ccc"},
    {"setup = send.ini", "setup = bus.ini", "ccc"},
    {"bits = float", "bits = float\nstems = off", "ccc"},
    {"align = yes", "align = no", "pcc"},
    {"setup = lead.ini", "setup = rhythm.ini", "cpc"},
    {"file = c.wav", "file = a.wav", "ccp"},
    {"listen = 0:00.2", "listen = 0:00.3", "ppc"}, // No stages, no excerpt,
    {"tail_s = 1", "tail_s = 1.5", "ppp"},
    {"bits = float", "bits = float\nrate_hz = 96000", "ppp"},
  };
  write_text("song.ini", song);
  (void)run("-o filled --cache kept");
  for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); ++i) {
    remove_tree("kept2");
    assert_int_equal(system("cp -r kept kept2"), 0);
    write_changed(rows[i].from, rows[i].to);
    if (strcmp(run("-o taken --cache kept2"), rows[i].want) != 0) {
      fail_msg("%s -> %s", rows[i].from, rows[i].to);
    }
    // And it is as if there were no cache
    session_well(BUNDLE_DIR, "song.ini --json --quiet -o plain");
    check_same_bytes("plain", "taken", "mix.wav");
    char* const x = read_report("plain");
    char* const y = read_report("taken");
    assert_string_equal(x, y);
    free(x);
    free(y);
  }
  write_text("song.ini", song);
}

/// A setup by its settings, not its text; a recording by its bytes, not its
/// name
static void
contents_count_and_names_do_not(void** state)
{
  (void)state;
  (void)run("-o filled --cache kept");
  write_text("lead.ini", "; brighter\n[air-shelf]\nair_db = 2\n");
  assert_string_equal(run("-o taken --cache kept"), "cpc");
  write_text("base.ini", "[air-shelf]\nair_db = 5\n");
  write_text("lead.ini", "from = base.ini\n[air-shelf]\nair_db = base - 3\n");
  assert_string_equal(run("-o taken --cache kept"), "ccc");
  write_text("base.ini", "[air-shelf]\nair_db = 6\n");
  assert_string_equal(run("-o taken --cache kept"), "cpc");
  write_text("lead.ini", "[air-shelf]\n");

  assert_int_equal(rename("c.wav", "d.wav"), 0);
  write_changed("file = c.wav", "file = d.wav");
  assert_string_equal(run("-o taken --cache kept"), "ccc");
  sound d = sound_read("d.wav");
  d.x[30000] += 1e-6F;
  sound_write(&d, "d.wav");
  sound_free(&d);
  assert_string_equal(run("-o taken --cache kept"), "ccp");
  assert_int_equal(rename("d.wav", "c.wav"), 0);
  write_text("song.ini", song);
}

/// The session names it, and bounds it
static void
the_session_names_its_cache(void** state)
{
  (void)state;
  write_changed("bits = float", "bits = float\ncache = of song");
  assert_string_equal(run("-o filled"), "ppp");
  assert_string_equal(run("-o filled"), "ccc");
  assert_int_equal(count_files("of song"), 3);
  // A place on the command line goes before that of the session
  assert_string_equal(run("-o filled --cache elsewhere"), "ppp");
  // What this run uses stays, even beyond the bound
  write_changed("tail_s = 1", "tail_s = 1.2\ncache = of song\ncache_gb = 0\n");
  assert_string_equal(run("-o filled"), "ppp");
  assert_int_equal(count_files("of song"), 3);
  assert_string_equal(run("-o filled"), "ccc");
  write_text("song.ini", song);
}

/// As any job queue would: two at a time, one of them two tracks
static void
parts_assemble_to_the_whole(void** state)
{
  (void)state;
  char line[1024];
  (void)snprintf(line, sizeof(line),
                 "--bundle %s song.ini --cache parts --only rhythm",
                 BUNDLE_DIR);
  const pid_t one = render_start_to(line, "stderr1");
  (void)snprintf(line, sizeof(line),
                 "--bundle %s song.ini --cache parts --only dry --only lead "
                 "--quiet",
                 BUNDLE_DIR);
  const pid_t two = render_start_to(line, "stderr2");
  for (int i = 0; i < 2; ++i) {
    int status = -1;
    assert_int_equal(waitpid(i ? two : one, &status, 0), i ? two : one);
    assert_int_equal(status, 0);
  }
  assert_string_equal(read_text("stderr1"), "");
  assert_string_equal(read_text("stderr2"), "");
  assert_int_equal(count_files("parts"), 3);
  assert_string_equal(run("-o taken --cache parts --assemble"), "ccc");
  session_well(BUNDLE_DIR, "song.ini --json --quiet -o plain");
  check_same("plain", "taken");
  // It says where they are
  session_well(BUNDLE_DIR, "song.ini --cache parts --only lead --only dry");
  const char* const said = read_text("stdout");
  assert_ptr_equal(strstr(said, "lead: is in parts/"), said);
  assert_non_null(strstr(said, CACHE_ENDING "\ndry: is in parts/"));
}

/// Runs it on the bundle; it fails and says so
static void
check_fails(const char* line, const char* want)
{
  char text[1024];
  (void)snprintf(text, sizeof(text), "--bundle %s %s", BUNDLE_DIR, line);
  const int n      = count_files(".");
  const int status = render_status(text);
  assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 1);
  assert_string_equal(read_text("stderr"), want);
  assert_int_equal(count_files("."), n);
}

/// All that are missing in one line, also those that are not as they were
static void
what_is_missing_is_said(void** state)
{
  (void)state;
  session_well(BUNDLE_DIR, "song.ini --cache few --only dry --quiet");
  check_fails("song.ini --cache few --assemble -o none",
              "dustcap-session: few: lacks 2 of 3 tracks as they are now: "
              "'rhythm', 'lead'; expected them rendered by --only\n");
  session_well(BUNDLE_DIR,
               "song.ini --cache few --only rhythm --only lead --quiet");
  write_text("rhythm.ini", "[di-cleanup]\nlow_cut_hz = 90\n");
  check_fails("song.ini --cache few --assemble -o none",
              "dustcap-session: few: lacks 1 of 3 tracks as they are now: "
              "'rhythm'; expected them rendered by --only\n");
  write_text("rhythm.ini", rhythm);
  assert_string_equal(run("-o taken --cache few --assemble"), "ccc");
}

/// Puts the path of the only file in a folder there
static void
only_file(const char* folder, char* path, size_t size)
{
  DIR* const d = opendir(folder);
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (*e->d_name != '.') {
      (void)snprintf(path, size, "%s/%s", folder, e->d_name);
    }
  }
  (void)closedir(d);
}

/// It is rendered anew with a warning; assembling refuses it
static void
a_damaged_track_is_rendered_anew(void** state)
{
  (void)state;
  char path[512] = "";
  char want[1024];
  char line[1024];
  session_well(BUNDLE_DIR, "song.ini --cache bad --only lead --quiet");
  only_file("bad", path, sizeof(path));
  const int d = open(path, O_RDWR);
  assert_int_equal(pwrite(d, "x", 1, 40000), 1);
  (void)close(d);
  session_well(BUNDLE_DIR,
               "song.ini --cache bad --only rhythm --only dry --quiet");
  check_fails("song.ini --cache bad --assemble -o none",
              "dustcap-session: bad: lacks 1 of 3 tracks as they are now: "
              "'lead' (no good); expected them rendered by --only\n");
  (void)snprintf(line, sizeof(line),
                 "--bundle %s song.ini --cache bad --json --quiet -o taken",
                 BUNDLE_DIR);
  (void)snprintf(want, sizeof(want),
                 "dustcap-session: warning: track 'lead': %s: is damaged in "
                 "its sound; it is rendered anew\n",
                 path);
  assert_int_equal(render_status(line), 0);
  assert_string_equal(read_text("stderr"), want);
  session_well(BUNDLE_DIR, "song.ini --json --quiet -o plain");
  check_same("plain", "taken");
  assert_string_equal(run("-o taken --cache bad"), "ccc");
}

/// The mix is what was asked for: it is written, with a warning.  A track that
/// was asked for alone is an error.
static void
what_cannot_be_kept_is_said(void** state)
{
  (void)state;
  char path[512] = "";
  char want[1024];
  char line[1024];
  session_well(BUNDLE_DIR, "song.ini --cache full --only lead --quiet");
  only_file("full", path, sizeof(path));
  assert_int_equal(unlink(path), 0);
  assert_int_equal(mkdir(path, 0777), 0); // There is something in its place
  (void)snprintf(line, sizeof(line),
                 "--bundle %s song.ini --cache full --json --quiet -o taken",
                 BUNDLE_DIR);
  assert_int_equal(render_status(line), 0);
  (void)snprintf(want, sizeof(want),
                 "dustcap-session: warning: track 'lead': %s: is not the file "
                 "of a track; it is rendered anew\n"
                 "dustcap-session: warning: 1 track is not kept in the cache: "
                 "%s: ",
                 path, path);
  if (strncmp(read_text("stderr"), want, strlen(want)) != 0) {
    fail_msg("%s", read_text("stderr"));
  }
  session_well(BUNDLE_DIR, "song.ini --json --quiet -o plain");
  check_same("plain", "taken");
  (void)snprintf(line, sizeof(line),
                 "--bundle %s song.ini --cache full --only lead", BUNDLE_DIR);
  assert_int_equal(WEXITSTATUS(render_status(line)), 1);
  assert_non_null(
    strstr(read_text("stderr"), "dustcap-session: track 'lead': "));
}

/// The echo sounds on behind the end of the piece.  The figures do not count
/// it, however far the track is played: for a bus that looks ahead, and for the
/// cache
static void
figures_end_with_the_piece(void** state)
{
  (void)state;
  static const char* const rest =
    "file = a.wav\nsetup = squash.ini\n[bus]\nsetup = end.ini\n"
    "[output]\nbits = float\ntail_s = 0\n";
  char  text[512];
  sound a = write_noise("a.wav", RATE_HZ, 1, 8192);
  (void)snprintf(text, sizeof(text), "[track one]\n%s", rest);
  write_text("end-song.ini", text);
  write_text("squash.ini", "[thickening-echo]\ntime_ms = 250\nrepeats_pc = "
                           "90\n[input-compressor]\nthreshold_db = -60\n");
  char* reports[4] = {NULL};
  for (int i = 0; i < 4; ++i) {
    char line[256];
    write_text("end.ini", i % 2 ? "[bus-tone]\n" : "[input-compressor]\n");
    (void)snprintf(line, sizeof(line), "end-song.ini --json --quiet -o ended%s",
                   i < 2 ? "" : " --cache ended-cache");
    session_well(BUNDLE_DIR, line);
    reports[i]        = read_report("ended");
    char* const track = strstr(reports[i], "\"lanes\"");
    char* const end   = strstr(reports[i], "\"name\": \"bus\"");
    assert_true(track && end && track < end);
    *end = '\0';
    memmove(reports[i], track, strlen(track) + 1);
    assert_string_equal(reports[i], reports[0]);
  }
  for (int i = 0; i < 4; ++i) {
    free(reports[i]);
  }
  sound_free(&a);
}

static void
faults_are_said(void** state)
{
  (void)state;
  write_text("plain-file", "");
  write_text("t.ini", "[track a]\nfile = a.wav\n");
  check_says("t.ini --only a", 1,
             "t.ini: has no cache for --only; expected cache = FOLDER in its "
             "[output], or --cache DIR");
  check_says("t.ini --assemble -o none", 1,
             "t.ini: has no cache for --assemble; expected cache = FOLDER in "
             "its [output], or --cache DIR");
  check_says("t.ini --cache plain-file --only a", 1,
             "--cache plain-file: is not a folder; expected a folder, or a "
             "name for one");
  check_says("t.ini --cache not/there --only a", 1,
             "--cache not/there: cannot be made (No such file or directory); "
             "expected a folder, or a name for one");
  check_says("t.ini --cache stdout2 --only b", 1,
             "--only b: unknown track 'b'; did you mean 'a'?");
  write_text("t.ini",
             "[track a]\nfile = a.wav\n[output]\ncache = plain-file\n");
  check_says("t.ini -o none", 1,
             "t.ini:4: cache = plain-file: is not a folder; expected a "
             "folder, or a name for one");
  write_text("t.ini", "[track a]\nfile = a.wav\n[output]\ncache = x/y\n");
  check_says("t.ini -o none", 1,
             "t.ini:4: cache = x/y: cannot be made (No such file or "
             "directory); expected a folder, or a name for one");
  // It would be removed with the folder
  write_text("t.ini", "[track a]\nfile = a.wav\n[output]\ntail_s = 0\n");
  session_well(FIXTURE_DIR, "t.ini --quiet -o held");
  write_text("t.ini",
             "[track a]\nfile = a.wav\n[output]\ncache = held/stems\n");
  check_says("t.ini -o held", 1,
             "t.ini:4: cache = held/stems: lies in held, which is to be "
             "replaced; expected a file outside of it, or another folder to "
             "write");
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(what_is_taken_is_as_played),
    cmocka_unit_test(only_what_changed_is_played),
    cmocka_unit_test(contents_count_and_names_do_not),
    cmocka_unit_test(the_session_names_its_cache),
    cmocka_unit_test(parts_assemble_to_the_whole),
    cmocka_unit_test(what_is_missing_is_said),
    cmocka_unit_test(a_damaged_track_is_rendered_anew),
    cmocka_unit_test(what_cannot_be_kept_is_said),
    cmocka_unit_test(figures_end_with_the_piece),
    cmocka_unit_test(faults_are_said),
  };
  return cmocka_run_group_tests_name("session-cache", tests, enter_with_song,
                                     leave_tree);
}
