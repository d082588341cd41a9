// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "listen_html.h"

#include "html.h"
#include "page.h"
#include "stage_figures.h"

#include <math.h>
#include <string.h>

bool
listen_html_has_sound(const listen* l)
{
  return l->n_things && !l->has_failed;
}

static bool
is_mix(const listen_thing* t)
{
  return !t->lane->in;
}

/// Prints the name of a version as it is shown
static void
print_version_name(FILE* f, const listen_thing* t, uint32_t i)
{
  const bool is_last = i + 1 == t->n_versions;
  if (is_mix(t) && i == 0) {
    (void)fputs("dry takes, summed", f);
  } else if (is_mix(t) && i == 1 && is_last) {
    (void)fputs("mix", f);
  } else {
    html_text(f, t->versions[i].name);
    (void)fputs(is_last ? " (finished)" : "", f);
  }
}

static void
print_thing_name(FILE* f, const listen_thing* t)
{
  html_text(f, is_mix(t) ? "Mix" : t->lane->strip->name);
}

static void
print_choice_of_things(FILE* f, const listen* l)
{
  (void)fputs(
    "<fieldset class=\"choice\" id=\"things\"><legend>Hear</legend>\n", f);
  for (uint32_t i = 0; i < l->n_things; ++i) {
    (void)fprintf(f, "<label><input type=\"radio\" name=\"thing\"%s> <bdi>",
                  i ? "" : " checked");
    print_thing_name(f, &l->things[i]);
    (void)fputs("</bdi></label>\n", f);
  }
  (void)fputs("</fieldset>\n", f);
}

static void
print_versions(FILE* f, const listen_thing* t, uint32_t number)
{
  (void)fprintf(f, "<fieldset class=\"choice versions\" data-lane=\"%s-",
                stage_figures_kind(t->lane));
  html_text(f, t->lane->strip->slug);
  (void)fputs("\" data-name=\"", f);
  print_thing_name(f, t);
  (void)fprintf(f, "\" data-from=\"%.3f\" data-length=\"%.3f\"%s>", t->from_s,
                t->length_s, number ? " hidden" : "");
  (void)fputs("<legend>Version of <bdi>", f);
  print_thing_name(f, t);
  (void)fputs("</bdi></legend>\n", f);
  for (uint32_t i = 0; i < t->n_versions; ++i) {
    (void)fprintf(f,
                  "<label><input type=\"radio\" name=\"version-%u\"%s> <span "
                  "class=\"name\">",
                  number, i ? "" : " checked");
    print_version_name(f, t, i);
    (void)fputs("</span><b class=\"held\"></b></label>\n", f);
  }
  (void)fputs("</fieldset>\n", f);
}

static void
print_excerpts(FILE* f, const listen* l)
{
  (void)fprintf(f, "Each excerpt has %.0f s.", l->things[0].length_s);
  if (l->n_left_out) {
    (void)fprintf(f,
                  " %u further tracks are left out for the size of the page; "
                  "listen = no for others makes room.",
                  l->n_left_out);
  }
}

/// Prints what stands in place of the next marker; returns what follows it
static const char*
print_place(FILE* f, const char* text, const listen* l)
{
  const char* const end = strstr(text, "{{");
  (void)fwrite(text, 1, end ? (size_t)(end - text) : strlen(text), f);
  if (!end) {
    return NULL;
  }
  if (!strncmp(end, "{{loudness}}", 12)) {
    (void)fprintf(f, "−%.1f", fabs(l->lufs));
  } else if (!strncmp(end, "{{excerpts}}", 12)) {
    print_excerpts(f, l);
  } else {
    print_choice_of_things(f, l);
    for (uint32_t i = 0; i < l->n_things; ++i) {
      print_versions(f, &l->things[i], i);
    }
  }
  return strstr(end, "}}") + 2;
}

void
listen_html_print(FILE* f, const listen* l)
{
  if (l->has_failed) {
    (void)fputs("<p class=\"quiet\">Nothing to hear in this page: libsndfile "
                "writes no Opus here.</p>\n",
                f);
  }
  const char* text = listen_html_has_sound(l) ? listen_html : NULL;
  while (text) {
    text = print_place(f, text, l);
  }
}

/// RFC 4648, section 4
static void
print_base64(FILE* f, const unsigned char* data, size_t n)
{
  static const char digits[] =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  for (size_t i = 0; i < n; i += 3) {
    const size_t   left = n - i;
    const uint32_t bits = (uint32_t)data[i] << 16 |
                          (left > 1 ? (uint32_t)data[i + 1] << 8 : 0) |
                          (left > 2 ? (uint32_t)data[i + 2] : 0);
    const char four[] = {digits[bits >> 18], digits[bits >> 12 & 63],
                         left > 1 ? digits[bits >> 6 & 63] : '=',
                         left > 2 ? digits[bits & 63] : '='};
    (void)fwrite(four, 1, sizeof(four), f);
  }
}

void
listen_html_print_sound(FILE* f, const listen* l)
{
  if (!listen_html_has_sound(l)) {
    return;
  }
  for (uint32_t i = 0; i < l->n_things; ++i) {
    const listen_thing* const t = &l->things[i];
    for (uint32_t k = 0; k < t->n_versions; ++k) {
      (void)fprintf(f, "<template id=\"sound-%u-%u\">", i, k);
      print_base64(f, t->versions[k].sound.data, t->versions[k].sound.n);
      (void)fputs("</template>\n", f);
    }
  }
  (void)fprintf(f, "<script>\n%s%s%s</script>\n", player_js, blind_js, page_js);
}
