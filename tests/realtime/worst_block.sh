#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# worst_block.sh PROGRAM [INDEX...]
# Prints what the most expensive block of 64 frames costs, in instructions,
# against the median block of full-scale noise, for every form of every plugin
# or those named.  Fails above 2.
set -eu

program=$1
shift
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
status=0

printf '%-36s %8s %8s  worst block of each part, as a multiple (and which)\n' \
  plugin noise standing
# one INDEX: false beyond the last
one() {
  rm -f "$folder"/*
  "$program" "$1" >/dev/null 2>&1 || return 1
  LD_BIND_NOW=1 valgrind --tool=callgrind --callgrind-out-file="$folder/dump" \
    --compress-strings=no --compress-pos=no \
    "$program" "$1" >"$folder/uri" 2>"$folder/log" || {
    cat "$folder/log"
    exit 1
  }
  awk -v uri="$(cat "$folder/uri")" -v limit=2 \
    -f "$(dirname "$0")/worst_block.awk" "$folder"/dump.* || status=1
}

if [ $# -gt 0 ]; then
  for index; do
    one "$index" || exit 1
  done
else
  index=0
  while one "$index"; do
    index=$((index + 1))
  done
  [ "$index" -gt 0 ] || exit 1
fi
exit $status
