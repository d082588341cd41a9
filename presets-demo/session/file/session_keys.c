// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "session_keys.h"

#include "session_time.h"

#include "plugins/setup/setup_value.h"
#include "plugins/text/input_file.h"
#include "plugins/text/spelling.h"
#include "presets-demo/render/program/path.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define MAX_KEYS 16

/// A value that is a number, a switch or a choice
typedef struct {
  size_t        offset; ///< Of a float in the target
  control_input input;
} value_key;

/// A value that names a file or a folder
typedef struct {
  size_t      offset;      ///< Of a char* in the target
  size_t      line_offset; ///< Of a uint32_t
  const char* key;
  const char* what;
  const char* (*fault)(const char* path); ///< NULL if it can be taken
} file_key;

/// A value that is a time in the piece, or "no"
typedef struct {
  size_t      offset;      ///< Of a float in the target
  size_t      line_offset; ///< Of a uint32_t
  const char* key;
} time_key;

static control_choice bits_choices[] = {
  {(char*)"16", SAMPLES_16},
  {(char*)"24", SAMPLES_24},
  {(char*)"float", SAMPLES_FLOAT},
};

/// A switch, too, as it once was
static control_choice stems_choices[] = {
  {(char*)"wav", STEMS_WAV}, {(char*)"flac", STEMS_FLAC},
  {(char*)"off", STEMS_OFF}, {(char*)"on", STEMS_WAV},
  {(char*)"yes", STEMS_WAV}, {(char*)"no", STEMS_OFF},
  {(char*)"1", STEMS_WAV},   {(char*)"0", STEMS_OFF},
};

#define CHOICE(type, member, normal, list)                                 \
  {                                                                        \
    offsetof(type, member),                                                \
    {                                                                      \
      .symbol = (char*)#member, .unit = (char*)"", .kind = CONTROL_CHOICE, \
      .def = (normal), .choices = (list),                                  \
      .n_choices = sizeof(list) / sizeof((list)[0]),                       \
    }                                                                      \
  }

#define NUMBER(type, member, shown, lowest, normal, highest)             \
  {                                                                      \
    offsetof(type, member),                                              \
    {                                                                    \
      .symbol = (char*)#member, .unit = (char*)(shown), .min = (lowest), \
      .def = (normal), .max = (highest)                                  \
    }                                                                    \
  }

#define SWITCH(type, member, normal)                                       \
  {                                                                        \
    offsetof(type, member),                                                \
    {                                                                      \
      .symbol = (char*)#member, .unit = (char*)"", .kind = CONTROL_TOGGLE, \
      .def = (normal), .max = 1.0F                                         \
    }                                                                      \
  }

#define SEND(index, name)                                        \
  {                                                              \
    offsetof(session_strip, send_db[index]),                     \
    {                                                            \
      .symbol = (char*)(name "_db"), .unit = (char*)"dB",        \
      .min = SESSION_OFF_DB, .def = SESSION_OFF_DB, .max = 12.0F \
    }                                                            \
  }

// A table per section, ended by a symbol of NULL
static const value_key track_values[] = {
  NUMBER(session_strip, gain_db, "dB", -60.0F, 0.0F, 24.0F),
  NUMBER(session_strip, pan, "", -100.0F, 0.0F, 100.0F),
  SEND(0, "plate"),
  SEND(1, "room"),
  SWITCH(session_strip, align, SESSION_ALIGN_AS_SETUP),
  {0, {.symbol = NULL}},
};
static const value_key group_values[] = {
  NUMBER(session_strip, gain_db, "dB", -60.0F, 0.0F, 24.0F),
  {0, {.symbol = NULL}},
};
static const value_key output_values[] = {
  {offsetof(session_output, rate_hz),
   {.symbol     = (char*)"rate_hz",
    .unit       = (char*)"Hz",
    .is_integer = true,
    .min        = 8000.0F,
    .max        = 384000.0F}},
  CHOICE(session_output, bits, SAMPLES_24, bits_choices),
  NUMBER(session_output, tail_s, "s", 0.0F, 4.0F, 60.0F),
  CHOICE(session_output, stems, STEMS_WAV, stems_choices),
  NUMBER(session_output, cache_gb, "GB", 0.0F, 20.0F, 100000.0F),
  {0, {.symbol = NULL}},
};

static const char*
file_fault(const char* path)
{
  struct stat status;
  return stat(path, &status) ? strerror(errno) : input_file_fault(&status);
}

/// One that is not there can be made
static const char*
folder_fault(const char* path)
{
  struct stat status;
  if (stat(path, &status)) {
    return errno == ENOENT ? NULL : strerror(errno);
  }
  return S_ISDIR(status.st_mode) ? NULL : "is not a folder";
}

static const file_key track_files[] = {
  {offsetof(session_strip, file), offsetof(session_strip, file_line), "file",
   "a sound file", file_fault},
  {offsetof(session_strip, setup), offsetof(session_strip, setup_line), "setup",
   "a setup", file_fault},
  {0, 0, NULL, NULL, NULL},
};
static const file_key group_files[] = {
  {offsetof(session_strip, setup), offsetof(session_strip, setup_line), "setup",
   "a setup", file_fault},
  {0, 0, NULL, NULL, NULL},
};
static const file_key output_files[] = {
  {offsetof(session_output, cache), offsetof(session_output, cache_line),
   "cache", "a folder, or a name for one", folder_fault},
  {0, 0, NULL, NULL, NULL},
};

static const time_key track_times[] = {
  {offsetof(session_strip, listen_s), offsetof(session_strip, listen_line),
   "listen"},
  {0, 0, NULL},
};
static const time_key output_times[] = {
  {offsetof(session_output, listen_s), offsetof(session_output, listen_line),
   "listen"},
  {0, 0, NULL},
};
static const time_key no_times[] = {{0, 0, NULL}};

static const struct {
  const char*      name; ///< In messages
  const value_key* values;
  const file_key*  files;
  const time_key*  times;
} sections[] = {
  [SECTION_TRACK]  = {"a track", track_values, track_files, track_times},
  [SECTION_SEND]   = {"a send", group_values, group_files, no_times},
  [SECTION_BUS]    = {"the bus", group_values, group_files, no_times},
  [SECTION_OUTPUT] = {"the output", output_values, output_files, output_times},
};

static float*
number_at(void* target, size_t offset)
{
  return (float*)(void*)((char*)target + offset);
}

void
session_keys_default(section_kind kind, void* target)
{
  for (const value_key* k = sections[kind].values; k->input.symbol; ++k) {
    *number_at(target, k->offset) = k->input.def;
  }
  for (const time_key* k = sections[kind].times; k->key; ++k) {
    *number_at(target, k->offset) = SESSION_LISTEN_CHOSEN;
  }
}

static bool
take_path(const file_key* k,
          void*           target,
          const char*     session_path,
          uint32_t        line,
          const char*     value,
          failure*        f)
{
  char* const       path  = path_beside(session_path, value);
  const char* const fault = k->fault(path);
  if (fault) {
    (void)fail_with(f, "%s = %s: %s; expected %s", k->key, value, fault,
                    k->what);
    free(path);
    return false;
  }
  *(char**)(void*)((char*)target + k->offset)         = path;
  *(uint32_t*)(void*)((char*)target + k->line_offset) = line;
  return true;
}

static bool
unknown_key(section_kind kind, const char* key, failure* f)
{
  const char* known[MAX_KEYS] = {NULL};
  uint32_t    n               = 0;
  for (const file_key* k = sections[kind].files; k->key; ++k) {
    known[n++] = k->key;
  }
  for (const value_key* k = sections[kind].values; k->input.symbol; ++k) {
    known[n++] = k->input.symbol;
  }
  for (const time_key* k = sections[kind].times; k->key; ++k) {
    known[n++] = k->key;
  }
  char where[64];
  (void)snprintf(where, sizeof(where), " of %s", sections[kind].name);
  return spelling_fail("key", key, where, known, n, f);
}

/// Reads a value; refuses `base`, which setup_value_read() would suggest
static bool
read_value(const control_input* c, const char* value, float* target, failure* f)
{
  const size_t word = strcspn(value, " \t+-*/");
  if (word == 4 && !strncasecmp(value, "base", word)) {
    return fail_with(f, "%s = %s: base is for setups; expected a value",
                     c->symbol, value);
  }
  return setup_value_read(c, value, NULL, target, f);
}

static bool
take_time(const time_key* k,
          void*           target,
          uint32_t        line,
          const char*     value,
          failure*        f)
{
  float s = SESSION_LISTEN_OFF;
  if (strcasecmp(value, "no") != 0 && !session_time_read(value, &s)) {
    return fail_with(f,
                     "%s = %s; expected minutes and seconds such as 0:21, or "
                     "no",
                     k->key, value);
  }
  *number_at(target, k->offset)                       = s;
  *(uint32_t*)(void*)((char*)target + k->line_offset) = line;
  return true;
}

static bool
note_seen(uint32_t* seen, uint32_t bit, const char* key, failure* f)
{
  if (*seen & (1U << bit)) {
    return fail_with(f, "a second %s in this section; expected one", key);
  }
  *seen |= 1U << bit;
  return true;
}

bool
session_keys_take(section_kind kind,
                  void*        target,
                  uint32_t*    seen,
                  const char*  session_path,
                  uint32_t     line,
                  const char*  key,
                  const char*  value,
                  failure*     f)
{
  uint32_t bit = 0;
  for (const file_key* k = sections[kind].files; k->key; ++k, ++bit) {
    if (!strcmp(k->key, key)) {
      return note_seen(seen, bit, key, f) &&
             take_path(k, target, session_path, line, value, f);
    }
  }
  for (const value_key* k = sections[kind].values; k->input.symbol;
       ++k, ++bit) {
    if (!strcmp(k->input.symbol, key)) {
      return note_seen(seen, bit, key, f) &&
             read_value(&k->input, value, number_at(target, k->offset), f);
    }
  }
  for (const time_key* k = sections[kind].times; k->key; ++k, ++bit) {
    if (!strcmp(k->key, key)) {
      return note_seen(seen, bit, key, f) &&
             take_time(k, target, line, value, f);
    }
  }
  return unknown_key(kind, key, f);
}
