// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report.h"

#include "report_html.h"
#include "report_json.h"

#include <errno.h>
#include <string.h>

static bool
write_file(
  const char* path,
  void (*print)(FILE* out, const mixdown* m, const session* s, double time_s),
  const mixdown* m,
  const session* s,
  double         time_s,
  failure*       f)
{
  FILE* const file = fopen(path, "w");
  if (file) {
    print(file, m, s, time_s);
  }
  const bool is_written = file && !ferror(file);
  const bool is_closed  = file && !fclose(file);
  return (is_written && is_closed) ||
         fail_with(f, "%s: cannot be written (%s)", path, strerror(errno));
}

bool
report_write(const mixdown* m,
             const session* s,
             output_folder* folder,
             double         time_s,
             bool           json,
             failure*       f)
{
  return write_file(output_folder_file(folder, "report.html"),
                    report_html_print, m, s, time_s, f) &&
         (!json || write_file(output_folder_file(folder, "report.json"),
                              report_json_print, m, s, time_s, f));
}
