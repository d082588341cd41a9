// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report.h"

#include "report_html.h"
#include "report_json.h"

#include "presets-demo/render/program/whole_file.h"

static bool
write_file(
  const char* path,
  void (*print)(FILE* out, const mixdown* m, const session* s, double time_s),
  const mixdown* m,
  const session* s,
  double         time_s,
  failure*       f)
{
  whole_file* const file = whole_file_open(path, f);
  if (!file) {
    return false;
  }
  print(whole_file_stream(file), m, s, time_s);
  return whole_file_finish(file, f);
}

bool
report_write(const mixdown* m,
             const session* s,
             whole_folder*  folder,
             double         time_s,
             bool           json,
             failure*       f)
{
  return write_file(whole_folder_file(folder, "report.html"), report_html_print,
                    m, s, time_s, f) &&
         (!json || write_file(whole_folder_file(folder, "report.json"),
                              report_json_print, m, s, time_s, f));
}
