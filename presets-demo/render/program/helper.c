// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "helper.h"

#include "progress.h"

#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdbool.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/// Between two looks at it
#define LOOK_EVERY_NS 5000000L

/// Starts it in a process group of its own, which can be killed as a whole
static bool
start(char* const* args, pid_t* id)
{
  posix_spawn_file_actions_t files;
  posix_spawnattr_t          how;
  if (posix_spawn_file_actions_init(&files)) {
    return false;
  }
  if (posix_spawnattr_init(&how)) {
    (void)posix_spawn_file_actions_destroy(&files);
    return false;
  }
  (void)posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
  (void)posix_spawn_file_actions_addopen(&files, 1, "/dev/null", O_WRONLY, 0);
  (void)posix_spawn_file_actions_addopen(&files, 2, "/dev/null", O_WRONLY, 0);
  (void)posix_spawnattr_setflags(&how, POSIX_SPAWN_SETPGROUP);
  const bool ok = !posix_spawnp(id, args[0], &files, &how, args, environ);
  (void)posix_spawnattr_destroy(&how);
  (void)posix_spawn_file_actions_destroy(&files);
  return ok;
}

/// Waits for its end.  EINTR says nothing about the child; any other error
/// means that there is none to wait for.
static helper_result
wait_for(pid_t id, double limit_s, const volatile sig_atomic_t* stop)
{
  const double start_s = progress_clock_s();
  int          status  = 0;
  for (;;) {
    const pid_t ended = waitpid(id, &status, WNOHANG);
    if (ended == id) {
      return status ? HELPER_FAILED : HELPER_DONE;
    }
    if (ended < 0 && errno != EINTR) {
      return HELPER_FAILED;
    }
    if (*stop || progress_clock_s() - start_s > limit_s) {
      break;
    }
    (void)nanosleep(&(struct timespec){.tv_nsec = LOOK_EVERY_NS}, NULL);
  }
  (void)kill(-id, SIGKILL);
  while (waitpid(id, &status, 0) < 0 && errno == EINTR) {
    // It is dying
  }
  return HELPER_SLOW;
}

helper_result
helper_run(char* const* args, double limit_s, const volatile sig_atomic_t* stop)
{
  // With SIG_IGN, which may be inherited, the system discards its status
  struct sigaction       before;
  const struct sigaction plain = {.sa_handler = SIG_DFL};
  pid_t                  id    = 0;
  (void)sigaction(SIGCHLD, &plain, &before);
  const helper_result result =
    start(args, &id) ? wait_for(id, limit_s, stop) : HELPER_FAILED;
  (void)sigaction(SIGCHLD, &before, NULL);
  return result;
}
