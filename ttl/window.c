// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "window.h"

#include "plugins/shell.h"

#include <lv2/core/lv2.h>
#include <lv2/options/options.h>
#include <lv2/ui/ui.h>
#include <lv2/urid/urid.h>

static void
for_each_form(turtle_writer* w, void (*f)(turtle_writer*, const plugin_form*))
{
  const plugin* p = NULL;
  for (uint32_t n = 0; (p = shell_plugin(n)); ++n) {
    for (uint32_t i = 0; i < shell_form_count(p); ++i) {
      const plugin_form form = shell_form(p, i);
      f(w, &form);
    }
  }
}

static void
write_entry(turtle_writer* w, const plugin_form* form)
{
  turtle_writer_subject(w, "%s", form->uri);
  turtle_writer_uri(w, LV2_UI__ui, WINDOW_URI);
}

void
window_write_entries(turtle_writer* w)
{
  for_each_form(w, write_entry);
  turtle_writer_subject(w, WINDOW_URI);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_UI__X11UI);
  turtle_writer_uri(w, LV2_CORE__binary, "dustcap-ui.so");
  turtle_writer_uri(w, TURTLE_RDFS "seeAlso", "windows.ttl");
}

/// Hosts tell a window of inputs unasked, of meters only so
static void
write_notifications(turtle_writer* w, const plugin_form* form)
{
  for (uint32_t i = 0; i < shell_meter_count(form->plugin); ++i) {
    turtle_writer_begin_node(w, LV2_UI__portNotification);
    turtle_writer_uri(w, LV2_UI__plugin, "%s", form->uri);
    turtle_writer_text(w, LV2_CORE__symbol, "%s",
                       shell_meter(form->plugin, i)->symbol);
    turtle_writer_uri(w, LV2_UI__protocol, LV2_UI__floatProtocol);
    turtle_writer_end_node(w);
  }
}

void
window_write(turtle_writer* w)
{
  static const char* const wanted[]  = {LV2_UI__parent,  LV2_UI__resize,
                                        LV2_UI__portMap, LV2_UI__touch,
                                        LV2_URID__map,   LV2_OPTIONS__options};
  static const char* const options[] = {LV2_UI__scaleFactor,
                                        LV2_UI__backgroundColor};

  turtle_writer_subject(w, WINDOW_URI);
  turtle_writer_uri(w, TURTLE_RDF_TYPE, LV2_UI__X11UI);
  turtle_writer_uri(w, LV2_CORE__requiredFeature, LV2_UI__idleInterface);
  for (size_t i = 0; i < sizeof(wanted) / sizeof(wanted[0]); ++i) {
    turtle_writer_uri(w, LV2_CORE__optionalFeature, "%s", wanted[i]);
  }
  for (size_t i = 0; i < sizeof(options) / sizeof(options[0]); ++i) {
    turtle_writer_uri(w, LV2_OPTIONS__supportedOption, "%s", options[i]);
  }
  turtle_writer_uri(w, LV2_CORE__extensionData, LV2_UI__idleInterface);
  turtle_writer_uri(w, LV2_CORE__extensionData, LV2_UI__resize);
  for_each_form(w, write_notifications);
}
