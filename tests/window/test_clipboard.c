// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Texts go from window to window of one process and of two, and to and from
/// other programs; nobody who is silent, gone or lengthy stops a window

#include "foreign.h"

#include "plugins/window/platform/clipboard.h"

#include <signal.h>
#include <stdio.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { PATIENCE = 1000, LONG = 300000 };

#define STEP_S 0.001

static double now_s = 10; ///< A clock of ours: nobody waits for the real one

static const char mine[]   = "[tube-stage]\ndrive_db = 18\n";
static const char other[]  = "[air-shelf]\nair_db = 2\n";
static const char theirs[] = "; of another program\n";

static clipboard*
open_board(void)
{
  clipboard* const c = clipboard_open();
  assert_non_null(c);
  return c;
}

static void
nap(void)
{
  const struct timespec wait = {0, 1000000};
  (void)nanosleep(&wait, NULL);
}

/// Lets both and a foreign client act, until the first has an answer
static clipboard_answer
await(clipboard*   c,
      clipboard*   second,
      foreign*     x,
      const char** text,
      size_t*      length)
{
  for (int i = 0; i < PATIENCE; ++i) {
    const char*            unused = NULL;
    size_t                 n      = 0;
    const clipboard_answer answer = clipboard_serve(c, now_s, text, length);
    if (answer != CLIPBOARD_NOTHING) {
      return answer;
    }
    if (second) {
      (void)clipboard_serve(second, now_s, &unused, &n);
    }
    if (x) {
      foreign_serve(x);
    }
    nap();
    now_s += STEP_S;
  }
  return CLIPBOARD_NOTHING;
}

static void
check_gets(clipboard* c, clipboard* second, foreign* x, const char* want)
{
  const char* text   = NULL;
  size_t      length = 0;
  clipboard_ask(c, 0, now_s);
  assert_int_equal(await(c, second, x, &text, &length), CLIPBOARD_TEXT);
  assert_int_equal(length, strlen(want));
  assert_string_equal(text, want);
}

static void
check_none(clipboard* c, foreign* x, clipboard_answer want)
{
  const char* text   = NULL;
  size_t      length = 0;
  clipboard_ask(c, 0, now_s);
  assert_int_equal(await(c, NULL, x, &text, &length), want);
  assert_null(text);
  assert_int_equal(length, 0);
}

// ---------------------------------------------------------------------------
// Windows of ours

static void
two_windows_of_a_process_exchange_texts(void** state)
{
  clipboard* const a = open_board();
  clipboard* const b = open_board();
  (void)state;
  assert_true(clipboard_offer(a, mine, strlen(mine), 0));
  check_gets(b, a, NULL, mine);
  check_gets(a, b, NULL, mine); // And itself
  assert_true(clipboard_offer(b, other, strlen(other), 0));
  check_gets(a, b, NULL, other);
  check_gets(b, a, NULL, other);
  clipboard_close(a);
  clipboard_close(b);
}

/// In another process: offers a text until it is killed
static pid_t
start_owner(void)
{
  int   pipe_ends[2];
  char  ready = 0;
  pid_t child = 0;
  assert_int_equal(pipe(pipe_ends), 0);
  child = fork();
  if (child == 0) {
    clipboard* const c      = clipboard_open();
    const char*      text   = NULL;
    size_t           length = 0;
    const bool       ok = c && clipboard_offer(c, theirs, strlen(theirs), 0);
    (void)!write(pipe_ends[1], &ready, ok);
    for (;;) {
      (void)clipboard_serve(c, 0, &text, &length);
      nap();
    }
  }
  assert_int_equal(read(pipe_ends[0], &ready, 1), 1);
  (void)close(pipe_ends[0]);
  (void)close(pipe_ends[1]);
  return child;
}

static void
a_text_of_another_process_arrives(void** state)
{
  clipboard* const c     = open_board();
  const pid_t      child = start_owner();
  (void)state;
  check_gets(c, NULL, NULL, theirs);
  assert_int_equal(kill(child, SIGKILL), 0);
  assert_int_equal(waitpid(child, NULL, 0), child);
  // With it went its text
  nap();
  check_none(c, NULL, CLIPBOARD_NONE);
  clipboard_close(c);
}

static void
a_text_goes_to_another_process(void** state)
{
  static clipboard* c; // Not lost in the copy of this process
  c = open_board();
  (void)state;
  assert_true(clipboard_offer(c, mine, strlen(mine), 0));
  const pid_t child = fork();
  if (child == 0) {
    const char*      text   = NULL;
    size_t           length = 0;
    clipboard* const d      = clipboard_open();
    clipboard_ask(d, 0, now_s);
    const bool ok = await(d, NULL, NULL, &text, &length) == CLIPBOARD_TEXT &&
                    !strcmp(text, mine);
    clipboard_close(d);
    _exit(ok ? 0 : 1);
  }
  int status = -1;
  for (int i = 0; i < 20 * PATIENCE && waitpid(child, &status, WNOHANG) == 0;
       ++i) {
    const char* text   = NULL;
    size_t      length = 0;
    (void)clipboard_serve(c, now_s, &text, &length);
    nap();
  }
  assert_int_equal(status, 0);
  clipboard_close(c);
}

static void
a_closed_window_s_text_is_kept_for_its_process(void** state)
{
  foreign          x;
  clipboard* const a = open_board();
  clipboard* const b = open_board();
  (void)state;
  assert_true(clipboard_offer(a, mine, strlen(mine), 0));
  clipboard_close(a);
  check_gets(b, NULL, NULL, mine);
  // But not once somebody else has copied, be he gone by now
  assert_true(clipboard_offer(b, mine, strlen(mine), 0));
  foreign_open(&x);
  foreign_own(&x, theirs, strlen(theirs), 0);
  check_gets(b, NULL, &x, theirs);
  foreign_close(&x);
  check_none(b, NULL, CLIPBOARD_NONE);
  clipboard_close(b);
}

// ---------------------------------------------------------------------------
// Other programs ask

static void
check_foreign_gets(clipboard* c, foreign* x, const char* form, const char* want)
{
  const char* text   = NULL;
  size_t      length = 0;
  foreign_ask(x, form);
  for (int i = 0; i < PATIENCE && !x->is_answered; ++i) {
    (void)clipboard_serve(c, now_s, &text, &length);
    foreign_serve(x);
    nap();
  }
  assert_true(x->is_answered);
  assert_int_equal(x->is_refused, want == NULL);
  if (want) {
    assert_string_equal((const char*)x->got, want);
  }
}

static bool
lists(const foreign* x, const char* form)
{
  const Atom want = foreign_atom(x, form);
  for (size_t i = 0; i < x->n_got / sizeof(Atom); ++i) {
    Atom a = 0;
    memcpy(&a, x->got + i * sizeof(a), sizeof(a));
    if (a == want) {
      return true;
    }
  }
  return false;
}

static void
others_get_the_forms_that_are_listed(void** state)
{
  static const char* const forms[] = {"UTF8_STRING", "text/plain;charset=utf-8",
                                      "TEXT", "STRING"};
  foreign                  x;
  clipboard* const         c = open_board();
  (void)state;
  foreign_open(&x);
  assert_true(clipboard_offer(c, mine, strlen(mine), 0));
  for (size_t i = 0; i < 4; ++i) {
    check_foreign_gets(c, &x, forms[i], mine);
    check_foreign_gets(c, &x, "TARGETS", (const char*)x.got);
    assert_int_equal(x.type, XA_ATOM);
    assert_true(lists(&x, forms[i]));
  }
  assert_true(lists(&x, "TARGETS") && lists(&x, "MULTIPLE") &&
              lists(&x, "TIMESTAMP"));
  check_foreign_gets(c, &x, "image/png", NULL);
  clipboard_close(c);
  foreign_close(&x);
}

/// Latin-1 is all that STRING may hold
static void
what_is_not_ascii_is_no_string(void** state)
{
  static const char ohms[] = "; 8 \xCE\xA9\n";
  foreign           x;
  clipboard* const  c = open_board();
  (void)state;
  foreign_open(&x);
  assert_true(clipboard_offer(c, ohms, strlen(ohms), 0));
  check_foreign_gets(c, &x, "UTF8_STRING", ohms);
  check_foreign_gets(c, &x, "STRING", NULL);
  clipboard_close(c);
  foreign_close(&x);
}

static void
several_forms_come_at_once(void** state)
{
  foreign          x;
  clipboard* const c = open_board();
  (void)state;
  foreign_open(&x);
  assert_true(clipboard_offer(c, mine, strlen(mine), 0));
  const Atom first    = foreign_atom(&x, "FIRST");
  const Atom second   = foreign_atom(&x, "SECOND");
  const Atom pairs[4] = {x.utf8, first, foreign_atom(&x, "image/png"), second};
  XChangeProperty(x.display, x.window, x.here, foreign_atom(&x, "ATOM_PAIR"),
                  32, PropModeReplace, (const unsigned char*)pairs, 4);
  XSync(x.display, False);
  foreign_ask(&x, "MULTIPLE");
  const char* text   = NULL;
  size_t      length = 0;
  for (int i = 0; i < PATIENCE && !x.is_answered; ++i) {
    (void)clipboard_serve(c, now_s, &text, &length);
    foreign_serve(&x);
    nap();
  }
  Atom got[4] = {0};
  assert_int_equal(x.n_got, sizeof(got));
  memcpy(got, x.got, sizeof(got));
  assert_int_equal(got[1], first);
  assert_int_equal(got[3], None); // Cannot be had
  x.here = first;
  foreign_take(&x, &(XSelectionEvent){.property = first});
  assert_string_equal((const char*)x.got, mine);
  clipboard_close(c);
  foreign_close(&x);
}

static void
who_asks_and_goes_does_no_harm(void** state)
{
  clipboard* const c    = open_board();
  const char*      text = NULL;
  size_t           n    = 0;
  (void)state;
  assert_true(clipboard_offer(c, mine, strlen(mine), 0));
  for (int i = 0; i < 20; ++i) {
    foreign x;
    foreign_open(&x);
    foreign_ask(&x, i % 2 ? "UTF8_STRING" : "MULTIPLE");
    foreign_close(&x);
    (void)clipboard_serve(c, now_s, &text, &n);
  }
  check_gets(c, NULL, NULL, mine);
  clipboard_close(c);
}

// ---------------------------------------------------------------------------
// Other programs answer

static char*
long_text(size_t length)
{
  char* const text = malloc(length + 1);
  assert_non_null(text);
  for (size_t i = 0; i < length; ++i) {
    text[i] = (char)('a' + i * 7 % 26);
  }
  text[length] = '\0';
  return text;
}

static void
texts_of_other_programs_arrive(void** state)
{
  char* const      text = long_text(LONG);
  clipboard* const c    = open_board();
  foreign          x;
  (void)state;
  foreign_open(&x);
  foreign_own(&x, theirs, strlen(theirs), 0);
  check_gets(c, NULL, &x, theirs);
  foreign_own(&x, text, LONG, 10000); // In pieces
  check_gets(c, NULL, &x, text);
  free(text);
  foreign_close(&x);
  clipboard_close(c);
}

static void
a_text_that_is_too_long_is_refused(void** state)
{
  const size_t     length = CLIPBOARD_MOST_IN + 1;
  char* const      text   = long_text(length);
  clipboard* const c      = open_board();
  foreign          x;
  (void)state;
  assert_false(clipboard_offer(c, text, CLIPBOARD_MOST_OUT + 1, 0));
  foreign_open(&x);
  foreign_own(&x, text, length, 60000);
  check_none(c, &x, CLIPBOARD_TOO_LONG);
  foreign_own(&x, theirs, strlen(theirs), 0);
  check_gets(c, NULL, &x, theirs);
  free(text);
  foreign_close(&x);
  clipboard_close(c);
}

static void
a_silent_owner_is_not_waited_for(void** state)
{
  const char*      text   = NULL;
  size_t           length = 0;
  clipboard* const c      = open_board();
  foreign          x;
  (void)state;
  foreign_open(&x);
  x.is_silent = true;
  foreign_own(&x, theirs, strlen(theirs), 0);
  clipboard_ask(c, 0, now_s);
  assert_int_equal(
    clipboard_serve(c, now_s + CLIPBOARD_WAIT_S - 0.1, &text, &length),
    CLIPBOARD_NOTHING);
  assert_int_equal(
    clipboard_serve(c, now_s + CLIPBOARD_WAIT_S + 0.1, &text, &length),
    CLIPBOARD_LATE);
  assert_int_equal(clipboard_serve(c, now_s + 100, &text, &length),
                   CLIPBOARD_NOTHING);
  // Its late answer is not taken for that of the next question
  x.is_silent = false;
  foreign_serve(&x);
  check_gets(c, NULL, &x, theirs);
  foreign_close(&x);
  clipboard_close(c);
}

/// A picture, or nothing at all
static void
without_a_text_there_is_none(void** state)
{
  clipboard* const c = open_board();
  foreign          x;
  (void)state;
  foreign_open(&x);
  foreign_own(&x, NULL, 0, 0);
  check_none(c, &x, CLIPBOARD_NONE);
  foreign_close(&x);
  check_none(c, NULL, CLIPBOARD_NONE);
  clipboard_close(c);
}

/// A tool of the system, where there is one
static void
a_tool_of_the_system_reads_and_writes(void** state)
{
  clipboard* const c      = open_board();
  const char*      text   = NULL;
  size_t           length = 0;
  (void)state;
  if (system("command -v xclip >/dev/null") == 0) {
    assert_true(clipboard_offer(c, mine, strlen(mine), 0));
    FILE* const out = popen("xclip -selection clipboard -o", "r");
    assert_non_null(out);
    for (int i = 0; i < 300; ++i) {
      (void)clipboard_serve(c, now_s, &text, &length);
      nap();
    }
    char got[256] = "";
    assert_true(fread(got, 1, sizeof(got) - 1, out) > 0);
    assert_int_equal(pclose(out), 0);
    assert_string_equal(got, mine);

    assert_int_equal(system("printf abc | xclip -selection clipboard -i "
                            "-loops 1 >/dev/null 2>&1"),
                     0);
    for (int i = 0; i < PATIENCE && (!text || strcmp(text, "abc") != 0); ++i) {
      clipboard_ask(c, 0, now_s); // Until it has taken over
      (void)await(c, NULL, NULL, &text, &length);
    }
    assert_string_equal(text, "abc");
  }
  clipboard_close(c);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(two_windows_of_a_process_exchange_texts),
    cmocka_unit_test(a_text_of_another_process_arrives),
    cmocka_unit_test(a_text_goes_to_another_process),
    cmocka_unit_test(a_closed_window_s_text_is_kept_for_its_process),
    cmocka_unit_test(others_get_the_forms_that_are_listed),
    cmocka_unit_test(what_is_not_ascii_is_no_string),
    cmocka_unit_test(several_forms_come_at_once),
    cmocka_unit_test(who_asks_and_goes_does_no_harm),
    cmocka_unit_test(texts_of_other_programs_arrive),
    cmocka_unit_test(a_text_that_is_too_long_is_refused),
    cmocka_unit_test(a_silent_owner_is_not_waited_for),
    cmocka_unit_test(without_a_text_there_is_none),
    cmocka_unit_test(a_tool_of_the_system_reads_and_writes),
  };
  return cmocka_run_group_tests_name("clipboard", tests, NULL, NULL);
}
