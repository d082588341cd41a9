// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "journal.h"
#include "mark.h"

#include "plugins/text/user_path.h"

#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
  LINE_SIZE  = 64 * JOURNAL_PARAMS,
  MOST_BYTES = 1 << 20, ///< Some 20 000 gestures: the older half goes then
};

// ---------------------------------------------------------------------------
// Place of the file

static bool
file_path(char path[USER_PATH], const journal_key* key, const char* suffix)
{
  char name[128];
  (void)snprintf(name, sizeof(name), "/dustcap/groups/%06" PRIx32 "-%c-%s%s",
                 key->song, key->letter, key->plugin->stem, suffix);
  return user_path(path, USER_STATE, name);
}

/// Makes a folder and those above it, as far as they are missing
static void
make_folders(char* path)
{
  for (char* c = path + 1; *c; ++c) {
    if (*c == '/') {
      *c = '\0';
      (void)mkdir(path, 0700); // As the base directory specification asks
      *c = '/';
    }
  }
  (void)mkdir(path, 0700);
}

// ---------------------------------------------------------------------------
// Reading

/// Makes room for one more; false without memory
static bool
make_room(void** memory, uint32_t n, uint32_t* room, size_t size)
{
  if (n < *room) {
    return true;
  }
  const uint32_t more  = *room ? 2 * *room : 64;
  void* const    grown = realloc(*memory, more * size);
  if (grown) {
    *memory = grown;
    *room   = more;
  }
  return grown;
}

/// Reads a mark in hexadecimal; false if it is none
static bool
read_mark(const char* word, uint32_t least, uint32_t* mark)
{
  char*               end = NULL;
  const unsigned long x   = word ? strtoul(word, &end, 16) : 0;
  *mark                   = (uint32_t)x;
  return end && end != word && !*end && word[0] != '-' && x >= least &&
         x <= MARK_MOST;
}

/// Reads "+33333333" or "=2" for a control
static bool
read_part(const plugin* p,
          const char*   symbol,
          const char*   word,
          journal_part* part)
{
  const int param = shell_port(p, symbol);
  if (param < 0 || (uint32_t)param >= shell_param_count(p) || !word) {
    return false;
  }
  const param_info* const info      = shell_param(p, (uint32_t)param);
  char*                   end       = NULL;
  const bool              is_choice = word[0] == '=';
  const long              x     = strtol(word + (is_choice ? 1 : 0), &end, 10);
  const long              least = is_choice ? 0 : -(long)JOURNAL_PLACE;
  const long most = is_choice ? (long)info->max : (long)JOURNAL_PLACE;
  *part           = (journal_part){(uint32_t)param, is_choice, (int32_t)x};
  return end != word + (is_choice ? 1 : 0) && !*end && x >= least &&
         x <= most && is_choice == (info->kind != PARAM_NUM);
}

/// Takes the parts of a line.  One that cannot be read spoils the line, but for
/// a control that this version does not have.
static bool
read_parts(journal* j, const plugin* p, journal_move* m, char** rest)
{
  const char* symbol = NULL;
  m->first           = j->n_parts;
  while ((symbol = strtok_r(NULL, " ", rest))) {
    const char* const word = strtok_r(NULL, " ", rest);
    journal_part      part;
    if (shell_port(p, symbol) < 0 && word) {
      continue;
    }
    if (!read_part(p, symbol, word, &part) ||
        !make_room((void**)&j->parts, j->n_parts, &j->part_room,
                   sizeof(*j->parts))) {
      j->n_parts = m->first;
      return false;
    }
    j->parts[j->n_parts++] = part;
  }
  m->n = j->n_parts - m->first;
  return true;
}

static void
read_line(journal* j, const plugin* p, char* line)
{
  char*             rest   = NULL;
  const char* const kind   = strtok_r(line, " ", &rest);
  const char* const id     = strtok_r(NULL, " ", &rest);
  const char* const after  = strtok_r(NULL, " ", &rest);
  const char* const parent = strtok_r(NULL, " ", &rest);
  journal_move      m      = {.above = -1, .depth = 1};
  if (!kind || !after || strcmp(after, "after") != 0 ||
      !read_mark(id, 1, &m.id) || !read_mark(parent, 0, &m.parent)) {
    return;
  }
  m.is_own = !strcmp(kind, "part");
  if ((!m.is_own && strcmp(kind, "move") != 0) ||
      !make_room((void**)&j->moves, j->n, &j->room, sizeof(*j->moves)) ||
      !read_parts(j, p, &m, &rest)) {
    return;
  }
  const journal_move* const above = journal_find(j, m.parent);
  if (above) {
    m.above = (int)(above - j->moves);
    m.depth = above->depth + 1;
    j->moves[m.above].is_followed |= !m.is_own;
  }
  j->moves[j->n++] = m;
}

bool
journal_read(journal* j, const journal_key* key)
{
  char path[USER_PATH];
  *j               = (journal){0};
  char* const line = malloc(LINE_SIZE);
  FILE* const file = line && file_path(path, key, "") ? fopen(path, "r") : NULL;
  while (file && fgets(line, LINE_SIZE, file)) {
    char* const end = strchr(line, '\n');
    if (end) { // Else it is being written, or is none
      *end = '\0';
      read_line(j, key->plugin, line);
    }
  }
  if (file) {
    (void)fclose(file);
  }
  free(line);
  return line;
}

// ---------------------------------------------------------------------------
// Writing

/// Opens the file for lines at its end, and locks it; -1 if that is not
/// possible
static int
open_locked(const char* path)
{
  for (int tries = 0; tries < 4; ++tries) {
    struct stat opened;
    struct stat named;
    const int   fd = open(path, O_RDWR | O_APPEND | O_CREAT | O_CLOEXEC, 0600);
    if (fd < 0 || flock(fd, LOCK_EX) != 0) {
      if (fd >= 0) {
        (void)close(fd);
      }
      return -1;
    }
    if (!fstat(fd, &opened) && !stat(path, &named) &&
        opened.st_ino == named.st_ino && opened.st_dev == named.st_dev) {
      return fd;
    }
    (void)close(fd); // Another window has just replaced it
  }
  return -1;
}

/// Writes all of a text at the end, or leaves the file as it was
static bool
write_all(int fd, const char* text, size_t n)
{
  const off_t size = lseek(fd, 0, SEEK_END);
  if (size < 0 || write(fd, text, n) == (ssize_t)n) {
    return size >= 0;
  }
  // If this fails too, the next line is lost with the half one
  (void)!ftruncate(fd, size);
  return false;
}

/// Replaces a file that has grown too long by its newer half
static void
shorten(int fd, const char* path, const char* next_path)
{
  struct stat s;
  char*       half = NULL;
  if (fstat(fd, &s) != 0 || s.st_size <= MOST_BYTES ||
      !(half = malloc(MOST_BYTES / 2))) {
    return;
  }
  const ssize_t n = pread(fd, half, MOST_BYTES / 2, s.st_size - MOST_BYTES / 2);
  const char* const line = n > 0 ? memchr(half, '\n', (size_t)n) : NULL;
  const int         next =
    line ? open(next_path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600) : -1;
  if (next >= 0) {
    const bool is_good =
      write_all(next, line + 1, (size_t)n - (size_t)(line + 1 - half));
    if (close(next) != 0 || !is_good || rename(next_path, path) != 0) {
      (void)unlink(next_path);
    }
  }
  free(half);
}

/// Writes a line into `text`; returns its length
static size_t
print_line(char*               text,
           const plugin*       p,
           uint32_t            id,
           uint32_t            parent,
           bool                is_own,
           const journal_part* parts,
           uint32_t            n)
{
  int at = snprintf(text, LINE_SIZE, "%s %06" PRIx32 " after %06" PRIx32,
                    is_own ? "part" : "move", id, parent);
  for (uint32_t i = 0; i < n; ++i) {
    at += snprintf(text + at, (size_t)(LINE_SIZE - at),
                   parts[i].is_choice ? " %s =%" PRId32 : " %s %+" PRId32,
                   shell_param(p, parts[i].param)->symbol, parts[i].by);
  }
  text[at] = '\n';
  return (size_t)at + 1;
}

bool
journal_write(const journal_key*  key,
              uint32_t            id,
              uint32_t            parent,
              bool                is_own,
              const journal_part* parts,
              uint32_t            n)
{
  char path[USER_PATH];
  char next_path[USER_PATH];
  if (n > JOURNAL_PARAMS || !user_path(path, USER_STATE, "/dustcap/groups")) {
    return false;
  }
  make_folders(path);
  char* const text = malloc(LINE_SIZE + 2);
  const int   fd =
    text && file_path(path, key, "") && file_path(next_path, key, ".new")
        ? open_locked(path)
        : -1;
  bool is_good = false;
  if (fd >= 0) {
    const size_t length =
      print_line(text, key->plugin, id, parent, is_own, parts, n);
    is_good = write_all(fd, text, length);
    shorten(fd, path, next_path);
    (void)close(fd);
  }
  free(text);
  return is_good;
}
