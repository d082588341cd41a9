// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// The LV2 side that all plugins share: ports, defaults, clamping, bypass,
/// trim, meters, latency, denormals.  A plugin is a stage
/// (common/core/stage.h) and the few fields below; the stage never sees a port.
///
/// Ports, in this order and with the same indices in the mono and the stereo
/// form: the shell's first controls, stage controls, the shell's other
/// controls, the hidden ones, shell meters, stage meters, audio inputs, audio
/// outputs.
///
/// Hidden controls are the memory of a plugin's window, which the host saves
/// with the plugin and copies with a track.  The shell does not even read them:
/// they change no sound, no meter and no measurement.  They are no part of a
/// setup or a preset, and hosts are asked not to show them.

#ifndef PLUGINS_SHELL_H
#define PLUGINS_SHELL_H

#include "common/core/stage.h"

#include <lv2/core/lv2.h>

#define SHELL_URI_PREFIX "urn:dustcap:"

#define SHELL_PARAMS(NUM, TOG, SEL)                                        \
  TOG(enabled, "Enabled", 1,                                               \
      "Off passes the input through, at the same latency and without a "   \
      "click.")                                                            \
  TOG(match_bypass, "Level-matched bypass", 0,                             \
      "While bypassed, the untreated signal plays at the loudness of the " \
      "treated one, for a fair comparison.")                               \
  NUM(trim_db, "Output trim", DB, -24, 0, 24, LIN, "Gain after the stage.")

/// A float holds every whole number of 24 bits
#define SHELL_24_BITS 16777215.0F

#define SHELL_HIDDEN_PARAMS(NUM, SEL)                                         \
  NUM(window_mark, "Window's mark", NONE, 0, 0, SHELL_24_BITS, LIN,           \
      "Which plugin this is, for the memory of its window: a random number, " \
      "0 without one.")                                                       \
  SEL(group, "Group", 0, 5, "off|P|Q|R|S",                                    \
      "The group whose windows move together.")                               \
  NUM(group_mark, "Group's mark", NONE, 0, 0, SHELL_24_BITS, LIN,             \
      "Which song's group of that letter: a random number, 0 without one.")   \
  NUM(group_move, "Group's last move", NONE, 0, 0, SHELL_24_BITS, LIN,        \
      "Number of the group's last move that this plugin has followed.")       \
  NUM(group_mask, "Left alone by the group", NONE, 0, 0, SHELL_24_BITS, LIN,  \
      "Controls that do not follow, as bits: 1 the output trim, 2 the "       \
      "plugin's first own control, 4 its second, and so on.")                 \
  NUM(row, "Row", NONE, 0, 0, SHELL_24_BITS, LIN,                             \
      "The row of plugins, on one track, that are compared as a whole: its "  \
      "number less 1, and 8 times a random number for this song's; 0 is "     \
      "none.")

/// All of them, in their order
#define SHELL_ALL_PARAMS(NUM, TOG, SEL) \
  SHELL_PARAMS(NUM, TOG, SEL)           \
  SHELL_HIDDEN_PARAMS(NUM, SEL)

#define SHELL_METERS(MET)                                                  \
  MET(in_db, "Level in", DB, -120, 24,                                     \
      "RMS level of the input over the last 400 ms, in dBFS.")             \
  MET(out_db, "Level out", DB, -120, 24,                                   \
      "RMS level of the output over the last 400 ms, in dBFS.")            \
  MET(change_db, "Level change", DB, -120, 120,                            \
      "Gated level of the output minus that of the input, since the last " \
      "reset or change of a control.")                                     \
  MET(match_db, "Loudness change", DB, -104, 48,                           \
      "Loudness of the treated output minus that of the input, in LU, "    \
      "while level-matched bypass is on; else 0.")                         \
  MET(latency_frames, "Latency", FRAMES, 0, 1024,                          \
      "Delay of the output relative to the input, in frames.")

/// So many rows of the shell come before the stage's, the others after them: a
/// host shows controls in the order of their ports, and the signal meets the
/// trim last
#define SHELL_FIRST_PARAMS 2U

// NOLINTNEXTLINE(bugprone-macro-parentheses): a term of a sum
#define SHELL_COUNT(...) +1U
#define SHELL_N_HIDDEN   (0U SHELL_HIDDEN_PARAMS(SHELL_COUNT, SHELL_COUNT))
#define SHELL_N_LAST     (shell_n_params - SHELL_FIRST_PARAMS - SHELL_N_HIDDEN)

/// Controls that a group can leave alone one by one, by the bits of group_mask
#define SHELL_MASK_BITS 24U

PARAMS_DECLARE(shell, SHELL_ALL_PARAMS)
METERS_DECLARE(shell, SHELL_METERS)

/// The forms of a stem and their URIs
typedef enum {
  FORMS_TRACK, ///< Mono, plain URI; stereo, URI with "-stereo"
  FORMS_SEND,  ///< Mono in, stereo out, plain URI; stereo, with "-stereo"
  FORMS_BUS,   ///< Stereo only, plain URI
} plugin_forms;

/// Limits of one stage
#define STAGE_GROUPS_MAX 6
#define STAGE_MAIN_MAX   5

/// Controls in a row that belong together, from `symbol` to the next group
typedef struct {
  const char* symbol; ///< Of the first control
  const char* name;   ///< In a heading
} control_group;

typedef struct {
  const char*      stem; ///< Last part of the URI, and name of the Turtle file
  const char*      name;
  const char*      summary; ///< One sentence, for hosts and the manual
  const char*      type;    ///< LV2 class
  plugin_forms     forms;
  const stage_ops* ops;

  /// Of the stage's controls, in their order, the first from the first control
  /// on.  A name of NULL ends them.
  control_group groups[STAGE_GROUPS_MAX + 1];
  /// Symbols of those that count most, the most important first
  const char* main[STAGE_MAIN_MAX + 1];
} plugin;

/// One form of a plugin: what one LV2 URI stands for
typedef struct {
  const plugin* plugin;
  char          uri[64];
  bool          is_stereo_form; ///< The second form of a stem
  uint32_t      n_in, n_out;
} plugin_form;

/// Plugin `n`, from 0, in the order of a track; NULL beyond the last
const plugin*
shell_plugin(uint32_t n);

/// Number of forms of a plugin, and its form `i`
uint32_t
shell_form_count(const plugin* p);

plugin_form
shell_form(const plugin* p, uint32_t i);

/// Control inputs, by port
uint32_t
shell_param_count(const plugin* p);

/// So many of them, the first, are for people; the others are hidden
uint32_t
shell_shown_count(const plugin* p);

const param_info*
shell_param(const plugin* p, uint32_t i);

/// Whether control input `i` is the stage's, row `i` - SHELL_FIRST_PARAMS
bool
shell_param_is_stages(const plugin* p, uint32_t i);

/// Groups of the control inputs, in their order: the bypass, those of the
/// stage, the output, the hidden ones
uint32_t
shell_group_count(const plugin* p);

const char*
shell_group_name(const plugin* p, uint32_t group);

/// The bit of control input `i` in group_mask; 0 for the bypass and the hidden
/// ones, which follow nobody
uint32_t
shell_mask_bit(const plugin* p, uint32_t i);

/// The group of control input `i`
uint32_t
shell_group_of(const plugin* p, uint32_t i);

/// How much control input `i` counts, for a host that has room for some: more
/// is more, and no two are equal
uint32_t
shell_priority(const plugin* p, uint32_t i);

/// Control outputs, those of the shell first
uint32_t
shell_meter_count(const plugin* p);

const meter_info*
shell_meter(const plugin* p, uint32_t i);

/// Returns the port of a control input or output, or -1
int
shell_port(const plugin* p, const char* symbol);

/// LV2 descriptor `index` of all forms of all plugins; NULL beyond the last
const LV2_Descriptor*
shell_descriptor(uint32_t index);

#endif // PLUGINS_SHELL_H
