// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// host_feed [-r] INPUTS OUTPUTS N_OUT IN.wav OUT.wav
///
/// Plays IN.wav into a JACK client and records its output in the same cycles,
/// as fast as possible (freewheeling: nothing is late, nothing is lost).
///
/// INPUTS and OUTPUTS are regular expressions for the names of its ports.
///
/// -r: plays in real time, after a pause.  PipeWire takes its time to connect,
/// and does not always let the client freewheel along.
///
/// Uses two clients, one before and one after: a single one would close a loop,
/// which JACK would break by a delay of one period.

#include <jack/jack.h>

#include <sndfile.h>

#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define MAX_CHANNELS 2
#define WAIT_MS      20000
#define SETTLE_MS    700

typedef struct {
  jack_client_t* client;
  int            n_ports;
  jack_port_t*   port[MAX_CHANNELS];
  SF_INFO        info;
  float*         x; ///< Interleaved
} side;

static side             player, recorder;
static atomic_bool      go;
static _Atomic uint32_t start_frame;
static atomic_bool      has_started;
static atomic_long      n_recorded;

static void
give_up(const char* what)
{
  fprintf(stderr, "host_feed: %s\n", what);
  exit(2);
}

static void
wait_ms(long ms)
{
  nanosleep(&(struct timespec){ms / 1000, ms % 1000 * 1000000}, NULL);
}

static int
play(jack_nframes_t n, void* data)
{
  static long at = 0;
  (void)data;
  if (atomic_load(&go) && !at) {
    atomic_store(&start_frame, jack_last_frame_time(player.client));
    atomic_store(&has_started, true);
  }
  for (int k = 0; k < player.n_ports; ++k) {
    float* const y = (float*)jack_port_get_buffer(player.port[k], n);
    for (uint32_t i = 0; i < n; ++i) {
      const bool is_sound =
        atomic_load(&has_started) && at + i < player.info.frames;
      y[i] = is_sound ? player.x[(at + i) * player.n_ports + k] : 0.0F;
    }
  }
  at += atomic_load(&has_started) ? (long)n : 0;
  return 0;
}

static int
record(jack_nframes_t n, void* data)
{
  (void)data;
  if (!atomic_load(&has_started)) {
    return 0;
  }
  const uint32_t at =
    jack_last_frame_time(recorder.client) - atomic_load(&start_frame);
  for (int k = 0; k < recorder.n_ports; ++k) {
    const float* const y =
      (const float*)jack_port_get_buffer(recorder.port[k], n);
    for (uint32_t i = 0; i < n && at + i < recorder.info.frames; ++i) {
      recorder.x[(at + i) * recorder.n_ports + k] = y[i];
    }
  }
  atomic_store(&n_recorded, (long)at + n);
  return 0;
}

/// Returns the ports of a client once all `n` are there; free with jack_free()
static const char**
ports_of(jack_client_t* c, const char* pattern, unsigned long direction, int n)
{
  for (int ms = 0; ms < WAIT_MS; ms += 10) {
    const char** const ports =
      jack_get_ports(c, pattern, JACK_DEFAULT_AUDIO_TYPE, direction);
    int found = 0;
    while (ports && ports[found]) {
      ++found;
    }
    if (found == n) {
      return ports;
    }
    jack_free((void*)ports);
    wait_ms(10);
  }
  give_up("no client with these ports");
  return NULL;
}

/// A client's ports appear before they can be connected: tries again
static void
connect(jack_client_t* c, const char* from, const char* to)
{
  int ms = 0;
  while (ms < WAIT_MS && jack_connect(c, from, to)) {
    wait_ms(10);
    ms += 10;
  }
  if (ms >= WAIT_MS) {
    give_up("cannot connect");
  }
}

static void
side_open(side* s, const char* name, JackProcessCallback process)
{
  s->client = jack_client_open(name, JackNoStartServer, NULL);
  if (!s->client || jack_set_process_callback(s->client, process, NULL)) {
    give_up("no JACK server");
  }
}

/// Connects ports of our own to those of the client, whose direction is
/// `theirs`
static void
side_connect(side* s, const char* pattern, unsigned long theirs)
{
  const bool feeds = theirs == JackPortIsInput;
  if (s->n_ports < 1 || s->n_ports > MAX_CHANNELS) {
    give_up("expected one or two channels");
  }
  for (int k = 0; k < s->n_ports; ++k) {
    char name[8];
    snprintf(name, sizeof(name), "%d", k);
    s->port[k] =
      jack_port_register(s->client, name, JACK_DEFAULT_AUDIO_TYPE,
                         feeds ? JackPortIsOutput : JackPortIsInput, 0);
  }
  if (jack_activate(s->client)) {
    give_up("cannot activate");
  }
  const char** const ports = ports_of(s->client, pattern, theirs, s->n_ports);
  for (int k = 0; k < s->n_ports; ++k) {
    const char* const mine = jack_port_name(s->port[k]);
    connect(s->client, feeds ? mine : ports[k], feeds ? ports[k] : mine);
  }
  jack_free((void*)ports);
}

static float*
zeros(const side* s)
{
  float* const x =
    (float*)calloc((size_t)s->info.frames * s->n_ports, sizeof(float));
  if (!x) {
    give_up("out of memory");
  }
  return x;
}

static void
read_sound(side* s, const char* path)
{
  SNDFILE* const file = sf_open(path, SFM_READ, &s->info);
  if (!file || !s->info.frames) {
    give_up(path);
  }
  s->n_ports = s->info.channels;
  s->x       = zeros(s);
  if (sf_readf_float(file, s->x, s->info.frames) != s->info.frames) {
    give_up(path);
  }
  sf_close(file);
}

static void
write_sound(const side* s, const char* path)
{
  SF_INFO        info = {.channels   = s->n_ports,
                         .samplerate = s->info.samplerate,
                         .format     = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
  SNDFILE* const file = sf_open(path, SFM_WRITE, &info);
  if (!file || sf_writef_float(file, s->x, s->info.frames) != s->info.frames ||
      sf_close(file)) {
    give_up(path);
  }
}

int
main(int argc, char** argv)
{
  const bool is_real_time = argc > 1 && !strcmp(argv[1], "-r");
  argv += is_real_time;
  argc -= is_real_time;
  if (argc != 6) {
    fprintf(stderr, "usage: host_feed [-r] INPUTS OUTPUTS N_OUT IN OUT\n");
    return 2;
  }
  read_sound(&player, argv[4]);
  recorder.info    = player.info;
  recorder.n_ports = (int)strtol(argv[3], NULL, 10);
  recorder.x       = zeros(&recorder);
  side_open(&player, "feed", play);
  side_open(&recorder, "catch", record);
  side_connect(&recorder, argv[2], JackPortIsOutput);
  side_connect(&player, argv[1], JackPortIsInput);
  if (jack_get_sample_rate(player.client) != (uint32_t)player.info.samplerate) {
    give_up("the server's rate is not that of the file");
  }
  if (is_real_time) {
    wait_ms(SETTLE_MS);
  } else if (jack_set_freewheel(player.client, 1)) {
    give_up("cannot freewheel");
  }
  wait_ms(10);
  atomic_store(&go, true);
  int ms = 0;
  for (; ms < WAIT_MS && atomic_load(&n_recorded) < recorder.info.frames;
       ms += 10) {
    wait_ms(10);
  }
  if (!is_real_time) {
    jack_set_freewheel(player.client, 0);
  }
  jack_client_close(recorder.client);
  jack_client_close(player.client);
  if (ms >= WAIT_MS) {
    give_up("nothing came back");
  }
  write_sound(&recorder, argv[5]);
  return 0;
}
