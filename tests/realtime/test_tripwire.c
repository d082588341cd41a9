// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// While the audio thread is in run() or connect_port(), the built bundle calls
/// nothing that allocates, locks, waits or touches files (tripwire.h), and
/// makes no system call at all: Linux can send a signal for each system call of
/// a thread while a byte of the process says so ("Syscall User Dispatch",
/// kernel documentation, since 5.11).  Plays every form of every plugin, with
/// all controls moving and bad samples and denormals at the input.

#include "tests/support/check.h"

#include "realtime.h"
#include "tripwire.h"

#include <dlfcn.h>
#include <fcntl.h>
#include <malloc.h>
#include <poll.h>
#include <pthread.h>
#include <sched.h>
#include <semaphore.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define N_BLOCKS 1000U

static realtime_source built_descriptor;

static int
load(void** state)
{
  (void)state;
  void* const module = dlopen(BUNDLE_DIR "/dustcap.so", RTLD_LAZY);
  assert_non_null(module);
  *(void**)&built_descriptor = dlsym(module, "lv2_descriptor");
  assert_non_null(built_descriptor);
  return 0;
}

static void
play_all(realtime_watch watch)
{
  static realtime r;
  uint32_t        n = 0;
  for (; realtime_find(&r, built_descriptor, n); ++n) {
    assert_string_equal(r.type->URI, r.form.uri);
    realtime_open(&r);
    realtime_play(&r, N_BLOCKS, watch);
    realtime_close(&r);
  }
  assert_true(n > 0);
  assert_null(built_descriptor(n));
}

static void
test_nothing_that_waits(void** state)
{
  (void)state;
  play_all(tripwire_arm);
}

// ---------------------------------------------------------------------------
// Would a bad call be seen?

static pthread_mutex_t    a_mutex = PTHREAD_MUTEX_INITIALIZER;
static pthread_rwlock_t   a_lock  = PTHREAD_RWLOCK_INITIALIZER;
static pthread_cond_t     a_cond  = PTHREAD_COND_INITIALIZER;
static pthread_once_t     once    = PTHREAD_ONCE_INIT;
static pthread_spinlock_t a_spin;
static sem_t              a_semaphore;
static void* volatile a_block;

static void
do_nothing(void)
{
}

static void*
do_nothing_with(void* data)
{
  return data;
}

// The header may turn these into others
static int (*volatile put_one)(int)        = putchar;
static int (*volatile put_two)(int, FILE*) = putc;

/// Bad calls, each in a function of its own
#define BAD_CALLS(X)                                                           \
  X(malloc, a_block = malloc(8))                                               \
  X(calloc, a_block = calloc(8, 8))                                            \
  X(realloc, a_block = realloc(a_block, 16))                                   \
  X(free, free(a_block))                                                       \
  X(memalign, a_block = memalign(64, 64))                                      \
  X(aligned_alloc, a_block = aligned_alloc(64, 64))                            \
  X(posix_memalign, (void)!posix_memalign((void**)&a_block, 64, 64))           \
  X(pthread_mutex_lock, pthread_mutex_lock(&a_mutex))                          \
  X(pthread_mutex_trylock, (void)pthread_mutex_trylock(&a_mutex))              \
  X(pthread_mutex_unlock, pthread_mutex_unlock(&a_mutex))                      \
  X(pthread_rwlock_rdlock, pthread_rwlock_rdlock(&a_lock))                     \
  X(pthread_rwlock_wrlock, pthread_rwlock_wrlock(&a_lock))                     \
  X(pthread_spin_lock, pthread_spin_lock(&a_spin))                             \
  X(pthread_cond_signal, pthread_cond_signal(&a_cond))                         \
  X(pthread_cond_wait, pthread_cond_wait(&a_cond, &a_mutex))                   \
  X(pthread_once, pthread_once(&once, do_nothing))                             \
  X(pthread_create,                                                            \
    pthread_create(&(pthread_t){0}, NULL, do_nothing_with, NULL))              \
  X(sem_wait, sem_wait(&a_semaphore))                                          \
  X(sem_post, sem_post(&a_semaphore))                                          \
  X(sched_yield, sched_yield())                                                \
  X(sleep, sleep(0))                                                           \
  X(usleep, usleep(0))                                                         \
  X(nanosleep, nanosleep(&(struct timespec){0, 1}, NULL))                      \
  X(poll, poll(NULL, 0, 0))                                                    \
  X(read, (void)!read(-1, NULL, 0))                                            \
  X(write, (void)!write(-1, "", 0))                                            \
  X(open, open("/dev/null", O_RDONLY))                                         \
  X(close, close(-1))                                                          \
  X(fopen, a_block = fopen("/dev/null", "r"))                                  \
  X(fclose, fclose(stdin))                                                     \
  X(fread, (void)!fread(&once, 1, 1, stdin))                                   \
  X(fwrite, (void)!fwrite("\n", 1, 1, stdout))                                 \
  X(fflush, fflush(stdout))                                                    \
  X(fputs, fputs("#\n", stdout))                                               \
  X(fputc, fputc('\n', stdout))                                                \
  X(puts, puts("#"))                                                           \
  X(putchar, put_one('\n'))                                                    \
  X(putc, put_two('\n', stdout))                                               \
  X(printf, printf("# %s\n", "text"))                                          \
  X(fprintf, fprintf(stdout, "# %s\n", "text"))                                \
  X(mmap,                                                                      \
    a_block = mmap(NULL, 4096, PROT_READ, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0)) \
  X(munmap, munmap(NULL, 0))                                                   \
  X(mprotect, (void)!mprotect(NULL, 0, PROT_READ))                             \
  X(getenv, a_block = getenv("HOME"))

#define BAD_FUNCTION(name, call) \
  static void bad_##name(void)   \
  {                              \
    call;                        \
  }
BAD_CALLS(BAD_FUNCTION)

typedef struct {
  const char* name;
  void (*call)(void);
} bad_call;

#define BAD_ROW(name, call) {#name, bad_##name},
static const bad_call bad_calls[] = {BAD_CALLS(BAD_ROW)};

/// Calls `f` under watch in a child; returns how it ended and what it said
static int
end_of(void (*f)(void), realtime_watch watch, char* said, size_t size)
{
  int ends[2];
  fflush(stdout);
  assert_int_equal(pipe(ends), 0);
  const pid_t child = fork();
  assert_true(child >= 0);
  if (child == 0) {
    dup2(ends[1], STDERR_FILENO);
    watch(true);
    f();
    watch(false);
    _exit(0);
  }
  close(ends[1]);
  size_t n = 0;
  for (ssize_t got = 1; got > 0 && n + 1 < size; n += (size_t)got) {
    got = read(ends[0], said + n, size - 1 - n);
    assert_true(got >= 0);
  }
  said[n] = '\0';
  close(ends[0]);
  int status = 0;
  assert_int_equal(waitpid(child, &status, 0), child);
  return status;
}

static void
test_the_tripwire_sees_each_bad_call(void** state)
{
  (void)state;
  for (size_t i = 0; i < sizeof(bad_calls) / sizeof(bad_calls[0]); ++i) {
    char      said[256], want[256];
    const int status =
      end_of(bad_calls[i].call, tripwire_arm, said, sizeof(said));
    snprintf(want, sizeof(want),
             "tripwire: %s() was called on the audio thread\n",
             bad_calls[i].name);
    assert_string_equal(said, want);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGABRT);
  }
}

static void
test_the_tripwire_lets_the_rest_pass(void** state)
{
  (void)state;
  char said[256];
  assert_int_equal(end_of(do_nothing, tripwire_arm, said, sizeof(said)), 0);
  assert_string_equal(said, "");
}

// ---------------------------------------------------------------------------
// The kernel

#ifdef PR_SET_SYSCALL_USER_DISPATCH

static volatile char selector; ///< Read by the kernel

static void
on_system_call(int signal, siginfo_t* info, void* context)
{
  (void)signal;
  (void)context;
  selector = SYSCALL_DISPATCH_FILTER_ALLOW;
  dprintf(STDERR_FILENO, "system call %d on the audio thread\n",
          info->si_syscall);
  _exit(3);
}

static void
watch_kernel(bool is_begin)
{
  selector =
    is_begin ? SYSCALL_DISPATCH_FILTER_BLOCK : SYSCALL_DISPATCH_FILTER_ALLOW;
}

static bool
kernel_can_watch(void)
{
  struct sigaction action = {.sa_sigaction = on_system_call,
                             .sa_flags     = SA_SIGINFO};
  sigaction(SIGSYS, &action, NULL);
  return prctl(PR_SET_SYSCALL_USER_DISPATCH, PR_SYS_DISPATCH_ON, 0, 0,
               &selector) == 0;
}

static void
call_kernel(void)
{
  syscall(SYS_getppid);
}

static void
play_under_kernel_watch(void)
{
  if (!kernel_can_watch()) { // Children do not inherit it
    _exit(4);
  }
  play_all(watch_kernel);
}

static void
call_under_kernel_watch(void)
{
  if (!kernel_can_watch()) {
    _exit(4);
  }
  watch_kernel(true);
  call_kernel();
  watch_kernel(false);
}

static void
no_watch(bool is_begin)
{
  (void)is_begin;
}

static void
test_no_system_call(void** state)
{
  (void)state;
  char said[256], want[256];
  int  status = end_of(call_under_kernel_watch, no_watch, said, sizeof(said));
  if (WIFEXITED(status) && WEXITSTATUS(status) == 4) {
    print_message("# this kernel cannot watch system calls\n");
    skip();
  }
  snprintf(want, sizeof(want), "system call %d on the audio thread\n",
           (int)SYS_getppid);
  assert_string_equal(said, want);
  assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 3);

  status = end_of(play_under_kernel_watch, no_watch, said, sizeof(said));
  assert_string_equal(said, "");
  assert_int_equal(status, 0);
}

#else

static void
test_no_system_call(void** state)
{
  (void)state;
  print_message("# this system cannot watch system calls\n");
  skip();
}

#endif

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(test_the_tripwire_sees_each_bad_call),
    cmocka_unit_test(test_the_tripwire_lets_the_rest_pass),
    cmocka_unit_test(test_nothing_that_waits),
    cmocka_unit_test(test_no_system_call),
  };
  return cmocka_run_group_tests_name("tripwire", tests, load, NULL);
}
