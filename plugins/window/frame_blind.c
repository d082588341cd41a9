// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

/// A against B without knowing which is which: they are called 1 and 2, as
/// drawn by lot, and the sheet shows nothing that depends on the controls

#include "frame_state.h"
#include "plugins/window/controls/chance.h"

bool
blind_can(const frame* f)
{
  return memories_differ(f) && (!compare_is_on(f) || compare_is_settled(f));
}

uint32_t
blind_now(const frame* f)
{
  return f->kept->now ^ (f->blind.is_swapped ? 1U : 0U);
}

void
blind_call(frame* f, uint32_t label)
{
  memory_turn(f, label ^ (f->blind.is_swapped ? 1U : 0U));
  f->bands = BAND_ALL;
}

void
blind_begin(frame* f)
{
  if (!blind_can(f) || f->blind.is_on) {
    return;
  }
  gesture_end(f);
  f->blind = (blind_state){true, (chance_bits() & 1U) != 0, f->kept->now};
  blind_call(f, 0);
  layout_build(f);
}

void
blind_tell(frame* f)
{
  const gesture g = {.kind = GESTURE_SWITCH};
  if (!f->blind.is_on) {
    return;
  }
  const bool is_swapped = f->blind.is_swapped;
  f->blind.is_on        = false;
  if (f->kept->now != f->blind.from) { // One step, however often it swapped
    history_keep(f, &g);
  }
  frame_say(f, "1 was %c, 2 was %c.  %c plays.", "AB"[is_swapped],
            "BA"[is_swapped], "AB"[f->kept->now]);
  f->bands = BAND_ALL;
}

bool
blind_shuts(const frame* f, const item* it)
{
  return f->blind.is_on && it->kind != ITEM_MEMORY && it->kind != ITEM_BLIND &&
         it->kind != ITEM_MENU && it->kind != ITEM_GROUND &&
         it->kind != ITEM_SCALE;
}
