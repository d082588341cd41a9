// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// portability_player [FOLDER [note FILE | take FILE]]
///
/// Plays the same sound through every form of every plugin, at its defaults and
/// with all controls moving, and prints a line for each: URI, and a hash of the
/// output's bits.  The samples go into FOLDER/NAME.f32 as well, lowest byte
/// first, for portability_compare.  `note` writes down what libm answered,
/// `take` plays with what was written down elsewhere, and says on stderr how
/// much was not there.
///
/// The sound and the places of the controls are made by plain arithmetic of
/// doubles, so that what differs from one machine to the other is the plugin.

#include "libm_answers.h"

#include "plugins/shell.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define N         24000U
#define MAX_BLOCK 397U
#define MAX_PORTS 64

/// All controls move to other places after so many blocks
#define BLOCKS_BETWEEN_MOVES 16U

typedef struct {
  double rate_hz;
  bool   moves;
} setting;

static const setting settings[] = {{48000.0, false},
                                   {44100.0, true},
                                   {96000.0, true}};

/// What is played, and where it goes
typedef struct {
  plugin_form form;
  float       control[MAX_PORTS]; ///< And meters
  float       in[MAX_CHANNELS][N];
  float       out[MAX_CHANNELS][MAX_BLOCK];
  uint64_t    hash;
  FILE*       file; ///< Or NULL
} playing;

/// Uniform in -1 .. 1
static double
noise(uint32_t* seed)
{
  *seed = *seed * 1664525U + 1013904223U;
  return (double)(int32_t)*seed / 2147483648.0;
}

/// Two channels that differ: notes of parabolas, with a noisy start, dying away
/// by a power of two for each note's eighth; and a pause
static void
fill_input(playing* p)
{
  uint32_t seed = 7;
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    for (uint32_t i = 0; i < N; ++i) {
      const uint32_t at     = (i + 700U * k) % 4000U;
      const uint32_t period = 218U + 97U * k;
      const double   u     = 2.0 * (double)(at % period) / (double)period - 1.0;
      const double   u2    = u < 0.0 ? u * (1.0 + u) : u * (1.0 - u);
      const double   decay = 1.0 / (double)(1U << at / 500U);
      const double   pick  = at < 400U ? noise(&seed) : 0.02 * noise(&seed);
      p->in[k][i] =
        i / 1000U == 7U ? 0.0F : (float)(decay * (2.0 * u2 + 0.2 * pick));
    }
  }
}

/// FNV-1a of a sample's bits, lowest byte first
static void
keep(playing* p, float x)
{
  uint32_t bits = 0;
  memcpy(&bits, &x, sizeof(bits));
  for (int i = 0; i < 4; ++i, bits >>= 8U) {
    p->hash = (p->hash ^ (bits & 0xFFU)) * 0x100000001B3U;
    if (p->file) {
      (void)putc((int)(bits & 0xFFU), p->file);
    }
  }
}

static void
place_controls(playing* p, bool moves, uint32_t* seed)
{
  const uint32_t n = shell_param_count(p->form.plugin);
  for (uint32_t i = 0; i < n; ++i) {
    const param_info* const info  = shell_param(p->form.plugin, i);
    const double            u     = 0.5 + 0.5 * noise(seed);
    const double            least = (double)info->min;
    const double            x     = least + u * ((double)info->max - least);
    // The plugin is heard, mostly
    const bool stays =
      !moves || (!shell_param_is_stages(p->form.plugin, i) && u < 0.9);
    p->control[i] =
      stays ? info->def : (float)(info->kind == PARAM_NUM ? x : floor(x + 0.5));
  }
}

static void
play_block(playing*              p,
           const LV2_Descriptor* d,
           LV2_Handle            handle,
           uint32_t              at,
           uint32_t              n)
{
  const uint32_t audio =
    shell_param_count(p->form.plugin) + shell_meter_count(p->form.plugin);
  for (uint32_t k = 0; k < p->form.n_in; ++k) {
    d->connect_port(handle, audio + k, p->in[k] + at);
  }
  for (uint32_t k = 0; k < p->form.n_out; ++k) {
    d->connect_port(handle, audio + p->form.n_in + k, p->out[k]);
  }
  d->run(handle, n);
  for (uint32_t k = 0; k < p->form.n_out; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      keep(p, p->out[k][i]);
    }
  }
}

static void
play(playing* p, const LV2_Descriptor* d, const setting* s)
{
  LV2_Handle handle = d->instantiate(d, s->rate_hz, "", NULL);
  if (!handle) {
    fprintf(stderr, "%s: cannot be instantiated\n", d->URI);
    exit(1);
  }
  const uint32_t n_ports =
    shell_param_count(p->form.plugin) + shell_meter_count(p->form.plugin);
  uint32_t seed = 3;
  for (uint32_t i = 0; i < n_ports; ++i) {
    d->connect_port(handle, i, &p->control[i]);
  }
  for (uint32_t at = 0, n = 1, block = 0; at < N; at += n, ++block) {
    if (block % BLOCKS_BETWEEN_MOVES == 0) {
      place_controls(p, s->moves, &seed);
    }
    if (block == 0) {
      d->activate(handle);
    }
    n = n * 5 % MAX_BLOCK; // 5, 25, 125, 228 ...
    n = N - at < n ? N - at : n;
    play_block(p, d, handle, at, n);
  }
  d->cleanup(handle);
}

/// FOLDER/NAME.f32 of urn:dustcap:NAME
static FILE*
open_file(const char* folder, const char* uri)
{
  char path[4096];
  snprintf(path, sizeof(path), "%s/%s.f32", folder,
           uri + strlen(SHELL_URI_PREFIX));
  FILE* const file = fopen(path, "wb");
  if (!file) {
    fprintf(stderr, "%s: cannot be written\n", path);
    exit(1);
  }
  return file;
}

static void
play_form(playing* p, const LV2_Descriptor* d, const char* folder)
{
  p->hash = 0xCBF29CE484222325U;
  p->file = folder ? open_file(folder, d->URI) : NULL;
  for (size_t i = 0; i < sizeof(settings) / sizeof(settings[0]); ++i) {
    play(p, d, &settings[i]);
  }
  if (p->file && fclose(p->file) != 0) {
    fprintf(stderr, "%s: no room in %s\n", d->URI, folder);
    exit(1);
  }
  printf("%s %08lx%08lx\n", d->URI, (unsigned long)(p->hash >> 32U),
         (unsigned long)(p->hash & 0xFFFFFFFFU));
}

static void
play_all(const char* folder)
{
  static playing p;
  fill_input(&p);
  uint32_t      index = 0;
  const plugin* type  = NULL;
  for (uint32_t n = 0; (type = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(type); ++i, ++index) {
      p.form = shell_form(type, i);
      play_form(&p, shell_descriptor(index), folder);
    }
  }
}

int
main(int argc, char** argv)
{
  const bool shakes = argc == 3 && !strcmp(argv[2], "shake");
  const bool notes  = argc == 4 && !strcmp(argv[2], "note");
  const bool takes  = argc == 4 && !strcmp(argv[2], "take");
  if (argc > 2 && !shakes && !notes && !takes) {
    fprintf(stderr, "usage: portability_player "
                    "[FOLDER [note FILE | take FILE | shake]]\n");
    return 2;
  }
  if (notes) {
    libm_answers_note();
  }
  if (shakes) {
    libm_answers_shake();
  }
  if (takes && !libm_answers_take(argv[3])) {
    fprintf(stderr, "%s: no answers there\n", argv[3]);
    return 1;
  }
  play_all(argc > 1 ? argv[1] : NULL);
  if (notes && !libm_answers_write(argv[3])) {
    fprintf(stderr, "%s: cannot be written\n", argv[3]);
    return 1;
  }
  if (takes) {
    fprintf(stderr, "%u\n", (unsigned)libm_answers_missing());
  }
  return 0;
}
