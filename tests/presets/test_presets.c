// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// LV2 presets from setups: lilv finds them by name, and a host that loads one
/// plays what the renderer plays.  PRESETS is the program that makes them.

#include "tests/support/session_check.h"
#include "tests/support/setup_check.h"

#include <lilv/lilv.h>
#include <lv2/atom/atom.h>
#include <lv2/presets/presets.h>
#include <lv2/urid/urid.h>

#include <math.h>

#define USER_BUNDLE "dustcap-user-presets.lv2"
#define MAX_URIS    64
#define BLOCK       512

// ---------------------------------------------------------------------------
// A small host

static char* uris[MAX_URIS];
static LV2_URID
map_uri(LV2_URID_Map_Handle handle, const char* uri)
{
  (void)handle;
  for (LV2_URID i = 0; i < MAX_URIS; ++i) {
    if (!uris[i]) {
      uris[i] = strdup(uri);
    }
    if (!strcmp(uris[i], uri)) {
      return i + 1;
    }
  }
  fail_msg("too many URIs");
  return 0;
}

static LV2_URID_Map map = {NULL, map_uri};

/// Values of a preset, by control of a part
typedef struct {
  const part* part;
  float       values[64];
  bool        is_set[64];
  int         n_unknown;
} loaded;

static void
set_value(const char* symbol,
          void*       user,
          const void* value,
          uint32_t    size,
          uint32_t    type)
{
  loaded* const l = user;
  const int     i = part_control(l->part, symbol);
  if (i < 0) {
    ++l->n_unknown;
    return;
  }
  l->is_set[i] = true;
  // The only type that every host takes
  assert_int_equal(type, map_uri(NULL, LV2_ATOM__Float));
  assert_int_equal(size, sizeof(float));
  memcpy(&l->values[i], value, size);
}

/// Returns the preset of a label for a plugin, and how many have that label;
/// NULL if none has
static LilvState*
find_preset(const catalogue* c,
            const part_form* form,
            const char*      label,
            int*             n)
{
  LilvNode* const  kind  = lilv_new_uri(c->world, LV2_PRESETS__Preset);
  LilvNodes* const found = lilv_plugin_get_related(form->plugin, kind);
  LilvState*       first = NULL;
  *n                     = 0;
  LILV_FOREACH(nodes, i, found)
  {
    const LilvNode* const preset = lilv_nodes_get(found, i);
    assert_true(lilv_world_load_resource(c->world, preset) >= 0);
    LilvState* const state = lilv_state_new_from_world(c->world, &map, preset);
    assert_non_null(state);
    if (strcmp(lilv_state_get_label(state), label) != 0 || (*n)++ > 0) {
      lilv_state_free(state);
    } else {
      first = state;
    }
  }
  lilv_nodes_free(found);
  lilv_node_free(kind);
  return first;
}

/// Loads the preset of a label for a plugin; returns the number of presets with
/// that label
static int
load_preset(const catalogue* c,
            const part*      p,
            const part_form* form,
            const char*      label,
            loaded*          l)
{
  int              n     = 0;
  LilvState* const state = find_preset(c, form, label, &n);
  *l                     = (loaded){.part = p};
  if (state) {
    lilv_state_emit_port_values(state, set_value, l);
    lilv_state_free(state);
  }
  return n;
}

/// Values that belong to a track and not to its sound: its alignment, whether a
/// stage is on, how it is compared.  On its own, so that this list does not
/// follow that of the program.
static bool
is_of_track(const char* stem, const char* symbol)
{
  return !strcmp(symbol, "enabled") || !strcmp(symbol, "match_bypass") ||
         (!strcmp(stem, "di-cleanup") && !strcmp(symbol, "gain_db"));
}

// ---------------------------------------------------------------------------

/// Returns the name that dustcap-presets gives the bank of a file
static void
label_of(const char* file, char* label, size_t size)
{
  (void)snprintf(label, size, "%.*s", (int)(strlen(file) - 4), file);
  for (char* c = label; *c; ++c) {
    *c = *c == '-' ? ' ' : *c;
  }
  *label = (char)(*label - 'a' + 'A');
}

/// Calls a function for each shipped setup
static void
each_setup(void (*f)(const char* label, const char* path, const setup* s))
{
  DIR* const d = opendir(SETUP_DIR);
  int        n = 0;
  assert_non_null(d);
  for (const struct dirent* e = NULL; (e = readdir(d));) {
    if (strstr(e->d_name, ".ini")) {
      char    path[1024];
      char    label[64];
      setup   s;
      failure why = {""};
      (void)snprintf(path, sizeof(path), "%s/%s", SETUP_DIR, e->d_name);
      label_of(e->d_name, label, sizeof(label));
      if (!setup_load(&s, path, &parts, &why)) {
        fail_msg("%s", why.text);
      }
      f(label, path, &s);
      setup_clear(&s);
      ++n;
    }
  }
  (void)closedir(d);
  assert_true(n >= 21);
}

static void
check_complete(const char* label, const char* path, const setup* s)
{
  (void)path;
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    const part* const p = s->stages[i].part;
    for (uint32_t k = 0; k < p->n_forms; ++k) {
      loaded l;
      assert_int_equal(load_preset(&parts, p, &p->forms[k], label, &l), 1);
      assert_int_equal(l.n_unknown, 0);
      for (uint32_t j = 0; j < p->forms[0].n_controls; ++j) {
        const char* const symbol = p->forms[0].controls[j].symbol;
        const bool        is_in  = !is_of_track(p->stem, symbol);
        if (l.is_set[j] != is_in ||
            (is_in && l.values[j] != s->stages[i].values[j])) {
          fail_msg("%s, %s of %s: %.9g, want %.9g", label, symbol, p->stem,
                   (double)l.values[j], (double)s->stages[i].values[j]);
        }
      }
    }
  }
}

/// Every control of every stage of every setup, to the bit, but none of those
/// that belong to the track
static void
factory_presets_are_complete(void** state)
{
  (void)state;
  each_setup(check_complete);
}

/// Plays through one plugin as a host does after loading a preset
static uint32_t
play_preset(const part*  p,
            const char*  label,
            float* const x[2],
            uint32_t     n_channels,
            uint32_t     n)
{
  const part_form* form = NULL;
  for (uint32_t k = 0; k < p->n_forms; ++k) {
    form = p->forms[k].n_in == n_channels ? &p->forms[k] : form;
  }
  assert_non_null(form);
  loaded l;
  assert_int_equal(load_preset(&parts, p, form, label, &l), 1);
  static const LV2_Feature* const none[] = {NULL};
  LilvInstance* const             instance =
    lilv_plugin_instantiate(form->plugin, RATE_HZ, none);
  assert_non_null(instance);
  float latency = 0.0F;
  float other   = 0.0F;
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    if (!l.is_set[i]) {
      l.values[i] = form->controls[i].def;
    }
    lilv_instance_connect_port(instance, form->controls[i].index, &l.values[i]);
  }
  for (uint32_t i = 0; i < form->n_meters; ++i) {
    lilv_instance_connect_port(
      instance, form->meters[i].index,
      form->meters[i].index == form->latency_port ? &latency : &other);
  }
  lilv_instance_activate(instance);
  for (uint32_t i = 0; i < n; i += BLOCK) {
    for (uint32_t k = 0; k < form->n_in; ++k) {
      lilv_instance_connect_port(instance, form->in[k], x[k] + i);
    }
    for (uint32_t k = 0; k < form->n_out; ++k) {
      lilv_instance_connect_port(instance, form->out[k], x[k] + i);
    }
    lilv_instance_run(instance, n - i < BLOCK ? n - i : BLOCK);
  }
  lilv_instance_deactivate(instance);
  lilv_instance_free(instance);
  return (uint32_t)latency;
}

#define N_FRAMES 24000

static void
check_sounds_the_same(const char* label, const char* path, const setup* s)
{
  bool     is_stereo = false; // For bus stages, which have no mono form
  bool     is_send   = false; // One in, two out
  sound    in;
  uint32_t latency = 0;
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    const part_form* const plain = &s->stages[i].part->forms[0];
    is_send                      = is_send || plain->n_in != plain->n_out;
    is_stereo                    = is_stereo || plain->n_in == 2;
  }
  const uint32_t n_channels = is_stereo || is_send ? 2 : 1;
  in = sound_noise(FLOAT_WAV, RATE_HZ, (int)n_channels, N_FRAMES);
  for (sf_count_t i = 0; i < N_FRAMES * (sf_count_t)n_channels; ++i) {
    in.x[i] *= 0.4F; // About -19 dBFS RMS
  }
  sound_write(&in, "in.wav");
  // A preset holds controls only; a setup's alignment is the renderer's and is
  // left out here
  char plain[2048];
  (void)snprintf(plain, sizeof(plain), "align = no\nfrom = %s\n", path);
  write_text("plain.ini", plain);
  const int status = render_status(
    "in.wav --setup plain.ini -o out.wav --bits float --tail 0 --quiet");
  if (status) {
    fail_msg("%s: status %d: %s", label, status, read_text("stderr"));
  }
  sound out = sound_read("out.wav");

  const uint32_t n    = N_FRAMES + 2048; // More than all the latency
  float* const   x[2] = {calloc(n, sizeof(float)), calloc(n, sizeof(float))};
  assert_true(x[0] && x[1]);
  for (uint32_t i = 0; i < N_FRAMES; ++i) {
    for (uint32_t k = 0; k < n_channels; ++k) {
      x[k][i] = in.x[i * n_channels + k];
    }
  }
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    latency += play_preset(s->stages[i].part, label, x, n_channels, n);
  }
  assert_true(latency < 2048);
  for (uint32_t i = 0; i < N_FRAMES; ++i) {
    for (uint32_t k = 0; k < n_channels; ++k) {
      const float got  = x[k][i + latency];
      const float want = out.x[i * n_channels + k];
      if (got != want) {
        fail_msg("%s: frame %u of channel %u: %.9g, want %.9g", label, i, k + 1,
                 (double)got, (double)want);
      }
    }
  }
  free(x[0]);
  free(x[1]);
  sound_free(&out);
  sound_free(&in);
}

/// A host that loads the presets of a bank by name plays the setup to the bit
static void
presets_sound_as_the_renderer(void** state)
{
  (void)state;
  each_setup(check_sounds_the_same);
}

// ---------------------------------------------------------------------------
// A user's own

static int
presets_status(const char* line)
{
  const pid_t id     = program_start_to(PRESETS, line, "stderr");
  int         status = 0;
  assert_int_equal(waitpid(id, &status, 0), id);
  assert_true(WIFEXITED(status));
  return WEXITSTATUS(status);
}

static void
presets_well(const char* line)
{
  const int status = presets_status(line);
  if (status || *read_text("stderr")) {
    fail_msg("%s: status %d: %s", line, status, read_text("stderr"));
  }
}

static void
check_fault(const char* line, const char* want)
{
  char text[1024];
  (void)snprintf(text, sizeof(text), "dustcap-presets: %s\n", want);
  assert_int_equal(presets_status(line), 1);
  assert_string_equal(read_text("stderr"), text);
}

/// Opens the plugins together with the presets made in a folder
static void
open_with_presets(catalogue* c, const char* folder)
{
  failure f = {""};
  char    path[1024];
  assert_true(catalogue_open(c, BUNDLE_DIR, &f));
  (void)snprintf(path, sizeof(path), "%s/%s/" USER_BUNDLE "/", render_folder,
                 folder);
  LilvNode* const uri = lilv_new_file_uri(c->world, NULL, path);
  lilv_world_load_bundle(c->world, uri);
  lilv_node_free(uri);
}

/// Returns the number of presets of this label, one for each form of the air
/// shelf
static int
count_labelled(const char* folder, const char* label)
{
  catalogue c;
  open_with_presets(&c, folder);
  const part* const p = catalogue_part(&c, "air-shelf");
  int               n = 0;
  for (uint32_t k = 0; k < p->n_forms; ++k) {
    loaded    l;
    const int found = load_preset(&c, p, &p->forms[k], label, &l);
    n += found;
    if (found) {
      assert_true(l.values[part_control(p, "air_db")] == 7.25F);
    }
  }
  catalogue_close(&c);
  return n;
}

static void
user_presets_are_found_by_name(void** state)
{
  (void)state;
  write_text("my-lead.ini", "[air-shelf]\nair_db = 7.25\n");
  write_text("Gr\xC3\xBC\xC3\x9F"
             "e_\"\\.ini",
             "[air-shelf]\nair_db = 7.25\n");
  presets_well("-o lv2 my-lead.ini Gr\xC3\xBC\xC3\x9F"
               "e_\"\\.ini");
  assert_int_equal(count_files("lv2"), 1);
  assert_int_equal(count_labelled("lv2", "My lead"), 2);
  assert_int_equal(count_labelled("lv2", "Gr\xC3\xBC\xC3\x9F"
                                         "e \"\\"),
                   2);
  presets_well("--check lv2/" USER_BUNDLE);
  assert_string_equal(read_text("stdout"),
                      "lv2/" USER_BUNDLE ": all 4 presets fit\n");
  // The next call replaces the bundle
  write_text("other.ini", "[air-shelf]\nair_db = 7.25\n");
  presets_well("-o lv2 other.ini");
  assert_int_equal(count_labelled("lv2", "My lead"), 0);
  assert_int_equal(count_labelled("lv2", "Other"), 2);
}

/// No file name leads out of the bundle's folder
static void
names_stay_inside(void** state)
{
  (void)state;
  assert_int_equal(mkdir("deep", 0777), 0);
  write_text("deep/..ini", "[air-shelf]\nair_db = 7.25\n");
  write_text("...ini", "[air-shelf]\nair_db = 7.25\n");
  write_text("stdout", "");
  const int n = count_files(".");
  presets_well("-o deep deep/..ini");
  assert_int_equal(presets_status("-o deep ...ini"), 0);
  assert_int_equal(count_files("."), n);
  assert_int_equal(count_files("deep"), 2);
  assert_int_equal(count_files("deep/" USER_BUNDLE), 3);
}

/// Checks that a preset sets all controls of a plugin but those of the track
static void
check_track_keeps(const catalogue* c, const char* stem, const char* label)
{
  const part* const p = catalogue_part(c, stem);
  for (uint32_t k = 0; k < p->n_forms; ++k) {
    const part_form* const form = &p->forms[k];
    loaded                 l;
    assert_int_equal(load_preset(c, p, form, label, &l), 1);
    assert_int_equal(l.n_unknown, 0);
    for (uint32_t i = 0; i < form->n_controls; ++i) {
      const char* const symbol = form->controls[i].symbol;
      if (l.is_set[i] == is_of_track(stem, symbol)) {
        fail_msg("%s of %s, form %u: %s", symbol, stem, k + 1,
                 l.is_set[i] ? "set by the preset" : "not in the preset");
      }
    }
  }
}

/// Loads a preset into a running plugin, as hosts do with lilv, and checks its
/// ports: a user aligned this track, switched the stage off and compares
static void
check_running_track(const catalogue* c)
{
  const part* const               p      = catalogue_part(c, "di-cleanup");
  const part_form* const          form   = &p->forms[0];
  loaded                          port   = {.part = p};
  int                             n      = 0;
  LilvState* const                own    = find_preset(c, form, "Own", &n);
  static const LV2_Feature* const none[] = {NULL};
  LilvInstance* const             instance =
    lilv_plugin_instantiate(form->plugin, RATE_HZ, none);
  assert_true(own && instance);
  for (uint32_t i = 0; i < form->n_controls; ++i) {
    port.values[i] = form->controls[i].def;
  }
  const int gain  = part_control(p, "gain_db");
  const int on    = part_control(p, "enabled");
  const int match = part_control(p, "match_bypass");
  const int body  = part_control(p, "body_db");
  assert_true(gain >= 0 && on >= 0 && match >= 0 && body >= 0);
  port.values[gain]  = 5.8F;
  port.values[on]    = 0.0F;
  port.values[match] = 1.0F;
  lilv_state_restore(own, instance, set_value, &port, 0, none);
  assert_true(port.values[gain] == 5.8F);
  assert_true(port.values[on] == 0.0F);
  assert_true(port.values[match] == 1.0F);
  assert_true(port.values[body] == -3.0F); // The preset was loaded
  lilv_instance_free(instance);
  lilv_state_free(own);
}

/// A track's alignment, its bypass and the comparison survive a preset; the
/// program says which values of a setup it leaves out
static void
tracks_keep_what_is_theirs(void** state)
{
  (void)state;
  write_text("own.ini", "[di-cleanup]\ngain_db = 9\nbody_db = -3\n"
                        "[air-shelf]\nenabled = off\nmatch_bypass = on\n"
                        "air_db = 7.25\n");
  write_text("zero.ini", "[di-cleanup]\ngain_db = 0\n");
  presets_well("-o lv2 own.ini zero.ini");
  assert_string_equal(
    read_text("stdout"),
    "lv2/" USER_BUNDLE ": \"Own\" for 2 stages\n"
    "lv2/" USER_BUNDLE ": \"Zero\" for 1 stage\n"
    "own.ini: for the renderer only: gain_db of di-cleanup, enabled of "
    "air-shelf, match_bypass of air-shelf; a preset leaves them as they are "
    "on the track\n");
  presets_well("--check lv2/" USER_BUNDLE);
  catalogue c;
  open_with_presets(&c, "lv2");
  check_track_keeps(&c, "di-cleanup", "Own");
  check_track_keeps(&c, "air-shelf", "Own");
  check_running_track(&c);
  catalogue_close(&c);
}

static void
misfits_are_named(void** state)
{
  (void)state;
  write_text("good.ini", "[air-shelf]\nair_db = 7.25\n");
  presets_well("-o lv2 good.ini");
  write_text("bad.ini", "[air-shelf]\nair_db = 13\n");
  check_fault("-o lv2 good.ini bad.ini",
              "bad.ini:2: air_db = 13 is out of range; expected a number from "
              "-6 to 12 dB");
  check_fault("-o lv2 good.ini ./good.ini",
              "two setups called 'Good'; expected a name for each");
  check_fault("-o lv2 none.ini", "none.ini: no such file; expected a setup");
  assert_int_equal(count_labelled("lv2", "Good"), 2); // As it was
  // Presets made when the plugin had other controls
  assert_int_equal(mkdir("old.lv2", 0777), 0);
  write_text("old.lv2/manifest.ttl",
             "@prefix lv2: <http://lv2plug.in/ns/lv2core#> .\n"
             "@prefix pset: <http://lv2plug.in/ns/ext/presets#> .\n"
             "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"
             "<urn:test:old> a pset:Preset ; rdfs:label \"Old one\" ;\n"
             "lv2:appliesTo <urn:dustcap:air-shelf> ;\n"
             "lv2:port [ lv2:symbol \"sheen_db\" ; pset:value 3.0 ] .\n");
  assert_int_equal(presets_status("--check old.lv2"), 1);
  assert_int_equal(strncmp(read_text("stderr"),
                           "preset 'Old one' of air-shelf does not fit: "
                           "unknown control 'sheen_db' of air-shelf; ",
                           80),
                   0);
  check_fault("--check none", "none: no such folder; expected an LV2 bundle");
}

static int
end(void** state)
{
  catalogue_close(&parts);
  for (int i = 0; i < MAX_URIS; ++i) {
    free(uris[i]);
  }
  return leave_tree(state);
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(factory_presets_are_complete),
    cmocka_unit_test(presets_sound_as_the_renderer),
    cmocka_unit_test(user_presets_are_found_by_name),
    cmocka_unit_test(names_stay_inside),
    cmocka_unit_test(tracks_keep_what_is_theirs),
    cmocka_unit_test(misfits_are_named),
  };
  return cmocka_run_group_tests_name("presets", tests, enter_with_bundle, end);
}
