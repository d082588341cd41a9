// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "output_folder.h"

#include "alloc.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/// In the folder: the names of all that was written into it, one a line
#define LIST ".written"

struct output_folder {
  char*    path;
  char*    part_path; ///< Until it is complete
  char**   names;
  char**   files; ///< Where they are
  uint32_t n;
};

/// The text of a list, NULL if there is none.  It starts and ends with a line
/// break.
static char*
read_list(const char* folder)
{
  char* const path = alloc_print("%s/" LIST, folder);
  FILE* const f    = fopen(path, "r");
  free(path);
  if (!f) {
    return NULL;
  }
  char*  text   = alloc_copy("\n");
  char*  line   = NULL;
  size_t room   = 0;
  size_t length = 1;
  for (ssize_t n = 0; (n = getline(&line, &room, f)) > 0;) {
    text = alloc_grow(text, length + (size_t)n + 1, 1);
    memcpy(text + length, line, (size_t)n + 1);
    length += (size_t)n;
  }
  free(line);
  (void)fclose(f);
  return text;
}

static bool
is_listed(const char* list, const char* name)
{
  char* const line  = alloc_print("\n%s\n", name);
  const bool  is_in = strstr(list, line) != NULL;
  free(line);
  return is_in || !strcmp(name, LIST);
}

static bool
is_folder(const char* path)
{
  struct stat status;
  return !lstat(path, &status) && S_ISDIR(status.st_mode);
}

/// Call for each entry; the first false ends it
static bool
each_entry(const char* folder,
           bool (*f)(void* user, const char* name),
           void* user)
{
  DIR* const d  = opendir(folder);
  bool       ok = d != NULL;
  for (const struct dirent* e = NULL; ok && (e = readdir(d));) {
    if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0) {
      ok = f(user, e->d_name);
    }
  }
  if (d) {
    (void)closedir(d);
  }
  return ok;
}

/// A folder within, or the folder itself with "" as `inner`
typedef struct {
  const char* folder;
  const char* inner;
  const char* list;
  failure*    f;
} search;

static bool
check_entry(void* user, const char* name)
{
  const search* const s     = user;
  char* const         entry = alloc_print("%s%s", s->inner, name);
  char* const         path  = alloc_print("%s/%s", s->folder, entry);
  bool                ok    = is_listed(s->list, entry);
  if (!ok && !*s->inner && is_folder(path)) {
    char* const  inner = alloc_print("%s/", entry);
    const search below = {s->folder, inner, s->list, s->f};
    ok                 = each_entry(path, check_entry, (void*)&below);
    free(inner);
  } else if (!ok) {
    (void)fail_with(s->f,
                    "%s: holds %s, which was not written by this program; "
                    "expected a new folder",
                    s->folder, entry);
  }
  free(path);
  free(entry);
  return ok;
}

static bool
may_replace(const char* path, failure* f)
{
  struct stat status;
  if (lstat(path, &status)) {
    return errno == ENOENT ||
           fail_with(f, "%s: %s; expected a new folder", path, strerror(errno));
  }
  if (!S_ISDIR(status.st_mode)) {
    return fail_with(f, "%s: is not a folder; expected a new one", path);
  }
  char* const  list = read_list(path);
  const search s    = {path, "", list ? list : "\n", f};
  *f->text          = '\0';
  const bool ok     = each_entry(path, check_entry, (void*)&s);
  free(list);
  if (!ok && !*f->text) {
    (void)fail_with(f, "%s: cannot be read; expected a new folder", path);
  }
  return ok;
}

output_folder*
output_folder_open(const char* path, failure* f)
{
  char*  place  = alloc_copy(path);
  size_t length = strlen(place);
  while (length > 1 && place[length - 1] == '/') {
    place[--length] = '\0';
  }
  const char* const slash = strrchr(place, '/');
  const char* const name  = slash ? slash + 1 : place;
  if (!*name || !strcmp(name, ".") || !strcmp(name, "..")) {
    (void)fail_with(f, "%s: expected the name of a new folder", path);
    free(place);
    return NULL;
  }
  if (!may_replace(place, f)) {
    free(place);
    return NULL;
  }
  output_folder* const o = alloc_new(1, sizeof(*o));
  o->path                = place;
  o->part_path =
    alloc_print("%.*s.%s.XXXXXX", (int)(name - place), place, name);
  if (!mkdtemp(o->part_path)) {
    (void)fail_with(f, "%s: cannot be made there (%s)", path, strerror(errno));
    free(o->part_path);
    o->part_path = NULL;
    output_folder_abandon(o);
    return NULL;
  }
  const mode_t mask = umask(0);
  (void)umask(mask);
  (void)chmod(o->part_path, 0777 & ~mask);
  return o;
}

const char*
output_folder_file(output_folder* o, const char* name)
{
  const char* const slash = strchr(name, '/');
  if (slash) {
    char* const inner =
      alloc_print("%s/%.*s", o->part_path, (int)(slash - name), name);
    (void)mkdir(inner, 0777); // It may be there; a failure shows when writing
    free(inner);
  }
  o->names       = alloc_grow(o->names, o->n + 1, sizeof(*o->names));
  o->files       = alloc_grow(o->files, o->n + 1, sizeof(*o->files));
  o->names[o->n] = alloc_copy(name);
  o->files[o->n] = alloc_print("%s/%s", o->part_path, name);
  return o->files[o->n++];
}

static bool
write_list(output_folder* o, failure* f)
{
  FILE* const file = fopen(output_folder_file(o, LIST), "w");
  bool        ok   = file != NULL;
  for (uint32_t i = 0; ok && i + 1 < o->n; ++i) {
    ok = fprintf(file, "%s\n", o->names[i]) > 0;
  }
  ok = file && !fclose(file) && ok;
  return ok ||
         fail_with(f, "%s: cannot be completed (%s)", o->path, strerror(errno));
}

static bool
remove_entry(void* user, const char* name)
{
  char* const path = alloc_print("%s/%s", (const char*)user, name);
  if (is_folder(path)) {
    (void)each_entry(path, remove_entry, path);
  }
  (void)remove(path);
  free(path);
  return true;
}

/// With all that is in it
static void
remove_folder(char* path)
{
  (void)each_entry(path, remove_entry, path);
  (void)rmdir(path);
}

/// The old folder becomes the part, the part the folder, at once: whoever looks
/// or ends this program sees the one or the other.  False where the system or
/// the kind of disk has no such thing.
static bool
exchange(const output_folder* o)
{
#ifdef RENAME_EXCHANGE
  return !renameat2(AT_FDCWD, o->part_path, AT_FDCWD, o->path, RENAME_EXCHANGE);
#else
  (void)o;
  return false;
#endif
}

/// In two steps, and back if the second fails
static bool
replace(const output_folder* o)
{
  char* const old = alloc_print("%s.old", o->part_path);
  bool        ok  = !rename(o->path, old);
  if (ok && rename(o->part_path, o->path)) {
    const int error = errno;
    (void)rename(old, o->path);
    errno = error;
    ok    = false;
  } else if (ok) {
    remove_folder(old);
  }
  free(old);
  return ok;
}

bool
output_folder_finish(output_folder* o, failure* f)
{
  *f->text = '\0';
  // It may have changed meanwhile
  bool ok = may_replace(o->path, f) && write_list(o, f);
  if (ok) {
    // What is left under the name of the part is removed below
    ok = is_folder(o->path) ? exchange(o) || replace(o)
                            : !rename(o->part_path, o->path);
  }
  if (!ok && !*f->text) {
    (void)fail_with(f, "%s: cannot get its name (%s)", o->path,
                    strerror(errno));
  }
  output_folder_abandon(o);
  return ok;
}

void
output_folder_abandon(output_folder* o)
{
  if (!o) {
    return;
  }
  if (o->part_path) {
    remove_folder(o->part_path);
  }
  for (uint32_t i = 0; i < o->n; ++i) {
    free(o->names[i]);
    free(o->files[i]);
  }
  free(o->names);
  free(o->files);
  free(o->part_path);
  free(o->path);
  free(o);
}
