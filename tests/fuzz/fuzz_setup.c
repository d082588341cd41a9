// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Fuzz target: any text as a setup, for the parts of
/// tests/support/render-fixture/.
///
/// A case is the text of f.ini and, after a line "%%", that of base.ini.
/// Promises: it is read, with every control in its range, or refused, with one
/// line that begins with the file's name and nothing kept.
///
///   FIXTURE_DIR  the built fixture bundle

#include "fuzz_folder.h"

#include "presets-demo/render/setup/setup.h"

#include <math.h>

static catalogue parts;

static void
close_parts(void)
{
  (void)unlink("f.ini");
  (void)unlink("base.ini");
  (void)rmdir(fuzz_folder);
  catalogue_close(&parts);
}

static void
enter(void)
{
  failure f = {""};
  if (fuzz_enter_folder(close_parts)) {
    FUZZ_CHECK(catalogue_open(&parts, FIXTURE_DIR, &f), "%s", f.text);
  }
}

/// Where "\n%%\n" begins, or the end
static size_t
find_cut(const uint8_t* data, size_t size)
{
  for (size_t i = 0; i + 4 <= size; ++i) {
    if (!memcmp(data + i, "\n%%\n", 4)) {
      return i;
    }
  }
  return size;
}

static void
check_value(const part* p, const control_input* c, float x)
{
  FUZZ_CHECK(isfinite(x) && x >= c->min && x <= c->max, "%s %s = %g", p->stem,
             c->symbol, (double)x);
  FUZZ_CHECK(!c->is_integer || x == roundf(x), "%s %s = %g", p->stem, c->symbol,
             (double)x);
  FUZZ_CHECK(c->kind != CONTROL_TOGGLE || x == 0.0F || x == 1.0F, "%s %s = %g",
             p->stem, c->symbol, (double)x);
}

static void
check_setup(const setup* s)
{
  FUZZ_CHECK(s->n_stages > 0, "read, but empty");
  for (uint32_t i = 0; i < s->n_stages; ++i) {
    const part* const p = s->stages[i].part;
    for (uint32_t j = 0; j < i; ++j) {
      FUZZ_CHECK(s->stages[j].part != p, "%s twice", p->stem);
    }
    for (uint32_t j = 0; j < p->forms[0].n_controls; ++j) {
      check_value(p, &p->forms[0].controls[j], s->stages[i].values[j]);
    }
  }
}

static void
check_refusal(const setup* s, const failure* f)
{
  FUZZ_CHECK(!s->n_stages && !s->stages, "refused, but kept");
  FUZZ_CHECK(strchr(f->text, ':') && !strchr(f->text, '\n'), "'%s'", f->text);
  FUZZ_CHECK(!strncmp(f->text, "f.ini:", 6) || strstr(f->text, "base.ini"),
             "'%s'", f->text);
}

int
LLVMFuzzerTestOneInput(const uint8_t* data, size_t size)
{
  enter();
  const size_t cut = find_cut(data, size);
  fuzz_write_text("f.ini", data, cut);
  if (cut < size) {
    fuzz_write_text("base.ini", data + cut + 4, size - cut - 4);
  } else {
    (void)unlink("base.ini");
  }

  setup   s;
  failure f = {""};
  if (setup_load(&s, "f.ini", &parts, &f)) {
    check_setup(&s);
  } else {
    check_refusal(&s, &f);
  }
  setup_clear(&s);
  return 0;
}
