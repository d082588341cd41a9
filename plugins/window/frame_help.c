// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The line of help

#include "frame_state.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static const chart_type word  = {.size = 11, .colour = CHART_INK};
static const chart_type muted = {.size = 11, .colour = CHART_MUTED};

/// Bold, then a sentence, then what is known of its range where it fits
static void
say(const frame* f,
    chart*       c,
    const char*  name,
    const char*  text,
    const char*  end)
{
  const double y    = layout_band(f, BAND_HELP).y + 19;
  chart_type   bold = word;
  bold.is_bold      = true;
  double x          = MARGIN;
  x += *name ? chart_text(c, bold, x, y, "%s", name) + 8 : 0;
  x += chart_text(c, *name || f->said[0] ? word : muted, x, y, "%s", text);
  chart_type last = muted;
  last.align      = CHART_RIGHT;
  const double w  = chart_text_width(c, last, "%s", end);
  if (x + 16 + w < f->width - MARGIN) {
    chart_text(c, last, f->width - MARGIN, y, "%s", end);
  }
}

static void
say_param(const frame* f, chart* c, uint32_t param)
{
  const param_info* const p          = frame_info(f, param);
  char                    range[160] = "";
  if (p->kind == PARAM_NUM) {
    char lo[CONTROL_TEXT];
    char hi[CONTROL_TEXT];
    char def[CONTROL_TEXT];
    control_figure(p, p->min, lo);
    control_figure(p, p->max, hi);
    control_figure(p, p->def, def);
    const char* const low  = control_unit(p, p->min);
    const char* const high = control_unit(p, p->max);
    const char* const unit = control_unit(p, p->def);
    // "20 Hz to 20.00 kHz, default 200 Hz", but "-60.0 to 0.0 dB, default
    // -14.0"
    const bool is_one = !strcmp(low, high) && !strcmp(unit, high);
    (void)snprintf(range, sizeof(range), "%s%s%s to %s%s%s, default %s%s%s", lo,
                   is_one ? "" : " ", is_one ? "" : low, hi, *high ? " " : "",
                   high, def, is_one ? "" : " ", is_one ? "" : unit);
  }
  say(f, c, p->name, p->doc, range);
}

static void
say_memory(const frame* f, chart* c, const item* it)
{
  if (f->blind.is_on) {
    say(f, c, it->name, "One of A and B; nobody knows which.",
        it->param == blind_now(f) ? "plays" : "Ctrl+B");
  } else if (it->param == f->kept->now) {
    say(f, c, it->name, "Plays: its controls are the ones you see.",
        "Ctrl+Shift+B copies it");
  } else {
    say(f, c, it->name,
        "Click calls these controls up, shift-click copies the others here.",
        "Ctrl+B");
  }
}

static void
say_blind(const frame* f, chart* c)
{
  if (f->blind.is_on) {
    say(f, c, "Tell", "Says which of 1 and 2 is A and which is B.", "");
  } else if (!memories_differ(f)) {
    say(f, c, "Blind", "Compares A and B unseen, once they differ.", "");
  } else if (!blind_can(f)) {
    say(f, c, "Blind",
        "Compares A and B unseen, once both have played for about 4 s.", "");
  } else {
    say(f, c, "Blind",
        "A and B become 1 and 2 by lot; the sheet hides what would tell.", "");
  }
}

static void
say_entry(const frame* f, chart* c, uint32_t entry)
{
  const char*       key  = "";
  const char* const text = row_menu_help(entry, &key);
  say(f, c, frame_info(f, (uint32_t)f->menu_param)->name, text, key);
}

/// A line of the menu of setups
static void
say_line(const frame* f, chart* c, const item* it)
{
  const char*       name = "";
  const char* const text = setup_menu_help(f, it, &name);
  say(f, c, name, text, "");
}

/// The words of the header that open menus, and what is in them
static void
say_menu(const frame* f, chart* c, const item* it)
{
  switch (it->kind) {
    case ITEM_ENTRY:
      say_entry(f, c, it->param);
      break;
    case ITEM_MENU:
      say(f, c, "Setup",
          "Loads and saves this stage; ground and scale of all windows.", "");
      break;
    case ITEM_GROUP:
      say(f, c, "Group",
          "Windows of one kind move together by equal steps; differences stay.",
          "");
      break;
    case ITEM_GROUP_LINE:
      say(f, c, it->name, group_menu_help(f, it->param), "");
      break;
    case ITEM_TRACK_ROW:
      say(f, c, "Row",
          "The same number in all windows of a track makes them one row.", "");
      break;
    case ITEM_OFFER:
      say(f, c, "Row", "Enters this row, of windows that the host runs apart.",
          "");
      break;
    case ITEM_WHOLE_ROW:
      say(f, c, f->of_track.name,
          "All open windows of the row play untreated, as loud, and back.",
          "Ctrl+R");
      break;
    case ITEM_GROUND:
      say(f, c, "Ground", "Of all windows; remembered.", "");
      break;
    case ITEM_SCALE:
      say(f, c, "Scale", "Of all windows; remembered.", "");
      break;
    default:
      say_line(f, c, it);
      break;
  }
}

static void
say_item(const frame* f, chart* c, const item* it)
{
  switch (it->kind) {
    case ITEM_ROW:
      say_param(f, c, it->param);
      break;
    case ITEM_CHECK:
      say(f, c, "Equal loudness",
          "The untreated signal plays as loud as the treated one, and A as "
          "loud as B.",
          "");
      break;
    case ITEM_MEMORY:
      say_memory(f, c, it);
      break;
    case ITEM_BLIND:
      say_blind(f, c);
      break;
    case ITEM_MATCH:
      say(f, c, "Match",
          frame_can_match(f)
            ? "Takes the change of level off, by the output trim."
            : "Takes the change of level off, by the output trim, once 3 s of "
              "playing are counted.",
          "");
      break;
    case ITEM_ACT:
      say(f, c, f->pic->act->name,
          frame_can_act(f) ? f->pic->act->help : f->pic->act->not_yet, "");
      break;
    case ITEM_UNDO:
      say(f, c, "Undo", "Takes the last move back.", "Ctrl+Z");
      break;
    case ITEM_REDO:
      say(f, c, "Redo", "Does again what was taken back.", "Ctrl+Shift+Z");
      break;
    case ITEM_COPY:
      say(f, c, "Copy", "Copies all values, as the text of a setup.", "Ctrl+C");
      break;
    case ITEM_PASTE:
      say(f, c, "Paste",
          "Takes this stage's values from a text: copied here, or a setup.",
          "Ctrl+V");
      break;
    default:
      say_menu(f, c, it);
      break;
  }
}

static void
say_handle(const frame* f, chart* c, const picture_handle* h)
{
  const int row = h->upright >= 0 ? h->upright : h->across;
  if (row >= 0) {
    say_param(f, c, SHELL_FIRST_PARAMS + (uint32_t)row);
  }
}

void
frame_say(frame* f, const char* format, ...)
{
  va_list args;
  va_start(args, format);
  // NOLINTNEXTLINE(clang-analyzer-valist.Uninitialized): it is, one line up
  (void)vsnprintf(f->said, sizeof(f->said), format, args);
  va_end(args);
  f->bands |= BAND_HELP;
}

const char*
frame_said(const frame* f)
{
  return f->said;
}

void
help_question(const frame* f, char text[HELP_QUESTION])
{
  text[0] = '\0';
  if (f->loaded.is_offered) {
    (void)snprintf(text, HELP_QUESTION, "%s changed:", f->loaded.changed);
  } else if (group_asks(f)) {
    group_question(f, text);
  }
}

void
help_ask(frame* f)
{
  char text[HELP_QUESTION];
  help_question(f, text);
  if (text[0]) {
    f->said[0] = '\0';
    f->bands |= BAND_HELP;
  }
}

/// Something to be decided: words to be pressed follow
static void
say_question(const frame* f, chart* c)
{
  const double y = layout_band(f, BAND_HELP).y + 19;
  char         text[HELP_QUESTION];
  help_question(f, text);
  chart_text(c, word, MARGIN, y, "%s", text);
  for (uint32_t i = 0; i < f->n_items; ++i) {
    const item* const it = &f->items[i];
    if (it->kind != ITEM_ANSWER) {
      continue;
    }
    chart_text(c, word, it->x, y, "%s", it->name);
    chart_line(c, it->x, y + 3, it->x + it->w, y + 3, 1,
               (int)i == f->hover ? CHART_BLUE : CHART_INK);
    if ((int)i == f->focus) {
      chart_frame(c, it->box, 1, CHART_INK);
    }
  }
}

/// What the last thing done has to say, cut where the room ends
static void
say_message(const frame* f, chart* c)
{
  char   text[FRAME_SAID + 4];
  size_t n = strlen(f->said);
  memcpy(text, f->said, n + 1);
  while (n && chart_text_width(c, muted, "%s", text) > f->width - 2 * MARGIN) {
    do {
      --n;
    } while (n && ((unsigned char)text[n] & 0xC0U) == 0x80U);
    memcpy(text + n, "\xE2\x80\xA6", 4);
  }
  say(f, c, "", text, "");
}

void
help_draw(const frame* f, chart* c)
{
  const double y = layout_band(f, BAND_HELP).y;
  chart_line(c, 0, y, f->width, y, 1, CHART_RULE);
  const int index = f->hover >= 0 ? f->hover : f->focus;
  if (f->said[0]) {
    say_message(f, c);
    return;
  }
  if (f->loaded.is_offered || (group_asks(f) && !f->is_menu_open)) {
    say_question(f, c);
    return;
  }
  if (f->hover_handle >= 0 && f->hover_handle < (int)f->n_handles) {
    say_handle(f, c, &f->handles[f->hover_handle]);
    return;
  }
  if (f->blind.is_on && (index < 0 || blind_shuts(f, &f->items[index]))) {
    say(f, c, "Blind", "1 and 2 are A and B, drawn by lot. Tell says which.",
        "Ctrl+B swaps");
    return;
  }
  if (index >= 0) {
    say_item(f, c, &f->items[index]);
    return;
  }
  shell_meters m;
  char         latency[64] = "no latency";
  memcpy(&m, f->meter, sizeof(m));
  if (m.latency_frames > 0) {
    (void)snprintf(latency, sizeof(latency), "latency %.0f frames",
                   (double)m.latency_frames);
  }
  if (f->value[ENABLED] > 0.0F) {
    say(f, c, "", f->form.plugin->summary, latency);
  } else {
    say(f, c, "Off",
        f->value[1] > 0.0F
          ? "The input passes, as loud as the stage would play."
          : "The input passes, as late as the stage would play.",
        latency);
  }
}
