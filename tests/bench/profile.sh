#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Instructions per frame of every plugin, and their functions, counted by
# callgrind: the same on every run, whatever the load of the machine.
#
# usage: profile.sh PROGRAM BUNDLE_FOLDER [STEM [silence] [SYMBOL=VALUE]...]
# silence: counts after 20 s of silence
set -euo pipefail

program=$1
folder=$2
shift 2
frames=24000
top=6
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

mapfile -t stems < <("$program" --stems)
controls=()
if (($#)); then
  stems=("$1")
  top=20
  shift
  controls=("$@")
fi

printf '%-18s %9s   %s\n' plugin instr 'share of it by function (what it calls left out)'
for stem in "${stems[@]}"; do
  valgrind --tool=callgrind --toggle-collect=profile_play \
    --callgrind-out-file="$work/out" "$program" "$folder" "urn:dustcap:$stem" \
    "$frames" "${controls[@]}" >"$work/log" 2>&1 || {
    cat "$work/log" >&2
    exit 1
  }
  callgrind_annotate --threshold=100 "$work/out" |
    awk -v stem="$stem" -v frames=$frames -v top=$top '
      function plain(s) { gsub(/,/, "", s); return s + 0 }
      /PROGRAM TOTALS/ { total = plain($1); next }
      total && match($0, /:[^ ]+/) && n < top {
        name = substr($0, RSTART + 1, RLENGTH - 1)
        sub(/\.(avx2|default|constprop|isra|part|arch_x86_64).*/, "", name)
        share = 100 * plain($1) / total
        if (share < 1) next
        list = list sprintf("%s%s %.0f %%", n++ ? ", " : "", name, share)
      }
      END { printf "%-18s %9.0f   %s\n", stem, total / frames, list }'
done
