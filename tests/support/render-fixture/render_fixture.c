// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Plugins whose output is known to the bit, for the tests of the host: exact
/// delays, every kind of port, and each way of breaking a promise.  Their ports
/// are described in fixture.ttl.

#include <lv2/core/lv2.h>

#include <math.h>
#include <stdlib.h>
#include <time.h>

#define N_PORTS      11
#define DELAY_FRAMES 37

/// Ports of all of them, by index
enum {
  PORT_ENABLED,
  PORT_GAIN_DB,
  PORT_MODE,
  PORT_COUNT,
  PORT_VOLUME_M3,
  PORT_REDUCTION_DB,
  PORT_LATENCY,
  PORT_AUDIO, // Inputs, then outputs
};

typedef enum {
  DELAYS,   // By DELAY_FRAMES
  SPLITS,   // One channel into two, the second upside down
  BREAKS,   // Not a number from frame 1000 on
  SHIFTS,   // Another latency from frame 1000 on
  DAWDLES,  // 20 ms for each call
  DECLINES, // Cannot be instantiated
} behaviour;

typedef struct {
  LV2_Descriptor lv2;
  behaviour      does;
  int            n_in, n_out;
} fixture;

typedef struct {
  const fixture* kind;
  float*         ports[N_PORTS];
  float          line[2][DELAY_FRAMES];
  uint64_t       n_done;
} state;

static LV2_Handle
instantiate(const LV2_Descriptor*     descriptor,
            double                    rate_hz,
            const char*               path,
            const LV2_Feature* const* features)
{
  (void)rate_hz;
  (void)path;
  (void)features;
  // The descriptor is the first member
  const fixture* const kind = (const fixture*)(const void*)descriptor;
  state* const self = kind->does == DECLINES ? NULL : calloc(1, sizeof(state));
  if (self) {
    self->kind = kind;
  }
  return self;
}

static void
connect_port(LV2_Handle handle, uint32_t port, void* data)
{
  ((state*)handle)->ports[port] = data;
}

/// Returns the ports `enabled`, `gain_db` and `mode` as one factor
static float
factor(const state* self)
{
  if (*self->ports[PORT_ENABLED] <= 0.0F) {
    return 1.0F;
  }
  const float sign = *self->ports[PORT_MODE] == 1.0F ? -1.0F : 1.0F;
  return sign * powf(10.0F, *self->ports[PORT_GAIN_DB] / 20.0F);
}

static float
processed(state* self, int channel, float x, uint64_t frame)
{
  float* const kept = &self->line[channel][frame % DELAY_FRAMES];
  const float  late = *kept;
  *kept             = x;
  return self->kind->does == BREAKS && frame >= 1000 ? NAN : late;
}

static void
write_meters(const state* self)
{
  const int shifts = self->kind->does == SHIFTS && self->n_done >= 1000;
  *self->ports[PORT_REDUCTION_DB] = self->n_done < 96000 ? 3.0F : 1.0F;
  *self->ports[PORT_LATENCY]      = shifts ? 7.0F : DELAY_FRAMES;
}

static void
run(LV2_Handle handle, uint32_t n)
{
  state* const self = handle;
  const int    n_in = self->kind->n_in;
  const float  gain = factor(self);
  for (int k = 0; k < self->kind->n_out; ++k) {
    const float* const in   = self->ports[PORT_AUDIO + (k < n_in ? k : 0)];
    float* const       out  = self->ports[PORT_AUDIO + n_in + k];
    const float        sign = self->kind->does == SPLITS && k ? -1.0F : 1.0F;
    for (uint32_t i = 0; i < n; ++i) {
      out[i] = sign * gain * processed(self, k, in[i], self->n_done + i);
    }
  }
  self->n_done += n;
  write_meters(self);
  if (self->kind->does == DAWDLES && n) {
    (void)nanosleep(&(struct timespec){.tv_nsec = 20000000}, NULL);
  }
}

static void
cleanup(LV2_Handle handle)
{
  free(handle);
}

#define FIXTURE(uri, does, n_in, n_out) \
  {                                     \
    {"urn:fixture:" uri,                \
     instantiate,                       \
     connect_port,                      \
     NULL,                              \
     run,                               \
     NULL,                              \
     cleanup,                           \
     NULL},                             \
      does, n_in, n_out                 \
  }

static const fixture fixtures[] = {
  FIXTURE("delay", DELAYS, 1, 1),    FIXTURE("delay-stereo", DELAYS, 2, 2),
  FIXTURE("splitter", SPLITS, 1, 2), FIXTURE("widener", DELAYS, 2, 2),
  FIXTURE("breaker", BREAKS, 1, 1),  FIXTURE("shifter", SHIFTS, 1, 1),
  FIXTURE("dawdler", DAWDLES, 1, 1), FIXTURE("decliner", DECLINES, 1, 1),
  FIXTURE("demander", DELAYS, 1, 1),
};

LV2_SYMBOL_EXPORT const LV2_Descriptor*
lv2_descriptor(uint32_t index)
{
  return index < sizeof(fixtures) / sizeof(fixtures[0]) ? &fixtures[index].lv2
                                                        : NULL;
}
