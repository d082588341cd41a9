// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Prints the ports that hosts' sessions refer to: one line "URI direction type
/// symbol" per port of each of our plugins on the LV2 path, as lilv reads it.

#include <lilv/lilv.h>

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define OURS "urn:dustcap:"

typedef struct {
  const char* word;
  const char* uri;
} type_word;

static const type_word directions[] = {{"input", LILV_URI_INPUT_PORT},
                                       {"output", LILV_URI_OUTPUT_PORT},
                                       {"?", NULL}};
static const type_word kinds[]      = {{"control", LILV_URI_CONTROL_PORT},
                                       {"audio", LILV_URI_AUDIO_PORT},
                                       {"?", NULL}};

static const char*
word_of(LilvWorld*        world,
        const LilvPlugin* p,
        const LilvPort*   port,
        const type_word*  words)
{
  for (; words->uri; ++words) {
    LilvNode* const type = lilv_new_uri(world, words->uri);
    const bool      is   = lilv_port_is_a(p, port, type);
    lilv_node_free(type);
    if (is) {
      break;
    }
  }
  return words->word;
}

static void
print_plugin(LilvWorld* world, const LilvPlugin* p)
{
  for (uint32_t i = 0; i < lilv_plugin_get_num_ports(p); ++i) {
    const LilvPort* const port = lilv_plugin_get_port_by_index(p, i);
    printf("%s %s %s %s\n", lilv_node_as_uri(lilv_plugin_get_uri(p)),
           word_of(world, p, port, directions), word_of(world, p, port, kinds),
           lilv_node_as_string(lilv_port_get_symbol(p, port)));
  }
}

int
main(void)
{
  LilvWorld* const world = lilv_world_new();
  lilv_world_load_all(world);
  const LilvPlugins* const all = lilv_world_get_all_plugins(world);
  LILV_FOREACH(plugins, i, all)
  {
    const LilvPlugin* const p = lilv_plugins_get(all, i);
    if (!strncmp(lilv_node_as_uri(lilv_plugin_get_uri(p)), OURS,
                 strlen(OURS))) {
      print_plugin(world, p);
    }
  }
  lilv_world_free(world);
  return 0;
}
