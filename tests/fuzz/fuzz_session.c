// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Fuzz target: any text as a session.
///
/// Promises: it is read, with every number in its range and names fit for
/// files, or refused, with one line that begins with the file's name and
/// nothing kept.

#include "fuzz_folder.h"

#include "plugins/text/utf8.h"
#include "presets-demo/session/file/session_file.h"

#include <ctype.h>
#include <math.h>

static void
leave(void)
{
  (void)unlink("s.ini");
  (void)unlink("a.wav");
  (void)unlink("t.ini");
  (void)rmdir(fuzz_folder);
}

/// The two files that sessions name
static void
enter(void)
{
  if (fuzz_enter_folder(leave)) {
    fuzz_write_text("a.wav", (const uint8_t*)"", 0);
    fuzz_write_text("t.ini", (const uint8_t*)"", 0);
  }
}

static void
check_in(float x, float min, float max, const char* what)
{
  FUZZ_CHECK(isfinite(x) && x >= min && x <= max, "%s = %g", what, (double)x);
}

static void
check_strip(const session_strip* s)
{
  check_in(s->gain_db, -60.0F, 24.0F, "gain_db");
  check_in(s->pan, -100.0F, 100.0F, "pan");
  FUZZ_CHECK(s->align == 0.0F || s->align == 1.0F ||
               s->align == SESSION_ALIGN_AS_SETUP,
             "align = %g", (double)s->align);
  for (uint32_t k = 0; k < SESSION_N_SENDS; ++k) {
    check_in(s->send_db[k], SESSION_OFF_DB, 12.0F, "a send");
  }
}

/// UTF-8, and a slug that is fit for the name of a file
static void
check_name(const session_strip* s)
{
  size_t length = 1;
  for (const char* c = s->name; *c && length; c += length) {
    length = utf8_length(c);
  }
  FUZZ_CHECK(length && *s->name && strlen(s->name) <= 512, "'%s'", s->name);
  FUZZ_CHECK(*s->slug && *s->slug != '.' && strlen(s->slug) <= 150, "'%s'",
             s->slug);
  for (const char* c = s->slug; *c; ++c) {
    FUZZ_CHECK((unsigned char)*c >= 0x80 || isalnum((unsigned char)*c) ||
                 strchr("-_.+", *c),
               "'%s'", s->slug);
  }
}

static void
check_session(const session* s)
{
  FUZZ_CHECK(s->n_tracks > 0, "read, but empty");
  for (uint32_t i = 0; i < s->n_tracks; ++i) {
    check_name(&s->tracks[i]);
    check_strip(&s->tracks[i]);
    FUZZ_CHECK(s->tracks[i].file, "no file");
    for (uint32_t k = 0; k < i; ++k) {
      FUZZ_CHECK(strcmp(s->tracks[i].slug, s->tracks[k].slug) != 0, "%s twice",
                 s->tracks[i].slug);
    }
  }
  if (s->output.rate_hz != 0.0F) {
    check_in(s->output.rate_hz, 8000.0F, 384000.0F, "rate_hz");
  }
  check_in(s->output.tail_s, 0.0F, 60.0F, "tail_s");
  FUZZ_CHECK(s->output.bits == (float)SAMPLES_24 ||
               s->output.bits == (float)SAMPLES_FLOAT,
             "bits = %g", (double)s->output.bits);
}

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t size)
{
  enter();
  fuzz_write_text("s.ini", data, size);
  session s;
  failure f = {""};
  if (session_load(&s, "s.ini", &f)) {
    check_session(&s);
  } else {
    FUZZ_CHECK(!s.n_tracks && !s.tracks, "refused, but kept");
    FUZZ_CHECK(!strncmp(f.text, "s.ini:", 6) && !strchr(f.text, '\n'), "'%s'",
               f.text);
  }
  session_clear(&s);
  return 0;
}
