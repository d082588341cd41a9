// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "report.h"

#include "report_html.h"
#include "report_json.h"

#include "presets-demo/render/program/whole_file.h"

static bool
write_html(const char*    path,
           const mixdown* m,
           const session* s,
           double         time_s,
           uint32_t       n_threads,
           failure*       f)
{
  whole_file* const file = whole_file_open(path, f);
  if (!file) {
    return false;
  }
  listen l = listen_make(m, n_threads);
  report_html_print(whole_file_stream(file), m, s, &l, time_s);
  listen_clear(&l);
  return whole_file_finish(file, f);
}

static bool
write_json(const char*    path,
           const mixdown* m,
           const session* s,
           double         time_s,
           failure*       f)
{
  whole_file* const file = whole_file_open(path, f);
  if (!file) {
    return false;
  }
  report_json_print(whole_file_stream(file), m, s, time_s);
  return whole_file_finish(file, f);
}

bool
report_write(const mixdown* m,
             const session* s,
             whole_folder*  folder,
             double         time_s,
             uint32_t       n_threads,
             bool           json,
             failure*       f)
{
  return write_html(whole_folder_file(folder, "report.html"), m, s, time_s,
                    n_threads, f) &&
         (!json || write_json(whole_folder_file(folder, "report.json"), m, s,
                              time_s, f));
}

void
report_print_take(FILE*          out,
                  const mixdown* m,
                  const session* s,
                  double         time_s,
                  uint32_t       n_threads)
{
  listen l = listen_make(m, n_threads);
  report_html_print_take(out, m, s, &l, time_s);
  listen_clear(&l);
}
