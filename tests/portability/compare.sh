#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# compare.sh PLAYER COMPARE
# What ./dev portability judges by: two runs are identical, also with the answers
# of libm noted by the first; one bit changed is seen, and by how much.  And a
# libm that rounds its last bits another way makes the same sound.
set -eu
player=$1 compare=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir "$work/a" "$work/b" "$work/shaken"

fail() {
  echo "$*"
  exit 1
}

"$player" "$work/a" note "$work/libm" >"$work/a.hashes"
missing=$("$player" "$work/b" take "$work/libm" 2>&1 >"$work/b.hashes")
[ "$missing" = 0 ] || fail "$missing questions were not asked the first time"
cmp "$work/a.hashes" "$work/b.hashes"
[ "$(cut -d' ' -f2 "$work/a.hashes" | sort -u | wc -l)" = "$(wc -l <"$work/a.hashes")" ] ||
  fail "two forms sound the same"

forms=$(sed 's/ .*//; s/^urn:dustcap://' "$work/a.hashes")
# shellcheck disable=SC2086 # A word for each form
said=$("$compare" "$work/a" "$work/b" $forms) || fail "identical runs: exit $?"
[ "$said" = identical ] || fail "identical runs: $said"

"$player" "$work/shaken" shake >/dev/null
# shellcheck disable=SC2086
said=$("$compare" "$work/a" "$work/shaken" $forms) || fail "another libm: $said"

# 1 against 0.5, and a zero in both: 6.02 dB apart
printf '\000\000\200\077\000\000\000\000' >"$work/a/half.f32"
printf '\000\000\000\077\000\000\000\000' >"$work/b/half.f32"
status=0
# shellcheck disable=SC2086
said=$("$compare" "$work/a" "$work/b" $forms half) || status=$?
[ "$status $said" = "1 half -6.0" ] || fail "half a sample: $status $said"

: >"$work/b/half.f32"
status=0
"$compare" "$work/a" "$work/b" half 2>/dev/null || status=$?
[ "$status" = 2 ] || fail "not as long: exit $status"
