// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "bench.h"

#include <malloc.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bench_bundle
bench_open(const char* folder)
{
  char path[4096];
  (void)snprintf(path, sizeof(path), "%s/", folder);
  bench_bundle    b   = {.world = lilv_world_new()};
  LilvNode* const dir = lilv_new_file_uri(b.world, NULL, path);
  lilv_world_load_bundle(b.world, dir);
  lilv_node_free(dir);
  b.plugins = lilv_world_get_all_plugins(b.world);
  return b;
}

void
bench_close(bench_bundle* b)
{
  lilv_world_free(b->world);
}

/// Returns the bytes allocated by malloc()
static double
heap_bytes(void)
{
  const struct mallinfo2 m = mallinfo2();
  return (double)m.uordblks + (double)m.hblkhd;
}

void
subject_open(subject*            s,
             const bench_bundle* b,
             const plugin*       p,
             uint32_t            form,
             double              rate_hz)
{
  *s = (subject){.p = p, .form = shell_form(p, form)};

  LilvNode* const         uri  = lilv_new_uri(b->world, s->form.uri);
  const LilvPlugin* const type = lilv_plugins_get_by_uri(b->plugins, uri);
  lilv_node_free(uri);
  const double heap  = heap_bytes();
  const double start = bench_now_ns();
  s->instance = type ? lilv_plugin_instantiate(type, rate_hz, NULL) : NULL;
  s->instantiate_ms = (bench_now_ns() - start) * 1e-6;
  s->memory_kib     = (heap_bytes() - heap) / 1024.0;
  if (!s->instance) {
    fprintf(stderr, "bench: %s does not load\n", s->form.uri);
    exit(1);
  }

  for (uint32_t i = 0; i < shell_param_count(p) + shell_meter_count(p); ++i) {
    s->control[i] = i < shell_param_count(p) ? shell_param(p, i)->def : 0.0F;
    lilv_instance_connect_port(s->instance, i, &s->control[i]);
  }
  lilv_instance_activate(s->instance);
}

void
subject_close(subject* s)
{
  lilv_instance_deactivate(s->instance);
  lilv_instance_free(s->instance);
}

bool
subject_set(subject* s, const char* symbol, float value)
{
  const int port = shell_port(s->p, symbol);
  if (port < 0 || port >= (int)shell_shown_count(s->p)) {
    return false;
  }
  s->control[port] = value;
  return true;
}

void
subject_run(const subject*      s,
            const float* const* in,
            float* const*       out,
            uint32_t            n)
{
  const uint32_t audio = shell_param_count(s->p) + shell_meter_count(s->p);
  for (uint32_t k = 0; k < s->form.n_in; ++k) {
    lilv_instance_connect_port(s->instance, audio + k, (void*)in[k]);
  }
  for (uint32_t k = 0; k < s->form.n_out; ++k) {
    lilv_instance_connect_port(s->instance, audio + s->form.n_in + k, out[k]);
  }
  lilv_instance_run(s->instance, n);
}

double
subject_pass(const subject*      s,
             const float* const* in,
             uint32_t            n_frames,
             uint32_t            block)
{
  static float output[MAX_CHANNELS][1024];
  float* const out[] = {output[0], output[1]};

  const double start = bench_now_ns();
  for (uint32_t at = 0; at + block <= n_frames; at += block) {
    const float* const here[] = {in[0] + at, in[1] + at};
    subject_run(s, here, out, block);
  }
  return (bench_now_ns() - start) / (double)(n_frames - n_frames % block);
}

void
chain_open(chain* c, const bench_bundle* b, uint32_t form, double rate_hz)
{
  const plugin* p = NULL;
  c->n            = 0;
  for (uint32_t i = 0; (p = shell_plugin(i)); ++i) {
    if (p->forms != FORMS_TRACK) {
      continue;
    }
    if (c->n == CHAIN_MAX_STAGES) {
      fprintf(stderr, "bench: more track stages than CHAIN_MAX_STAGES\n");
      exit(1);
    }
    subject_open(&c->stage[c->n++], b, p, form, rate_hz);
  }
}

void
chain_close(chain* c)
{
  for (uint32_t i = 0; i < c->n; ++i) {
    subject_close(&c->stage[i]);
  }
}

void
chain_run(const chain* c, float (*x)[1024], uint32_t n)
{
  const float* const in[]  = {x[0], x[1]};
  float* const       out[] = {x[0], x[1]};
  for (uint32_t i = 0; i < c->n; ++i) {
    subject_run(&c->stage[i], in, out, n);
  }
}

double
chain_pass(const chain* c, uint32_t n_frames, uint32_t block)
{
  float        x[MAX_CHANNELS][1024];
  const double start = bench_now_ns();
  for (uint32_t at = 0; at + block <= n_frames; at += block) {
    for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
      memcpy(x[k], bench_input[k] + at, block * sizeof(float));
    }
    chain_run(c, x, block);
  }
  return (bench_now_ns() - start) / (double)(n_frames - n_frames % block);
}
