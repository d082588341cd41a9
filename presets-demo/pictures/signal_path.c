// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// Draws the signal path from the list of plugins, as SVG to standard output
///
///   dry guitar --> track plugins --> fader, pan --+---------> bus --> mix
///                                                 +-> sends --^

#include "plugins/shell.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH  1120
#define HEIGHT 560
#define MARGIN 36

#define BOX_HEIGHT 64
#define BOX_GAP    18  ///< Before each, for its arrow
#define TRACK_Y    122 ///< Centre of the row
#define BUS_Y      404
#define SEND_STEP  92 ///< From the bus's row to a send's

#define FADER_X (WIDTH - MARGIN - 40)
#define TRUNK_X 96
#define SUM_X   560
#define BUS_END (WIDTH - MARGIN - 130)

#define MAX_ROW 16

/// Plugins of one kind, in track order; never empty
typedef struct {
  const plugin* plugins[MAX_ROW];
  int           n;
} row;

static row
row_of(plugin_forms forms)
{
  row           r = {{NULL}, 0};
  const plugin* p = NULL;
  for (uint32_t i = 0; (p = shell_plugin(i)); ++i) {
    if (p->forms == forms && r.n < MAX_ROW) {
      r.plugins[r.n++] = p;
    }
  }
  if (!r.n) {
    (void)fprintf(stderr, "draw-signal-path: a row without plugins\n");
    exit(1);
  }
  return r;
}

static void
print_text(int x, int y, const char* kind, const char* text)
{
  printf("<text x=\"%d\" y=\"%d\" class=\"%s\">%s</text>\n", x, y, kind, text);
}

/// Prints a name around a centre, in two lines if it has two words
static void
print_name(int x, int y, const char* name)
{
  const char* const gap = strrchr(name, ' ');
  if (gap) {
    printf("<text x=\"%d\" y=\"%d\" class=\"name\">%.*s</text>\n", x, y - 4,
           (int)(gap - name), name);
    print_text(x, y + 16, "name", gap + 1);
  } else {
    print_text(x, y + 6, "name", name);
  }
}

static void
print_box(int x, int y, int width, const char* kind, const plugin* p)
{
  const int left = x - width / 2;
  const int top  = y - BOX_HEIGHT / 2;
  printf("<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" rx=\"6\" "
         "class=\"box\"/>\n"
         "<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"4\" rx=\"2\" "
         "class=\"%s\"/>\n",
         left, top, width, BOX_HEIGHT, left + 10, top, width - 20, kind);
  print_name(x, y + 2, p->name);
}

/// Prints the dot of a branch
static void
print_dot(int x, int y)
{
  printf("<circle cx=\"%d\" cy=\"%d\" r=\"3.5\" class=\"dot\"/>\n", x, y);
}

/// Prints an arrow along a path
static void
print_arrow(const char* path)
{
  printf("<path d=\"%s\" class=\"line\" marker-end=\"url(#head)\"/>\n", path);
}

static void
print_arrow_right(int from, int to, int y)
{
  char path[64];
  (void)snprintf(path, sizeof(path), "M%d %dH%d", from, y, to);
  print_arrow(path);
}

/// Prints plugins from left to right, an arrow before each
static void
print_row(const row* r, int left, int right, int y, const char* kind)
{
  const int gap   = BOX_GAP;
  const int width = (right - left) / r->n - gap;
  for (int i = 0; i < r->n; ++i) {
    const int start = left + i * (width + gap);
    print_arrow_right(start, start + gap, y);
    print_box(start + gap + width / 2, y, width, kind, r->plugins[i]);
  }
}

static void
print_heading(void)
{
  printf(
    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%d\" height=\"%d\" "
    "viewBox=\"0 0 %d %d\">\n"
    "<style>\n"
    "text{font-family:'DejaVu Sans',sans-serif;text-anchor:middle;"
    "fill:#262623}\n"
    ".name{font-size:16px}\n"
    ".title{font-size:15px;font-weight:bold;text-anchor:start}\n"
    ".note{font-size:14px;fill:#66655f}\n"
    ".left{font-size:14px;fill:#66655f;text-anchor:start}\n"
    ".panel{fill:#f3f1eb;stroke:#dcdad3}\n"
    ".box{fill:#fff;stroke:#b9b7ae}\n"
    ".track{fill:#2a5f86}\n.send{fill:#4d7a3a}\n.bus{fill:#b3541e}\n"
    ".line{fill:none;stroke:#66655f;stroke-width:1.6}\n"
    ".dot{fill:#66655f}\n"
    "</style>\n"
    "<defs><marker id=\"head\" viewBox=\"0 0 10 10\" refX=\"9\" refY=\"5\" "
    "markerWidth=\"7\" markerHeight=\"7\" orient=\"auto\">"
    "<path d=\"M0 1L9 5L0 9z\" class=\"dot\"/></marker></defs>\n"
    "<rect x=\"0.5\" y=\"0.5\" width=\"%d\" height=\"%d\" rx=\"10\" "
    "fill=\"#fbfaf7\" stroke=\"#dcdad3\"/>\n",
    WIDTH, HEIGHT, WIDTH, HEIGHT, WIDTH - 1, HEIGHT - 1);
}

/// Prints the level that the level-dependent stages expect, under all but the
/// first
static void
print_alignment(int left, int right)
{
  const int y = TRACK_Y + BOX_HEIGHT / 2 + 12;
  char      text[64];
  printf("<path d=\"M%d %dv6H%dv-6\" class=\"line\" style=\"stroke:#a3a39c\"/>"
         "\n",
         left, y, right);
  (void)snprintf(text, sizeof(text), "playing at −%g dBFS RMS",
                 -ALIGN_RMS_DBFS);
  print_text((left + right) / 2, y + 24, "note", text);
}

static void
print_tracks(void)
{
  const row r    = row_of(FORMS_TRACK);
  const int top  = TRACK_Y - BOX_HEIGHT / 2 - 52;
  const int from = MARGIN + 74;
  const int to   = FADER_X - 52;
  // Every track has one: more panels behind the first
  for (int i = 2; i >= 0; --i) {
    printf("<rect x=\"%d\" y=\"%d\" width=\"%d\" height=\"172\" rx=\"8\" "
           "class=\"panel\"/>\n",
           MARGIN - 16 + 6 * i, top - 6 * i, WIDTH - 2 * MARGIN + 32 - 12 * i);
  }
  print_text(MARGIN, top + 28, "title", "Every track");
  print_text(MARGIN, TRACK_Y - 4, "left", "dry guitar");
  print_text(MARGIN, TRACK_Y + 14, "left", "(DI)");
  print_row(&r, from, to, TRACK_Y, "track");
  const int step = (to - from) / r.n;
  print_alignment(from + step + BOX_GAP, to);
  print_arrow_right(to, FADER_X - 24, TRACK_Y);
  printf("<circle cx=\"%d\" cy=\"%d\" r=\"24\" class=\"box\"/>\n", FADER_X,
         TRACK_Y);
  print_text(FADER_X, TRACK_Y - 1, "note", "fader");
  print_text(FADER_X, TRACK_Y + 13, "note", "pan");
}

/// Prints the sends above and below the direct path, all into the sum
static void
print_sends(void)
{
  const row r    = row_of(FORMS_SEND);
  const int turn = TRACK_Y + 124;
  for (int i = 0; i < r.n; ++i) {
    const int step = (2 * i - (r.n - 1)) * SEND_STEP / (r.n > 1 ? r.n - 1 : 1);
    const int y    = BUS_Y + step;
    const int x    = TRUNK_X + 250;
    char      path[96];
    print_box(x, y, 116, "send", r.plugins[i]);
    if (i < r.n - 1) { // The last one is a corner
      print_dot(TRUNK_X, y);
    }
    print_arrow_right(TRUNK_X, x - 58, y);
    print_text(TRUNK_X + 86, y - 10, "note", "send level");
    (void)snprintf(path, sizeof(path), "M%d %dH%dV%d", x + 58, y, SUM_X,
                   y < BUS_Y ? BUS_Y - 18 : BUS_Y + 18);
    print_arrow(path);
  }
  // From after the fader around to the left, and down along the sends
  printf("<path d=\"M%d %dV%dH%dV%d\" class=\"line\"/>\n", FADER_X,
         TRACK_Y + 24, turn, TRUNK_X, BUS_Y + SEND_STEP);
  print_text(FADER_X - 12 - 90, turn - 10, "note",
             "all tracks, after the fader");
  print_dot(TRUNK_X, BUS_Y);
  print_arrow_right(TRUNK_X, SUM_X - 18, BUS_Y);
  print_text(TRUNK_X + 86, BUS_Y - 10, "note", "direct");
}

static void
print_bus(void)
{
  const row r = row_of(FORMS_BUS);
  printf("<circle cx=\"%d\" cy=\"%d\" r=\"18\" class=\"box\"/>\n", SUM_X,
         BUS_Y);
  print_text(SUM_X, BUS_Y + 7, "name", "+");
  print_row(&r, SUM_X + 18, BUS_END, BUS_Y, "bus");
  print_arrow_right(BUS_END, WIDTH - MARGIN - 52, BUS_Y);
  print_text(WIDTH - MARGIN - 26, BUS_Y + 6, "name", "mix");
}

int
main(void)
{
  print_heading();
  print_tracks();
  print_sends();
  print_bus();
  printf("</svg>\n");
  return ferror(stdout) || fflush(stdout);
}
