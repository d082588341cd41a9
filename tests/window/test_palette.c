// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Both grounds can be read: contrasts by WCAG 2.1 (W3C Recommendation,
/// "relative luminance" and "contrast ratio"; 1.4.3 asks 4.5 of text, 1.4.11
/// asks 3 of graphics).  Whoever cannot tell the hues apart still can tell the
/// lines.

#include "tests/support/check.h"

#include "plugins/chart/chart.h"

#include <math.h>
#include <string.h>

typedef struct {
  double r, g, b; ///< Linear
} light;

static double
linear(uint32_t byte)
{
  const double c = (byte & 0xFFU) / 255.0;
  return c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static light
light_of(uint32_t rgb)
{
  return (light){linear(rgb >> 16U), linear(rgb >> 8U), linear(rgb)};
}

static double
contrast(light a, light b)
{
  const double x  = 0.2126 * a.r + 0.7152 * a.g + 0.0722 * a.b;
  const double y  = 0.2126 * b.r + 0.7152 * b.g + 0.0722 * b.b;
  const double hi = fmax(x, y);
  const double lo = fmin(x, y);
  return (hi + 0.05) / (lo + 0.05);
}

static double
contrast_in(const chart_palette* p, chart_colour a, chart_colour b)
{
  return contrast(light_of(p->rgb[a]), light_of(p->rgb[b]));
}

static const chart_palette* const grounds[] = {&chart_night, &chart_paper};

static void
the_formula_is_the_standards(void** state)
{
  (void)state;
  // WCAG 2.1: 21:1 of black on white; #777777 on white just fails, 4.48:1
  // (W3C, Understanding 1.4.3)
  const light white = light_of(0xFFFFFF);
  assert_near(contrast(light_of(0), white), 21.0, 0.01);
  assert_near(contrast(light_of(0x777777), white), 4.48, 0.005);
}

static void
text_can_be_read(void** state)
{
  static const chart_colour text[] = {CHART_INK, CHART_MUTED, CHART_BLUE};
  (void)state;
  for (int g = 0; g < 2; ++g) {
    for (int i = 0; i < 3; ++i) {
      assert_true(contrast_in(grounds[g], text[i], CHART_GROUND) >= 4.5);
      assert_true(contrast_in(grounds[g], text[i], CHART_TINT) >= 4.5);
    }
  }
}

static void
lines_can_be_seen(void** state)
{
  (void)state;
  for (int g = 0; g < 2; ++g) {
    assert_true(contrast_in(grounds[g], CHART_GREY, CHART_GROUND) >= 3.0);
    assert_true(contrast_in(grounds[g], CHART_GREY, CHART_TINT) >= 3.0);
    // Ornament must not pass for a line with a meaning
    assert_true(contrast_in(grounds[g], CHART_RULE, CHART_GROUND) < 2.0);
  }
}

/// As a dichromat sees it (Vienot, Brettel and Mollon 1999, Color Research and
/// Application 24, p. 247: matrices in linear RGB after their reduction)
static light
without_red_or_green(light c, bool is_protan)
{
  const double rg =
    is_protan ? 0.11238 * c.r + 0.88762 * c.g : 0.29275 * c.r + 0.70725 * c.g;
  const double b = is_protan ? 0.00401 * c.r - 0.00401 * c.g + c.b
                             : -0.02234 * c.r + 0.02234 * c.g + c.b;
  return (light){rg, rg, b};
}

static void
dichromats_read_it_too(void** state)
{
  static const chart_colour seen[] = {CHART_INK, CHART_MUTED, CHART_BLUE};
  (void)state;
  for (int g = 0; g < 2; ++g) {
    for (int protan = 0; protan < 2; ++protan) {
      const light ground =
        without_red_or_green(light_of(grounds[g]->rgb[CHART_GROUND]), protan);
      for (int i = 0; i < 3; ++i) {
        const light c =
          without_red_or_green(light_of(grounds[g]->rgb[seen[i]]), protan);
        assert_true(contrast(c, ground) >= 4.5);
      }
    }
  }
}

enum { SIDE = 64 };

/// Draws one line style with all colours alike
static cairo_surface_t*
drawn(chart_line_style style, bool is_off)
{
  static const chart_palette grey = {.rgb = {0}};
  const chart_box            box  = {2, 2, SIDE - 4, SIDE - 4};
  const float                x[]  = {0, 1};
  const float                y[]  = {0.5F, 0.5F};
  cairo_surface_t* const     s =
    cairo_image_surface_create(CAIRO_FORMAT_ARGB32, SIDE, SIDE);
  cairo_t* const   cr = cairo_create(s);
  chart            c  = {.cr = cr, .palette = &grey, .is_off = is_off};
  const chart_area a =
    chart_area_of(box, (chart_range){0, 1, false}, (chart_range){0, 1, false});
  chart_curve(&c, &a, x, y, 2, style);
  cairo_destroy(cr);
  cairo_surface_flush(s);
  return s;
}

static void
lines_differ_without_hue(void** state)
{
  (void)state;
  for (int off = 0; off < 2; ++off) {
    for (int i = 0; i < CHART_N_LINES; ++i) {
      for (int k = i + 1; k < CHART_N_LINES; ++k) {
        cairo_surface_t* const a = drawn((chart_line_style)i, off);
        cairo_surface_t* const b = drawn((chart_line_style)k, off);
        if (!memcmp(cairo_image_surface_get_data(a),
                    cairo_image_surface_get_data(b), 4UL * SIDE * SIDE)) {
          fail_msg("lines %d and %d look alike (off: %d)", i, k, off);
        }
        cairo_surface_destroy(a);
        cairo_surface_destroy(b);
      }
    }
  }
}

int
main(void)
{
  const struct CMUnitTest tests[] = {
    cmocka_unit_test(the_formula_is_the_standards),
    cmocka_unit_test(text_can_be_read),
    cmocka_unit_test(lines_can_be_seen),
    cmocka_unit_test(dichromats_read_it_too),
    cmocka_unit_test(lines_differ_without_hue),
  };
  return cmocka_run_group_tests_name("palette", tests, NULL, NULL);
}
