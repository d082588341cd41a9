#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# realtime_effects.sh CLANG BUILD_FOLDER
# Runs Clang's function effect analysis over a copy of common/ and plugins/ in
# which every function of a header is NONBLOCKING: each call that could
# allocate, lock or wait, however deep, is an error.  Run it from the top of the
# sources.
set -eu

clang=$1
build=$2
copy=$build/effects

# Called by instantiate() alone: builders of tables, once per process behind a
# lock, and the functions that lead to them
slow="shell_descriptor shell_form stage_init"
slow="$slow tube_voice_prepare tube_table_build tube_stage_init"
slow="$slow sinc_table tape_line_init thickening_echo_init"
slow="$slow plate_list_modes plate_modes_build plate_modes_init plate_body_init plate_send_init"

compile() {
  "$clang" -std=c11 -fsyntax-only -D_POSIX_C_SOURCE=200809L -Wfunction-effects \
    -Werror=function-effects -include "$copy/common/core/dsp.h" -I "$copy" \
    -I "$build" "$1"
}

rm -rf "$copy"
for file in $(cd . && find common plugins -name '*.[ch]'); do
  mkdir -p "$copy/$(dirname "$file")"
  awk -v slow="$slow" -f tests/realtime/realtime_mark.awk "$file" >"$copy/$file"
done
marked=$(find "$copy/common" -name '*.h' -exec cat {} + | grep -c 'NONBLOCKING;$')
[ "$marked" -gt 200 ] || {
  echo "only $marked functions were marked: see realtime_mark.awk"
  exit 1
}

# The check must be able to fail: a function that a header declares calls free()
printf '#include "common/filters/svf.h"\n#include <stdlib.h>\n%s\n' \
  'void svf_reset(svf* f) { free(f); }' >"$copy/probe.c"
if compile "$copy/probe.c" 2>"$copy/probe.log"; then
  echo "a call of free() was not seen"
  exit 1
fi
grep -q "must not call non-'nonblocking' function 'free'" "$copy/probe.log" || {
  cat "$copy/probe.log"
  exit 1
}

status=0
n=0
for file in $(find "$copy/common" "$copy/plugins" -name '*.c'); do
  compile "$file" || status=1
  n=$((n + 1))
done
echo "$marked functions checked as nonblocking, $n files read"
exit $status
