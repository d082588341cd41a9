// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The menu of groups: who is where, joining and leaving

#include "frame_group.h"

#include <stdio.h>
#include <string.h>

#define MENU_WIDTH  220.0
#define LINE_HEIGHT 26.0

enum { MOST_LINES = 10, LINE_TEXT = 64 };

/// What a line does
typedef struct {
  uint32_t group; ///< 0: leaves
  uint32_t song;  ///< 0: a new one
  uint32_t place;
  bool     is_here;
  char     text[LINE_TEXT];
} line;

/// Adds "with rhythm, lead" for the open windows of one song's group
static void
add_members(const frame* f, line* l)
{
  uint32_t unnamed = 0;
  uint32_t n       = 0;
  for (uint32_t i = 0; i < f->group.n_members; ++i) {
    const follow_member* const m  = &f->group.members[i];
    const size_t               at = strlen(l->text);
    if (m->group != l->group || m->song != l->song) {
      continue;
    }
    if (m->name[0]) {
      (void)snprintf(l->text + at, LINE_TEXT - at, n ? ", %s" : " with %s",
                     m->name);
      ++n;
    } else {
      ++unnamed;
    }
  }
  const size_t at = strlen(l->text);
  if (unnamed) {
    (void)snprintf(l->text + at, LINE_TEXT - at, "%s %u window%s",
                   n ? " and" : " with", unnamed, unnamed > 1 ? "s" : "");
  }
}

static line*
add_line(line*     lines,
         uint32_t* n,
         uint32_t  group,
         uint32_t  song,
         uint32_t  place)
{
  line* const l = &lines[*n];
  *n += 1;
  *l = (line){.group = group, .song = song, .place = place};
  (void)snprintf(l->text, LINE_TEXT, "%c", 'P' + (int)group - 1);
  return l;
}

/// Lists the groups of one letter: this window's, those of open windows, and a
/// new one where there is none
static void
list_letter(const frame* f, uint32_t group, line* lines, uint32_t* n)
{
  const follow* const g     = &f->group;
  const uint32_t      first = *n;
  if (g->group == group) {
    line* const l = add_line(lines, n, group, g->song, g->shared);
    l->is_here    = true;
    add_members(f, l);
  }
  for (uint32_t i = 0; i < g->n_members; ++i) {
    const follow_member* const m        = &g->members[i];
    bool                       is_there = m->group != group;
    for (uint32_t k = first; k < *n; ++k) {
      is_there = is_there || lines[k].song == m->song;
    }
    if (!is_there && *n + FOLLOW_GROUPS < MOST_LINES) {
      add_members(f, add_line(lines, n, group, m->song, m->place));
    }
  }
  if (*n == first) {
    line* const l = add_line(lines, n, group, 0, 0);
    (void)snprintf(l->text + 1, LINE_TEXT - 1, "  new");
  }
}

static uint32_t
list_lines(const frame* f, line lines[MOST_LINES])
{
  uint32_t n = 0;
  for (uint32_t group = 1; group <= FOLLOW_GROUPS; ++group) {
    list_letter(f, group, lines, &n);
  }
  if (f->group.group && n < MOST_LINES) {
    lines[n] = (line){.text = "leave the group"};
    ++n;
  }
  return n;
}

void
group_menu_name(frame* f)
{
  (void)snprintf(f->group_name, sizeof(f->group_name),
                 f->group.group ? "group %c" : "group",
                 'P' + (int)f->group.group - 1);
}

void
group_menu_read(frame* f)
{
  follow_ask(&f->group);
  track_row_ask(&f->of_track.row);
}

void
group_menu_build(frame* f, const chart* c)
{
  static const char* const names[] = {"leave the group", "join P", "join Q",
                                      "join R", "join S"};

  line           lines[MOST_LINES];
  const uint32_t n = list_lines(f, lines);
  f->menu_box      = (chart_box){f->width - MARGIN - MENU_WIDTH, 35, MENU_WIDTH,
                                 n * LINE_HEIGHT + 10};
  for (uint32_t i = 0; i < n; ++i) {
    item* const it = layout_add(f, ITEM_GROUP_LINE,
                                (chart_box){f->menu_box.x + 6,
                                            f->menu_box.y + 5 + i * LINE_HEIGHT,
                                            MENU_WIDTH - 12, LINE_HEIGHT});
    it->param      = i;
    it->name       = names[lines[i].group];
    it->x          = f->menu_box.x + 14;
    it->w          = MENU_WIDTH - 28;
  }
  track_row_menu_build(f, c);
}

void
group_menu_draw(const frame* f, chart* c)
{
  line           lines[MOST_LINES];
  const uint32_t n = list_lines(f, lines);
  chart_rectangle(c, f->menu_box, CHART_GROUND);
  chart_frame(c, f->menu_box, 1, CHART_GREY);
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind != ITEM_GROUP_LINE || it->param >= n) {
      continue;
    }
    const line* const l    = &lines[it->param];
    const chart_type  bold = {
       .size = 11, .colour = CHART_INK, .is_bold = l->group != 0};
    const chart_type plain = {.size = 11, .colour = CHART_MUTED};
    const double     y     = it->box.y + 17;
    if ((int)i == f->hover) {
      chart_rectangle(c, it->box, CHART_TINT);
    }
    const double w = l->group ? chart_text(c, bold, it->x, y, "%c", l->text[0])
                              : chart_text(c, bold, it->x, y, "%s", l->text);
    if (l->group) {
      chart_text(c, plain, it->x + w + 6, y, "%s", l->text + 1);
    }
    if (l->is_here) {
      chart_rectangle(c, (chart_box){it->x, y + 3, w, 2}, CHART_BLUE);
    }
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    }
  }
  track_row_menu_draw(f, c);
}

const char*
group_menu_help(const frame* f, uint32_t at)
{
  line           lines[MOST_LINES];
  const uint32_t n = list_lines(f, lines);
  if (at >= n || !lines[at].group) {
    return "Its controls stay as they are, and nobody follows any more.";
  }
  return lines[at].is_here ? "This window is in it."
         : lines[at].song
           ? "Joins it: controls move together, today's differences stay."
           : "Begins it: other windows of this kind can join.";
}

void
group_menu_act(frame* f, uint32_t at)
{
  line           lines[MOST_LINES];
  const uint32_t n = list_lines(f, lines);
  menu_close(f);
  if (at >= n || lines[at].is_here) {
    return;
  }
  if (lines[at].group) {
    follow_join(&f->group, lines[at].group, lines[at].song, lines[at].place);
    frame_say(f, "In group %c: Ctrl while dragging leaves the others alone.",
              'P' + (int)lines[at].group - 1);
  } else {
    follow_leave(&f->group);
  }
  group_menu_name(f);
  layout_build(f);
  f->bands |= BAND_ALL;
}
