// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "shell.h"

#include "plugin_list.h"

#include "common/delay.h"
#include "common/denormals.h"
#include "common/glide.h"
#include "common/level.h"

#include <assert.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MAX_PARAMS      40
#define MAX_METERS      16
#define MAX_DESCRIPTORS 32

/// Longest latency that the bypass can follow
#define DRY_FRAMES 1024

PARAMS_DEFINE(shell, SHELL_PARAMS)
METERS_DEFINE(shell, SHELL_METERS)

#define DECLARE_PLUGIN(x)  extern const plugin x##_plugin;
#define POINT_TO_PLUGIN(x) &x##_plugin,

PLUGIN_LIST(DECLARE_PLUGIN)

static const plugin* const plugins[] = {PLUGIN_LIST(POINT_TO_PLUGIN) NULL};

/// The way around the stage: the untreated signal, as late as the treated one
typedef struct {
  glide    wet; ///< 1 treated, 0 untreated
  ramp     wet_ramp;
  glide    turn; ///< From the old latency, 0, to the present one, 1
  ramp     turn_ramp;
  uint32_t latency, old_latency;
  delay    line[MAX_CHANNELS];
  float    memory[MAX_CHANNELS][DRY_FRAMES];
} bypass;

typedef struct {
  plugin_form form;
  stage       st;
  bool        fresh; ///< No frame since activate()
  double      glide_share;

  const float* control[MAX_PARAMS];
  float*       meter[MAX_METERS];
  const float* in[MAX_CHANNELS];
  float*       out[MAX_CHANNELS];

  float  values[MAX_PARAMS]; ///< Controls as taken, shell's first
  glide  trim;               ///< In dB
  ramp   trim_ramp;
  bypass by;
  level  level_in, level_out;

  max_align_t state[]; ///< The stage's
} instance;

/// The frames of one chunk, up to the next grid line
typedef struct {
  float in[MAX_CHANNELS][CONTROL_FRAMES];
  float dry[MAX_CHANNELS][CONTROL_FRAMES];
  float out[MAX_CHANNELS][CONTROL_FRAMES];
} chunk;

// ---------------------------------------------------------------------------
// Tables

const plugin*
shell_plugin(uint32_t n)
{
  const uint32_t count = sizeof(plugins) / sizeof(plugins[0]) - 1;
  return n < count ? plugins[n] : NULL;
}

uint32_t
shell_form_count(const plugin* p)
{
  return p->forms == FORMS_BUS ? 1 : 2;
}

plugin_form
shell_form(const plugin* p, uint32_t i)
{
  plugin_form f = {.plugin = p, .is_stereo_form = i == 1};

  f.n_in  = (i == 1 || p->forms == FORMS_BUS) ? 2 : 1;
  f.n_out = (i == 1 || p->forms != FORMS_TRACK) ? 2 : 1;
  (void)snprintf(f.uri,
                 sizeof(f.uri),
                 SHELL_URI_PREFIX "%s%s",
                 p->stem,
                 i == 1 ? "-stereo" : "");
  return f;
}

uint32_t
shell_param_count(const plugin* p)
{
  return shell_n_params + p->ops->n_params;
}

const param_info*
shell_param(const plugin* p, uint32_t i)
{
  return i < shell_n_params ? &shell_param_info[i]
                            : &p->ops->params[i - shell_n_params];
}

uint32_t
shell_meter_count(const plugin* p)
{
  return shell_n_meters + p->ops->n_meters;
}

const meter_info*
shell_meter(const plugin* p, uint32_t i)
{
  return i < shell_n_meters ? &shell_meter_info[i]
                            : &p->ops->meters[i - shell_n_meters];
}

// ---------------------------------------------------------------------------
// Controls

/// Any float to a value in range: NaN is the default, a toggle is on above 0
static float
control_value(const param_info* info, const float* port)
{
  const float x = port ? *port : info->def;
  if (!(x == x)) {
    return info->def;
  }
  if (info->kind == PARAM_TOG) {
    return x > 0.0f ? 1.0f : 0.0f;
  }
  const float y = clampf(x, info->min, info->max);
  return info->kind == PARAM_SEL ? roundf(y) : y;
}

/// Read all ports; true if a control of the stage is new
static bool
read_controls(instance* self)
{
  const plugin*  p       = self->form.plugin;
  const uint32_t n       = shell_param_count(p);
  bool           changed = false;

  for (uint32_t i = 0; i < n; ++i) {
    const float v = control_value(shell_param(p, i), self->control[i]);
    if (v != self->values[i]) {
      self->values[i] = v;
      changed         = changed || i >= shell_n_params;
    }
  }
  return changed;
}

/// The shell's own controls, which are the first floats of `values`
static shell_params
shell_values(const instance* self)
{
  shell_params p;
  memcpy(&p, self->values, sizeof(p));
  return p;
}

static void
take_controls(instance* self)
{
  const bool         changed = read_controls(self);
  const shell_params p       = shell_values(self);

  glide_set(&self->trim, (double)p.trim_db);
  glide_set(&self->by.wet, (double)p.enabled);
  if (changed || self->fresh) {
    stage_set(&self->st, self->values + shell_n_params);
  }
}

/// Whether anything moves or not, be where the controls say
static void
settle(instance* self)
{
  stage_reset(&self->st);
  glide_snap(&self->trim);
  ramp_snap(&self->trim_ramp, db_to_gain(self->trim.y));
  level_reset(&self->level_in);
  level_reset(&self->level_out);

  bypass* const by = &self->by;
  by->latency      = self->st.ops->latency_frames(self->st.state);
  by->old_latency  = by->latency;
  assert(by->latency <= DRY_FRAMES - CONTROL_FRAMES);
  glide_snap(&by->wet);
  ramp_snap(&by->wet_ramp, by->wet.y);
  by->turn.target = 1.0;
  glide_snap(&by->turn);
  ramp_snap(&by->turn_ramp, 1.0);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_reset(&by->line[k]);
  }
}

/// A new latency: turn from the old tap of the dry line to the new one
static void
follow_latency(instance* self)
{
  bypass* const  by      = &self->by;
  const uint32_t latency = self->st.ops->latency_frames(self->st.state);
  if (latency == by->latency) {
    return;
  }
  by->old_latency = by->latency;
  by->latency     = latency;
  by->turn        = (glide){.target = 1.0, .moving = true};
  ramp_snap(&by->turn_ramp, 0.0);
}

// ---------------------------------------------------------------------------
// Audio

/// Copy the inputs, so that overlapping buffers of the host do no harm, and
/// keep out what no filter could forget
static void
read_inputs(const instance* self, chunk* c, uint32_t done, uint32_t n)
{
  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    const float* in = self->in[k < self->form.n_in ? k : 0] + done;
    for (uint32_t i = 0; i < n; ++i) {
      const float x = in[i];
      const float y = clampf(x, -STAGE_INPUT_LIMIT, STAGE_INPUT_LIMIT);
      c->in[k][i]   = x - x == 0.0f ? y : 0.0f; // False for NaN and infinity
    }
  }
}

/// One line of the control grid
static void
control_line(instance* self)
{
  bypass* const by    = &self->by;
  const double  share = self->glide_share;

  level_control(&self->level_in);
  level_control(&self->level_out);
  (void)ramp_push(&self->trim_ramp, db_to_gain(glide_next(&self->trim, share)));
  (void)ramp_push(&by->wet_ramp, glide_next(&by->wet, share));
  (void)ramp_push(&by->turn_ramp, glide_next(&by->turn, share));
}

/// The untreated signal of one channel, late by the latency
static void
run_dry(bypass* by, uint32_t k, const float* in, float* dry, uint32_t n)
{
  delay_process(&by->line[k], by->latency, in, dry, n);
  if (!ramp_rests_at(&by->turn_ramp, 1.0f)) {
    ramp turn = by->turn_ramp; // Each channel walks the same ramp
    for (uint32_t i = 0; i < n; ++i) {
      const float old = delay_tap(&by->line[k], by->old_latency, i, n);
      dry[i]          = old + ramp_next(&turn) * (dry[i] - old);
    }
  }
}

/// Treated and trimmed, untreated, or on the way from one to the other
static void
mix_outputs(instance* self, chunk* c, uint32_t n)
{
  float trim[CONTROL_FRAMES];
  float wet[CONTROL_FRAMES];
  ramp_fill(&self->trim_ramp, trim, n);
  ramp_fill(&self->by.wet_ramp, wet, n);

  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    float* const       out = c->out[k];
    const float* const dry = c->dry[k];
    if (ramp_rests_at(&self->by.wet_ramp, 0.0f)) {
      memcpy(out, dry, n * sizeof(float));
    } else if (ramp_rests_at(&self->by.wet_ramp, 1.0f)) {
      for (uint32_t i = 0; i < n; ++i) {
        out[i] *= trim[i];
      }
    } else {
      for (uint32_t i = 0; i < n; ++i) {
        out[i] = dry[i] + wet[i] * (out[i] * trim[i] - dry[i]);
      }
    }
  }
}

/// `n` frames from `done` on, up to the next grid line
static void
run_chunk(instance* self, uint32_t done, uint32_t n)
{
  const uint32_t n_channels = self->form.n_out;
  chunk          c;

  if (self->st.phase == 0) {
    control_line(self);
  }
  read_inputs(self, &c, done, n);

  const float* in[MAX_CHANNELS]  = {c.in[0], c.in[1]};
  float*       out[MAX_CHANNELS] = {c.out[0], c.out[1]};
  for (uint32_t k = 0; k < n_channels; ++k) {
    level_add(&self->level_in, in[k], n);
    run_dry(&self->by, k, in[k], c.dry[k], n);
  }
  ramp_skip(&self->by.turn_ramp, n);
  stage_process(&self->st, in, out, n_channels, n);
  mix_outputs(self, &c, n);

  for (uint32_t k = 0; k < n_channels; ++k) {
    level_add(&self->level_out, out[k], n);
    memcpy(self->out[k] + done, out[k], n * sizeof(float));
  }
}

static void
write_meters(instance* self)
{
  const plugin* p                  = self->form.plugin;
  float         values[MAX_METERS] = {0};
  shell_meters  m;

  m.in_db          = (float)level_db(&self->level_in, self->form.n_out);
  m.out_db         = (float)level_db(&self->level_out, self->form.n_out);
  m.latency_frames = (float)self->by.latency;
  memcpy(values, &m, sizeof(m));
  if (p->ops->meter) {
    p->ops->meter(self->st.state, values + shell_n_meters);
  }
  for (uint32_t i = 0; i < shell_meter_count(p); ++i) {
    if (self->meter[i]) {
      *self->meter[i] = values[i];
    }
  }
}

// ---------------------------------------------------------------------------
// LV2

static LV2_Descriptor descriptors[MAX_DESCRIPTORS];
static plugin_form    forms[MAX_DESCRIPTORS];
static uint32_t       n_descriptors;
static pthread_once_t descriptors_once = PTHREAD_ONCE_INIT;

static LV2_Handle
instantiate(const LV2_Descriptor*     descriptor,
            double                    rate_hz,
            const char*               bundle_path,
            const LV2_Feature* const* features)
{
  (void)bundle_path;
  (void)features; // None is needed

  const plugin_form* form = &forms[descriptor - descriptors];
  const stage_ops*   ops  = form->plugin->ops;
  instance*          self = calloc(1, sizeof(instance) + ops->size);
  if (!self) {
    return NULL;
  }

  self->form = *form;
  if (!stage_init(&self->st, ops, self->state, rate_hz, form->n_out)) {
    free(self);
    return NULL;
  }
  self->glide_share = glide_share(rate_hz);
  level_init(&self->level_in, rate_hz);
  level_init(&self->level_out, rate_hz);
  for (uint32_t k = 0; k < MAX_CHANNELS; ++k) {
    delay_init(&self->by.line[k], self->by.memory[k], DRY_FRAMES);
  }
  self->fresh = true;
  return self;
}

static void
connect_port(LV2_Handle handle, uint32_t port, void* data)
{
  instance* const   self     = (instance*)handle;
  const plugin_form f        = self->form;
  const uint32_t    n_params = shell_param_count(f.plugin);
  const uint32_t    n_meters = shell_meter_count(f.plugin);

  if (port < n_params) {
    self->control[port] = (const float*)data;
    return;
  }
  port -= n_params;
  if (port < n_meters) {
    self->meter[port] = (float*)data;
    return;
  }
  port -= n_meters;
  if (port < f.n_in) {
    self->in[port] = (const float*)data;
  } else if (port - f.n_in < f.n_out) {
    self->out[port - f.n_in] = (float*)data;
  }
}

static void
activate(LV2_Handle handle)
{
  ((instance*)handle)->fresh = true;
}

static void
run(LV2_Handle handle, uint32_t n_frames)
{
  instance* const self = (instance*)handle;
  const fp_mode   mode = denormals_flush();

  take_controls(self);
  if (self->fresh) {
    settle(self);
    self->fresh = false;
  }
  follow_latency(self);
  for (uint32_t done = 0; done < n_frames;) {
    const uint32_t line = CONTROL_FRAMES - self->st.phase;
    const uint32_t n    = n_frames - done < line ? n_frames - done : line;
    run_chunk(self, done, n);
    done += n;
  }
  write_meters(self);
  denormals_restore(mode);
}

static void
cleanup(LV2_Handle handle)
{
  free(handle);
}

static void
fill_descriptors(void)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      assert(n_descriptors < MAX_DESCRIPTORS);
      assert(shell_param_count(p) <= MAX_PARAMS);
      assert(shell_meter_count(p) <= MAX_METERS);
      forms[n_descriptors]       = shell_form(p, i);
      descriptors[n_descriptors] = (LV2_Descriptor){
        .URI          = forms[n_descriptors].uri,
        .instantiate  = instantiate,
        .connect_port = connect_port,
        .activate     = activate,
        .run          = run,
        .cleanup      = cleanup,
      };
      ++n_descriptors;
    }
  }
}

const LV2_Descriptor*
shell_descriptor(uint32_t index)
{
  (void)pthread_once(&descriptors_once, fill_descriptors);
  return index < n_descriptors ? &descriptors[index] : NULL;
}
