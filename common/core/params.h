// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// How controls and meters are declared: once, as rows of a table.
///
/// A stage lists its controls in an X-macro, `STAGE_PARAMS(NUM, TOG, SEL)`.
/// One row gives the C field, the LV2 symbol, name, unit, range, default,
/// taper and the sentence that hosts and the manual show:
///
///   NUM(field_unit, "Name", UNIT, min, default, max, LIN|LOG, "Sentence.")
///   TOG(field, "Name", default, "Sentence.")
///   SEL(field, "Name", default, n, "first|second|...", "Sentence.")
///
/// and its control outputs in `STAGE_METERS(MET)`:
///
///   MET(field_unit, "Name", UNIT, min, max, "Sentence.")
///
/// Row order is port order.  A toggle is 0 or 1; a selection counts from 0 in
/// the order of its labels.  All values are floats, as in LV2.

#ifndef COMMON_CORE_PARAMS_H
#define COMMON_CORE_PARAMS_H

#include <stdbool.h>
#include <stdint.h>

/// Limits of one stage, for those who keep the values of any: held when a table
/// is declared
#define PARAMS_MAX 36
#define METERS_MAX 12

typedef enum {
  UNIT_NONE,
  UNIT_CM,
  UNIT_DB,
  UNIT_FRAMES,
  UNIT_HZ,
  UNIT_M,
  UNIT_M3,
  UNIT_MS,
  UNIT_OCT,
  UNIT_OHM,
  UNIT_PC,
  UNIT_S,
} param_unit;

typedef enum { PARAM_NUM, PARAM_TOG, PARAM_SEL } param_kind;

typedef enum { TAPER_LIN, TAPER_LOG } param_taper;

/// One control input
typedef struct {
  const char* symbol;
  const char* name;
  const char* doc;
  const char* labels; ///< Choices of a selection, separated by '|', else NULL
  param_kind  kind;
  param_unit  unit;
  param_taper taper;
  float       min, def, max;
  bool        is_hidden; ///< For a window to keep: not shown, not heard
} param_info;

/// One control output
typedef struct {
  const char* symbol;
  const char* name;
  const char* doc;
  param_unit  unit;
  float       min, max;
} meter_info;

#define PARAMS_FIELD_NUM(id, name, unit, min, def, max, taper, doc) float id;
#define PARAMS_FIELD_TOG(id, name, def, doc)                        float id;
#define PARAMS_FIELD_SEL(id, name, def, n, labels, doc)             float id;

#define PARAMS_INFO_NUM(id, name, unit, min, def, max, taper, doc) \
  {#id,           name, doc, 0,   PARAM_NUM, UNIT_##unit,          \
   TAPER_##taper, min,  def, max, false},
#define PARAMS_INFO_TOG(id, name, def, doc) \
  {#id, name, doc, 0, PARAM_TOG, UNIT_NONE, TAPER_LIN, 0, def, 1, false},
#define PARAMS_INFO_SEL(id, name, def, n, labels, doc) \
  {#id,       name, doc, labels, PARAM_SEL, UNIT_NONE, \
   TAPER_LIN, 0,    def, (n)-1,  false},

/// Rows that are hidden
#define PARAMS_HIDDEN_NUM(id, name, unit, min, def, max, taper, doc) \
  {#id,           name, doc, 0,   PARAM_NUM, UNIT_##unit,            \
   TAPER_##taper, min,  def, max, true},
#define PARAMS_HIDDEN_SEL(id, name, def, n, labels, doc) \
  {#id,       name, doc, labels, PARAM_SEL, UNIT_NONE,   \
   TAPER_LIN, 0,    def, (n)-1,  true},

#define METERS_FIELD(id, name, unit, min, max, doc) float id;
#define METERS_INFO(id, name, unit, min, max, doc) \
  {#id, name, doc, UNIT_##unit, min, max},

/// In a header: the struct `stem_params` (floats only, in row order) and the
/// table `stem_param_info`
#define PARAMS_DECLARE(stem, ROWS)                                  \
  typedef struct {                                                  \
    ROWS(PARAMS_FIELD_NUM, PARAMS_FIELD_TOG, PARAMS_FIELD_SEL)      \
  } stem##_params;                                                  \
  enum { stem##_n_params = sizeof(stem##_params) / sizeof(float) }; \
  _Static_assert((int)stem##_n_params <= PARAMS_MAX,                \
                 #stem " has more controls than PARAMS_MAX");       \
  extern const param_info stem##_param_info[stem##_n_params];

/// In the source beside it
#define PARAMS_DEFINE(stem, ROWS)                         \
  const param_info stem##_param_info[stem##_n_params] = { \
    ROWS(PARAMS_INFO_NUM, PARAMS_INFO_TOG, PARAMS_INFO_SEL)};

/// The same for control outputs: `stem_meters` and `stem_meter_info`
#define METERS_DECLARE(stem, ROWS)                                  \
  typedef struct {                                                  \
    ROWS(METERS_FIELD)                                              \
  } stem##_meters;                                                  \
  enum { stem##_n_meters = sizeof(stem##_meters) / sizeof(float) }; \
  _Static_assert((int)stem##_n_meters <= METERS_MAX,                \
                 #stem " has more meters than METERS_MAX");         \
  extern const meter_info stem##_meter_info[stem##_n_meters];

#define METERS_DEFINE(stem, ROWS) \
  const meter_info stem##_meter_info[stem##_n_meters] = {ROWS(METERS_INFO)};

#endif // COMMON_CORE_PARAMS_H
