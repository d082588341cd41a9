// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "sheet.h"

#include <string.h>

enum { MAX_NAMED = 9 };

/// A heading, and symbols with the rest of their names (NULL: the whole name)
typedef struct {
  const char* heading;
  struct {
    const char* symbol;
    const char* name;
  } rows[MAX_NAMED];
} named_column;

typedef struct {
  const char*  stem;
  named_column columns[SHEET_MAX_COLUMNS];
} named_sheet;

static const named_sheet sheets[] = {
  {"di-cleanup",
   {{"Gain and low cut",
     {{"gain_db", NULL}, {"low_cut_hz", NULL}, {"low_cut_slope", "Slope"}}},
    {"Body",
     {{"body_hz", "Frequency"}, {"body_db", "Gain"}, {"body_oct", "Width"}}},
    {"Presence",
     {{"presence_hz", "Frequency"},
      {"presence_db", "Gain"},
      {"presence_oct", "Width"}}},
    {"Noise", {{"hum", NULL}, {"pause_db", NULL}, {"pause_below_db", NULL}}}}},
  {"input-compressor",
   {{"Curve", {{"threshold_db", NULL}, {"ratio", NULL}, {"knee_db", NULL}}},
    {"Time", {{"timing", NULL}, {"attack_ms", NULL}, {"release_ms", NULL}}},
    {"Behind",
     {{"edge_pc", NULL},
      {"blend_pc", NULL},
      {"makeup", NULL},
      {"makeup_db", NULL}}}}},
  {"tube-stage",
   {{"In front", {{"drive_db", NULL}, {"bright_db", NULL}}},
    {"Triodes", {{"stages", NULL}, {"bias_pc", NULL}, {"sag_pc", NULL}}},
    {"Behind", {{"blend_pc", NULL}, {"quality", NULL}}}}},
  {"thickening-echo",
   {{"Time", {{"time_ms", NULL}, {"repeats_pc", NULL}, {"flutter_pc", NULL}}},
    {"Mix", {{"wet_db", NULL}, {"dry", NULL}}},
    {"Tone", {{"low_cut_hz", NULL}, {"lift_db", NULL}, {"drive_db", NULL}}}}},
  {"speaker-breakup",
   {{"Loudspeaker",
     {{"cone", NULL},
      {"back", NULL},
      {"source_ohm", NULL},
      {"off_axis_pc", NULL},
      {"cabinet", NULL}}},
    {"When played hard",
     {{"breakup_db", NULL},
      {"mix_pc", NULL},
      {"feedback_pc", NULL},
      {"squeeze_db", NULL},
      {"shift_oct", NULL}}},
    {"Playing",
     {{"drive_db", NULL},
      {"follow_pc", NULL},
      {"attack_ms", NULL},
      {"release_ms", NULL},
      {"quality", NULL}}}}},
  {"proximity-lift",
   {{"Place", {{"distance_cm", NULL}, {"source_cm", NULL}}},
    {"Microphone", {{"pattern", NULL}}},
    {"Detail",
     {{"lift_db", NULL}, {"lift_below_db", NULL}, {"floor_db", NULL}}}}},
  {"air-shelf",
   {{"Presence", {{"presence_hz", "Frequency"}, {"presence_db", "Gain"}}},
    {"Air", {{"air_hz", "Frequency"}, {"air_db", "Gain"}}},
    {"Loud treble", {{"gentle_pc", NULL}}}}},
  {"plate-send",
   {{"Decay",
     {{"decay_s", NULL},
      {"low_decay_pc", NULL},
      {"high_decay_pc", NULL},
      {"quality", NULL}}},
    {"Into the plate",
     {{"predelay_ms", NULL},
      {"low_cut_hz", NULL},
      {"high_cut_hz", NULL},
      {"treble_db", NULL}}},
    {"Out of it", {{"width_pc", NULL}, {"wet_db", NULL}, {"dry", NULL}}}}},
  {"room-send",
   {{"Room", {{"room", "Walls"}, {"volume_m3", NULL}, {"decay_pc", NULL}}},
    {"Microphones",
     {{"distance_m", NULL}, {"spacing_m", NULL}, {"predelay_ms", NULL}}},
    {"Into the room", {{"low_cut_hz", NULL}, {"high_cut_hz", NULL}}},
    {"Out of it",
     {{"early_db", NULL},
      {"late_db", NULL},
      {"wet_db", NULL},
      {"dry", NULL}}}}},
  {"bus-tone",
   {{"Both",
     {{"low_cut_hz", NULL},
      {"presence_hz", "Presence at"},
      {"presence_db", NULL},
      {"presence_oct", NULL}}},
    {"Middle", {{"mid_body_hz", "Body at"}, {"mid_body_db", "Body"}}},
    {"Sides",
     {{"side_body_hz", "Body at"},
      {"side_body_db", "Body"},
      {"side_treble_hz", "Treble at"},
      {"side_treble_db", "Treble"}}},
    {"Width", {{"width_pc", NULL}, {"mono_below_hz", NULL}}}}},
  {"bus-leveler",
   {{"Curve", {{"threshold_db", NULL}, {"ratio", NULL}, {"blend_pc", NULL}}},
    {"Cell", {{"speed_pc", NULL}, {"memory", NULL}, {"low_cut_hz", NULL}}},
    {"Level", {{"makeup", NULL}, {"makeup_db", NULL}}}}},
};

static void
add_row(const plugin* p, sheet_column* c, uint32_t param, const char* name)
{
  if (c->n < SHEET_MAX_ROWS) {
    c->rows[c->n++] =
      (sheet_row){param, name ? name : shell_param(p, param)->name};
  }
}

static void
take_columns(const plugin* p, const named_sheet* from, sheet* s)
{
  while (s->n < SHEET_MAX_COLUMNS && from->columns[s->n].heading) {
    const named_column* const column = &from->columns[s->n];
    sheet_column* const       to     = &s->columns[s->n++];
    to->heading                      = column->heading;
    for (uint32_t k = 0; k < MAX_NAMED && column->rows[k].symbol; ++k) {
      const int param = shell_port(p, column->rows[k].symbol);
      if (param >= 0) {
        add_row(p, to, (uint32_t)param, column->rows[k].name);
      }
    }
  }
}

static bool
has_row(const sheet* s, uint32_t param)
{
  for (uint32_t i = 0; i < s->n; ++i) {
    for (uint32_t k = 0; k < s->columns[i].n; ++k) {
      if (s->columns[i].rows[k].param == param) {
        return true;
      }
    }
  }
  return false;
}

static void
add_others(const plugin* p, sheet* s)
{
  for (uint32_t i = 0; i < shell_param_count(p); ++i) {
    if (!shell_param_is_stages(p, i) || has_row(s, i)) {
      continue;
    }
    sheet_column* shortest = &s->columns[0];
    for (uint32_t k = 1; k < s->n; ++k) {
      shortest = s->columns[k].n < shortest->n ? &s->columns[k] : shortest;
    }
    add_row(p, shortest, i, NULL);
  }
}

sheet
sheet_of(const plugin* p)
{
  static const named_sheet any = {
    "", {{"", {{NULL, NULL}}}, {" ", {{NULL, NULL}}}, {" ", {{NULL, NULL}}}}};

  sheet              s    = {.n = 0};
  const named_sheet* from = &any;
  for (size_t i = 0; i < sizeof(sheets) / sizeof(sheets[0]); ++i) {
    from = strcmp(sheets[i].stem, p->stem) ? from : &sheets[i];
  }
  take_columns(p, from, &s);
  add_others(p, &s);
  for (uint32_t i = 0; i < s.n; ++i) {
    s.most_rows = s.columns[i].n > s.most_rows ? s.columns[i].n : s.most_rows;
  }
  return s;
}

// ---------------------------------------------------------------------------
// Without effect

/// A control that does nothing while another has a value.
/// tests/window/test_sheet.c plays all of them.
typedef struct {
  const char* stem; ///< NULL: all that have both
  const char* symbol;
  const char* other;
  float       value;
} no_effect;

static const no_effect rules[] = {
  {NULL, "makeup_db", "makeup", 0},
  {"input-compressor", "attack_ms", "timing", 0},
  {"input-compressor", "release_ms", "timing", 0},
  {"bus-tone", "mid_body_hz", "mid_body_db", 0},
  {"bus-tone", "side_body_hz", "side_body_db", 0},
  {"bus-tone", "side_treble_hz", "side_treble_db", 0},
  {"bus-tone", "presence_hz", "presence_db", 0},
  {"bus-tone", "presence_oct", "presence_db", 0},
  {"di-cleanup", "body_hz", "body_db", 0},
  {"di-cleanup", "body_oct", "body_db", 0},
  {"di-cleanup", "presence_hz", "presence_db", 0},
  {"di-cleanup", "presence_oct", "presence_db", 0},
  {"air-shelf", "air_hz", "air_db", 0},
};

bool
sheet_has_effect(const plugin* p, uint32_t param, const float* values)
{
  const char* const symbol = shell_param(p, param)->symbol;
  for (size_t i = 0; i < sizeof(rules) / sizeof(rules[0]); ++i) {
    const no_effect* const r = &rules[i];
    if ((r->stem && strcmp(r->stem, p->stem) != 0) ||
        strcmp(r->symbol, symbol) != 0) {
      continue;
    }
    const int other = shell_port(p, r->other);
    if (other >= 0 && values[other] == r->value) {
      return false;
    }
  }
  return true;
}

bool
sheet_is_polar(const plugin* p, uint32_t param)
{
  return !strcmp(p->stem, "proximity-lift") &&
         !strcmp(shell_param(p, param)->symbol, "pattern");
}
