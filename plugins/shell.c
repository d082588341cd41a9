// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "shell.h"

#include "bypass.h"

#include "plugin_list.h"

#include "common/core/denormals.h"
#include "common/core/glide.h"
#include "common/level/level_change.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

// NOLINTNEXTLINE(bugprone-macro-parentheses): a term of a sum
#define COUNT_PLUGIN(x) +1

enum {
  MAX_PARAMS      = shell_n_params + PARAMS_MAX,
  MAX_METERS      = shell_n_meters + METERS_MAX,
  MAX_DESCRIPTORS = 2 * (0 PLUGIN_LIST(COUNT_PLUGIN))
};

/// Bits of a NaN, which also asks for the default
#define UNCONNECTED UINT32_MAX

/// The frames of one chunk, up to the next grid line
typedef struct {
  float in[MAX_CHANNELS][CONTROL_FRAMES];
  float dry[MAX_CHANNELS][CONTROL_FRAMES];
  float out[MAX_CHANNELS][CONTROL_FRAMES];
} chunk;

typedef struct {
  void*       memory; ///< For free()
  plugin_form form;
  uint32_t    n_params, n_shown, n_meters;
  stage       st;
  bool        fresh;  ///< No frame played since activate()
  bool        is_due; ///< Meters are renewed at the end of run()
  double      glide_share;

  const float* control[MAX_PARAMS];
  float*       meter[MAX_METERS];
  const float* in[MAX_CHANNELS];
  float*       out[MAX_CHANNELS];

  uint32_t     port_bits[MAX_PARAMS]; ///< Last bits on the control ports
  float        values[MAX_PARAMS];    ///< Their values
  glide        trim;                  ///< In dB
  ramp         trim_ramp;
  bypass       by;
  level_change levels;
  chunk        scratch; ///< For run_chunk()

  _Alignas(STAGE_ALIGNMENT) unsigned char state[]; ///< The stage's
} instance;

// ---------------------------------------------------------------------------
// Controls

/// Maps any float into the range: NaN is the default, a toggle is on above 0
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

static uint32_t
bits_of(float x)
{
  uint32_t bits;
  memcpy(&bits, &x, sizeof(bits));
  return bits;
}

/// Whether any control has changed, and whether any of the stage's has
typedef struct {
  bool any, stage;
} news;

/// Reads all control ports that are for people
static news
read_controls(instance* self)
{
  const plugin* p    = self->form.plugin;
  news          what = {false, false};

  for (uint32_t i = 0; i < self->n_shown; ++i) {
    const float* const port = self->control[i];
    const uint32_t     bits = port ? bits_of(*port) : UNCONNECTED;
    if (bits == self->port_bits[i] && !self->fresh) {
      continue; // Unchanged, NaN or not
    }
    const float v = control_value(shell_param(p, i), port);
    if (v != self->values[i]) {
      what.any   = true;
      what.stage = what.stage || shell_param_is_stages(p, i);
    }
    self->values[i]    = v;
    self->port_bits[i] = bits;
  }
  return what;
}

/// The shell's own controls, which lie around the stage's
static shell_params
shell_values(const instance* self)
{
  shell_params p   = {0};
  float* const own = (float*)(void*)&p;
  memcpy(own, self->values, SHELL_FIRST_PARAMS * sizeof(float));
  memcpy(own + SHELL_FIRST_PARAMS, self->values + self->n_shown - SHELL_N_LAST,
         SHELL_N_LAST * sizeof(float));
  return p;
}

static void
snap_trim(instance* self)
{
  glide_snap(&self->trim);
  ramp_snap(&self->trim_ramp, db_to_gain(self->trim.y));
}

/// Jumps to where the controls are, even from the middle of a glide
static void
settle(instance* self)
{
  stage_reset(&self->st);
  snap_trim(self);
  bypass_reset(&self->by, self->st.ops->latency_frames(self->st.state));
  level_change_reset(&self->levels);
}

/// Does the same when the sound begins after a rest, but for what was measured
static void
wake(instance* self)
{
  stage_wake(&self->st);
  snap_trim(self);
  bypass_wake(&self->by, self->st.ops->latency_frames(self->st.state),
              self->trim.y);
  self->is_due = true;
}

static void
take_controls(instance* self)
{
  const news what = read_controls(self);
  if (!what.any && !self->fresh) {
    return;
  }
  self->is_due = true;

  const shell_params p = shell_values(self);
  glide_set(&self->trim, (double)p.trim_db);
  bypass_set(&self->by, p.enabled > 0.0f, p.match_bypass > 0.0f);
  if (what.stage || self->fresh) {
    stage_set(&self->st, self->values + SHELL_FIRST_PARAMS);
  }
  if (self->fresh) {
    settle(self);
    self->fresh = false;
  } else {
    level_change_restart(&self->levels);
    if (what.stage) {
      bypass_restart(&self->by);
    }
    bypass_follow(&self->by, self->st.ops->latency_frames(self->st.state));
  }
}

// ---------------------------------------------------------------------------
// Audio

/// Copies the inputs, so that the host's buffers may overlap.  Replaces NaN,
/// infinity and anything beyond the limit with silence: they would ring on in a
/// reverb or a slow detector.
static void
read_inputs(const instance* self, chunk* c, uint32_t done, uint32_t n)
{
  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    const float* in = self->in[k < self->form.n_in ? k : 0] + done;
    for (uint32_t i = 0; i < n; ++i) {
      const float x = in[i];
      c->in[k][i]   = fabsf(x) <= STAGE_INPUT_LIMIT ? x : 0.0f; // NaN: false
    }
  }
}

/// Counts the frames from `done` on that read_inputs() makes zeros of
static uint32_t
silent_frames(const instance* self, uint32_t done, uint32_t n)
{
  for (uint32_t k = 0; k < self->form.n_in; ++k) {
    const float* const in = self->in[k] + done;
    uint32_t           i  = 0;
    while (i < n && (in[i] == 0.0f || !(fabsf(in[i]) <= STAGE_INPUT_LIMIT))) {
      ++i;
    }
    n = i;
  }
  return n;
}

/// Stands with the stage until a sound begins.  Returns the frames of silence
/// passed.
static uint32_t
stand(instance* self, uint32_t done, uint32_t n)
{
  const uint32_t silent = silent_frames(self, done, n);
  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    memset(self->out[k] + done, 0, silent * sizeof(float));
  }
  self->is_due = self->is_due || self->st.is_stale; // It gets ready for them
  stage_pass(&self->st, silent);
  if (silent < n) {
    wake(self);
  }
  return silent;
}

/// One line of the control grid
static void
control_line(instance* self)
{
  const bool   is_moving = self->trim.moving || self->trim_ramp.moving;
  const double trim_db   = glide_next(&self->trim, self->glide_share);

  if (is_moving) {
    (void)ramp_push(&self->trim_ramp, db_to_gain(trim_db));
  }
  bypass_control(&self->by, trim_db);
  self->is_due = level_change_control(&self->levels) || self->is_due;
}

static void
apply_trim(instance* self, float* const* out, uint32_t n)
{
  if (ramp_rests_at(&self->trim_ramp, 1.0f)) {
    return;
  }
  float gain[CONTROL_FRAMES];
  ramp_values(&self->trim_ramp, gain, n);
  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] *= gain[i];
    }
  }
}

/// Nothing to do where the processor's mode does it
static void
clear_denormals(const instance* self, float* const* out, uint32_t n)
{
  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    for (uint32_t i = 0; i < n; ++i) {
      out[k][i] = denormals_clear(out[k][i]);
    }
  }
}

/// Runs `n` frames from `done` on, at most up to the next grid line
static void
run_chunk(instance* self, uint32_t done, uint32_t n)
{
  chunk* const       c     = &self->scratch;
  const float* const in[]  = {c->in[0], c->in[1]};
  float* const       dry[] = {c->dry[0], c->dry[1]};
  float* const       out[] = {c->out[0], c->out[1]};

  if (self->st.phase == 0) {
    control_line(self);
  }
  read_inputs(self, c, done, n);
  bypass_delay(&self->by, in, dry, n);
  stage_process(&self->st, in, out, self->form.n_out, n);
  bypass_listen(&self->by, (const float* const*)dry, (const float* const*)out,
                n);
  apply_trim(self, out, n);
  clear_denormals(self, out, n);
  bypass_mix(&self->by, (const float* const*)dry, out, n);
  level_change_add(&self->levels, in, (const float* const*)out, n);
  for (uint32_t k = 0; k < self->form.n_out; ++k) {
    // NOLINTNEXTLINE(clang-analyzer-core.CallAndMessage): n_out is 1 or 2
    memcpy(self->out[k] + done, out[k], n * sizeof(float));
  }
}

/// Renews the meters.  They are due when a bin of the levels has closed, every
/// 10 ms or so, which is sooner than anybody sees; and at once when a control
/// has moved, the stage stops or begins, or a port is connected.
static void
write_meters(instance* self)
{
  self->is_due                     = false;
  const plugin* p                  = self->form.plugin;
  float         values[MAX_METERS] = {0};

  const shell_meters m = {
    .in_db          = (float)level_db(&self->levels.in.now, self->form.n_out),
    .out_db         = (float)level_db(&self->levels.out.now, self->form.n_out),
    .change_db      = (float)self->levels.db,
    .latency_frames = (float)self->by.latency,
    .match_db       = (float)bypass_match_db(&self->by),
  };
  memcpy(values, &m, sizeof(m));
  if (p->ops->meter) {
    p->ops->meter(self->st.state, values + shell_n_meters);
  }
  for (uint32_t i = 0; i < self->n_meters; ++i) {
    const meter_info* const info = shell_meter(p, i);
    if (self->meter[i]) { // Hosts scale their displays by the range
      *self->meter[i] = clampf(values[i], info->min, info->max);
    }
  }
}

// ---------------------------------------------------------------------------
// LV2

static LV2_Descriptor descriptors[MAX_DESCRIPTORS];
static plugin_form    forms[MAX_DESCRIPTORS];
static uint32_t       n_descriptors;
static pthread_once_t descriptors_once = PTHREAD_ONCE_INIT;

/// An instance of zeros with `state_size` behind it, aligned for both; NULL
/// without memory
static instance*
allocate(size_t state_size)
{
  const size_t size   = sizeof(instance) + state_size;
  char* const  memory = calloc(1, size + STAGE_ALIGNMENT - 1U);
  if (!memory) {
    return NULL;
  }
  const size_t    past = (uintptr_t)memory % STAGE_ALIGNMENT;
  instance* const self =
    (instance*)(void*)(memory + (past ? STAGE_ALIGNMENT - past : 0U));
  self->memory = memory;
  return self;
}

static instance*
make_instance(const plugin_form* form, double rate_hz)
{
  const stage_ops* ops  = form->plugin->ops;
  instance*        self = allocate(ops->size);
  if (!self) {
    return NULL;
  }

  self->form = *form;
  if (!stage_init(&self->st, ops, self->state, rate_hz, form->n_out)) {
    free(self->memory);
    return NULL;
  }
  self->n_params    = shell_param_count(form->plugin);
  self->n_shown     = shell_shown_count(form->plugin);
  self->n_meters    = shell_meter_count(form->plugin);
  self->glide_share = glide_share(rate_hz);
  bypass_init(&self->by, rate_hz, form->n_out);
  level_change_init(&self->levels, rate_hz, form->n_out);
  self->fresh = true;
  return self;
}

static LV2_Handle
instantiate(const LV2_Descriptor*     descriptor,
            double                    rate_hz,
            const char*               bundle_path,
            const LV2_Feature* const* features)
{
  (void)bundle_path;
  (void)features; // None is needed

  const fp_mode   mode = denormals_keep();
  instance* const self =
    make_instance(&forms[descriptor - descriptors], rate_hz);
  denormals_restore(mode);
  return self;
}

static void
connect_port(LV2_Handle handle, uint32_t port, void* data) NONBLOCKING
{
  instance* const self  = (instance*)handle;
  const uint32_t  n_in  = self->form.n_in;
  const uint32_t  n_out = self->form.n_out;

  if (port < self->n_params) {
    self->control[port] = (const float*)data;
    return;
  }
  port -= self->n_params;
  if (port < self->n_meters) {
    self->meter[port] = (float*)data;
    self->is_due      = true;
    return;
  }
  port -= self->n_meters;
  if (port < n_in) {
    self->in[port] = (const float*)data;
  } else if (port - n_in < n_out) {
    self->out[port - n_in] = (float*)data;
  }
}

static void
activate(LV2_Handle handle)
{
  ((instance*)handle)->fresh = true;
}

static void
run(LV2_Handle handle, uint32_t n_frames) NONBLOCKING
{
  instance* const self = (instance*)handle;
  const fp_mode   mode = denormals_flush();

  take_controls(self);
  self->st.is_heard = !bypass_is_untreated(&self->by);
  for (uint32_t done = 0; done < n_frames;) {
    if (stage_stands(&self->st)) {
      done += stand(self, done, n_frames - done);
      continue;
    }
    const uint32_t line = CONTROL_FRAMES - self->st.phase;
    const uint32_t n    = n_frames - done < line ? n_frames - done : line;
    run_chunk(self, done, n);
    self->is_due = self->is_due || stage_stands(&self->st);
    done += n;
  }
  if (self->is_due) {
    write_meters(self);
  }
  denormals_restore(mode);
}

static void
cleanup(LV2_Handle handle)
{
  free(((instance*)handle)->memory);
}

static void
fill_descriptors(void)
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
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
