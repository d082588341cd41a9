// SPDX-FileCopyrightText: 2026 The Dustcap authors
// SPDX-License-Identifier: ISC

#include "message.h"

#include "mark.h"

#include <string.h>

enum { STEM_BITS = 5, GROUP_BITS = 3, MARK_BITS = 24 };

window_message
message_pack(const message* m)
{
  window_message w = {
    {(uint32_t)m->kind << MARK_BITS | m->song,
     m->stem << (GROUP_BITS + MARK_BITS) | m->group << MARK_BITS | m->sender,
     m->a, (uint32_t)m->b, 0}};
  if (m->kind == MESSAGE_NAME) {
    memcpy(&w.word[2], m->text, MESSAGE_TEXT);
  }
  return w;
}

/// Letters, digits and what setups' names have besides
static bool
is_plain(char c)
{
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
         (c >= '0' && c <= '9') || (c && strchr(" -_.+", c));
}

static bool
read_text(const window_message* w, message* m)
{
  memcpy(m->text, &w->word[2], MESSAGE_TEXT);
  m->text[MESSAGE_TEXT] = '\0';
  for (const char* c = m->text; *c; ++c) {
    if (!is_plain(*c)) {
      return false;
    }
  }
  return true;
}

bool
message_unpack(const window_message* w, message* m)
{
  const uint32_t kind = w->word[0] >> MARK_BITS;
  *m                  = (message){
                     .kind   = (message_kind)kind,
                     .song   = w->word[0] & MARK_MOST,
                     .sender = w->word[1] & MARK_MOST,
                     .stem   = w->word[1] >> (GROUP_BITS + MARK_BITS),
                     .group  = w->word[1] >> MARK_BITS & ((1U << GROUP_BITS) - 1U),
                     .a      = w->word[2],
                     .b      = (int32_t)w->word[3],
  };
  return kind >= MESSAGE_ASK && kind < MESSAGE_KINDS && m->sender &&
         (kind != MESSAGE_NAME || read_text(w, m));
}
