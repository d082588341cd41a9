// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Prints what the host checks need to know about the bundle:
///
/// host_forms moved     one line per plugin of ours: URI, channels in and out,
///                      latency in frames at default and at moved controls,
///                      then the moved controls as "symbol=value": all of them,
///                      none at its default
/// host_forms defaults  one line per plugin: URI, the same controls at default
/// host_forms switches  one line per plugin: URI, switches that are on by
///                      default
/// host_forms presets   one line per preset of ours: URI of the plugin, URI of
///                      the preset, its values as "symbol=value,...", its label

#include "part.h"

#include <lv2/atom/atom.h>
#include <lv2/presets/presets.h>
#include <lv2/urid/urid.h>

#include <math.h>

#define LOGARITHMIC "http://lv2plug.in/ns/ext/port-props#logarithmic"
#define MOVED       0.37 // Of the way up the range: an arbitrary value

static bool
has(LilvWorld*        w,
    const LilvPlugin* p,
    const LilvPort*   port,
    const char*       property)
{
  LilvNode* const node = lilv_new_uri(w, property);
  const bool      yes  = lilv_port_has_property(p, port, node);
  lilv_node_free(node);
  return yes;
}

static double
number(LilvNode* node)
{
  const double x = (double)lilv_node_as_float(node);
  lilv_node_free(node);
  return x;
}

/// Returns another value in the range, in few digits, so that every host reads
/// the same number
static double
moved(LilvWorld* w, const LilvPlugin* p, const LilvPort* port)
{
  LilvNode *def_node, *min_node, *max_node;
  lilv_port_get_range(p, port, &def_node, &min_node, &max_node);
  const double def = number(def_node);
  const double min = number(min_node);
  const double max = number(max_node);
  if (has(w, p, port, LV2_CORE__toggled) ||
      has(w, p, port, LV2_CORE__integer) ||
      has(w, p, port, LV2_CORE__enumeration)) {
    return def < max ? def + 1.0 : min;
  }
  const double x = has(w, p, port, LOGARITHMIC) ? min * pow(max / min, MOVED)
                                                : min + MOVED * (max - min);
  char         text[32];
  snprintf(text, sizeof(text), "%.3g", x);
  const double rounded = strtod(text, NULL);
  return rounded != def ? rounded : min;
}

/// Is it a control, and not the one that would switch the plugin off?
static bool
is_setting(LilvWorld* w, const LilvPlugin* p, const LilvPort* port)
{
  return part_port_is(port, w, p, LILV_URI_CONTROL_PORT) &&
         part_port_is(port, w, p, LILV_URI_INPUT_PORT) &&
         strcmp(lilv_node_as_string(lilv_port_get_symbol(p, port)),
                "enabled") != 0;
}

static uint32_t
moved_settings(LilvWorld*        w,
               const LilvPlugin* p,
               char              settings[PART_MAX_PORTS][96])
{
  uint32_t n = 0;
  for (uint32_t i = 0; i < lilv_plugin_get_num_ports(p); ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(p, i);
    const char* const     symbol =
      lilv_node_as_string(lilv_port_get_symbol(p, port));
    if (is_setting(w, p, port)) {
      snprintf(settings[n++], sizeof(settings[0]), "%s=%g", symbol,
               moved(w, p, port));
    }
  }
  return n;
}

static float
latency_of(part* y)
{
  static float silence[1], away[1];
  float* const in[]  = {silence, silence};
  float* const out[] = {away, away};
  part_start(y);
  part_run(y, in, out, 0, 0);
  part_stop(y);
  if (!lilv_plugin_has_latency(y->plugin)) {
    part_exit("no latency port",
              lilv_node_as_uri(lilv_plugin_get_uri(y->plugin)));
  }
  return y->control[lilv_plugin_get_latency_port_index(y->plugin)];
}

static void
print_moved(LilvWorld* w, const LilvPlugin* p)
{
  static char    settings[PART_MAX_PORTS][96];
  part           y       = part_of(w, p);
  const float    plain   = latency_of(&y);
  const uint32_t n_moved = moved_settings(w, p, settings);
  for (uint32_t i = 0; i < n_moved; ++i) {
    part_set(&y, w, settings[i]);
  }
  printf("%s %u %u %g %g", lilv_node_as_uri(lilv_plugin_get_uri(p)), y.n_in,
         y.n_out, (double)plain, (double)latency_of(&y));
  for (uint32_t i = 0; i < n_moved; ++i) {
    printf(" %s", settings[i]);
  }
  printf("\n");
}

static void
print_defaults(LilvWorld* w, const LilvPlugin* p)
{
  const part y = part_of(w, p);
  printf("%s", lilv_node_as_uri(lilv_plugin_get_uri(p)));
  for (uint32_t i = 0; i < y.n_ports; ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(p, i);
    if (is_setting(w, p, port)) {
      printf(" %s=%.9g", lilv_node_as_string(lilv_port_get_symbol(p, port)),
             (double)y.control[i]);
    }
  }
  printf("\n");
}

static void
print_switches(LilvWorld* w, const LilvPlugin* p)
{
  const part y = part_of(w, p);
  printf("%s", lilv_node_as_uri(lilv_plugin_get_uri(p)));
  for (uint32_t i = 0; i < y.n_ports; ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(p, i);
    if (has(w, p, port, LV2_CORE__toggled) && y.control[i] > 0.0F) {
      printf(" %s=1", lilv_node_as_string(lilv_port_get_symbol(p, port)));
    }
  }
  printf("\n");
}

enum { URID_FLOAT = 1, URID_INT, URID_OTHER };

static LV2_URID
map_uri(LV2_URID_Map_Handle handle, const char* uri)
{
  (void)handle;
  return !strcmp(uri, LV2_ATOM__Float) ? URID_FLOAT
         : !strcmp(uri, LV2_ATOM__Int) ? URID_INT
                                       : URID_OTHER;
}

static void
print_port(const char* symbol,
           void*       data,
           const void* value,
           uint32_t    size,
           uint32_t    type)
{
  (void)data;
  if (type == URID_FLOAT && size == sizeof(float)) {
    printf("%s=%.9g,", symbol, (double)*(const float*)value);
  } else if (type == URID_INT && size == sizeof(int32_t)) {
    printf("%s=%d,", symbol, (int)*(const int32_t*)value);
  } else {
    part_exit("neither float nor int in a preset", symbol);
  }
}

static void
print_preset(LilvWorld* w, const LilvPlugin* p, const LilvNode* preset)
{
  LV2_URID_Map map = {NULL, map_uri};
  lilv_world_load_resource(w, preset); // Its values are not in the manifest
  LilvState* const state = lilv_state_new_from_world(w, &map, preset);
  if (!state) {
    part_exit("cannot read", lilv_node_as_uri(preset));
  }
  printf("%s %s ", lilv_node_as_uri(lilv_plugin_get_uri(p)),
         lilv_node_as_uri(preset));
  lilv_state_emit_port_values(state, print_port, NULL);
  printf(" %s\n", lilv_state_get_label(state));
  lilv_state_free(state);
}

static void
print_presets(LilvWorld* w, const LilvPlugin* p)
{
  LilvNode* const  type = lilv_new_uri(w, LV2_PRESETS__Preset);
  LilvNodes* const all  = lilv_plugin_get_related(p, type);
  LILV_FOREACH(nodes, i, all)
  {
    print_preset(w, p, lilv_nodes_get(all, i));
  }
  lilv_nodes_free(all);
  lilv_node_free(type);
}

/// Calls `f` for each plugin of ours; false if there is none
static bool
each_plugin(LilvWorld* w, void (*f)(LilvWorld* w, const LilvPlugin* p))
{
  bool                     found = false;
  const LilvPlugins* const all   = lilv_world_get_all_plugins(w);
  LILV_FOREACH(plugins, i, all)
  {
    const LilvPlugin* const p   = lilv_plugins_get(all, i);
    const char* const       uri = lilv_node_as_uri(lilv_plugin_get_uri(p));
    if (!strncmp(uri, PART_URI_PREFIX, strlen(PART_URI_PREFIX))) {
      f(w, p);
      found = true;
    }
  }
  return found;
}

int
main(int argc, char** argv)
{
  static const struct {
    const char* word;
    void (*print)(LilvWorld* w, const LilvPlugin* p);
  } commands[] = {{"defaults", print_defaults},
                  {"moved", print_moved},
                  {"presets", print_presets},
                  {"switches", print_switches}};

  LilvWorld* const w      = lilv_world_new();
  int              status = 2;
  lilv_world_load_all(w);
  for (size_t i = 0; i < sizeof(commands) / sizeof(commands[0]); ++i) {
    if (argc == 2 && !strcmp(argv[1], commands[i].word)) {
      status = each_plugin(w, commands[i].print) ? 0 : 1;
    }
  }
  if (status == 2) {
    fprintf(stderr, "usage: %s defaults | moved | presets | switches\n",
            argv[0]);
  }
  lilv_world_free(w);
  return status;
}
