// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "truncated.h"

#include <stdio.h>
#include <string.h>

/// A file written to a pipe states no true length but one of about 2 or 4 GiB:
/// common practice, as the writer cannot go back
#define STATED_UNKNOWN 0x7FFF0000LL

bool
truncated_check(SNDFILE* file, const char* path, failure* f)
{
  static const struct {
    const char* before;
    const char* format; ///< With two numbers
    bool        is_there_first;
    const char* unit;
  } remarks[] = {
    {"data : ", "%lld (should be %lld)", false, "bytes"},
    {"SSND : ", "%lld (should be %lld)", false, "bytes"},
    {"Calculated frame count ",
     "%lld does not match value from 'ds64' chunk of %lld", true, "frames"},
  };
  char log[16384] = "";
  (void)sf_command(file, SFC_GET_LOG_INFO, log, sizeof(log));
  for (size_t i = 0; i < sizeof(remarks) / sizeof(remarks[0]); ++i) {
    const char* const at   = strstr(log, remarks[i].before);
    long long         x[2] = {0, 0};
    if (at && sscanf(at + strlen(remarks[i].before), remarks[i].format, &x[0],
                     &x[1]) == 2) {
      const long long there  = x[remarks[i].is_there_first ? 0 : 1];
      const long long stated = x[remarks[i].is_there_first ? 1 : 0];
      if (there < stated && stated < STATED_UNKNOWN) {
        return fail_with(f,
                         "%s: is cut short: %lld of %lld %s of audio; expected "
                         "a complete file",
                         path, there, stated, remarks[i].unit);
      }
    }
  }
  return true;
}
