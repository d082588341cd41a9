#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# presets.sh LV2_FOLDER RENDER PRESETS SETUP_FOLDER PROGRAMS
# Checks that a third-party host, lv2file, finds the presets of the bundle and
# of a user by name, and plays with them, to the bit, what the renderer plays
# with the setup that they were made from.
set -eu
render=$2 presets=$3 setups=$4 programs=$5
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
export LC_ALL=C LV2_PATH="$1:$dir/lv2:/usr/lib/lv2"

command -v lv2file >/dev/null || {
  echo "skipped: no lv2file"
  exit 77
}

if nm -D "$1/dustcap.lv2/dustcap.so" | grep -q __asan; then
  echo "skipped: a sanitized module does not load into a plain host"
  exit 77
fi

frames=24000
"$programs/host_sound" $frames "$dir/mono.wav" "$dir/stereo.wav"

# check SETUP: all its presets, one stage after the other
check() {
  name=$(basename "$1" .ini | tr - ' ')
  name=$(printf %.1s "$name" | tr '[:lower:]' '[:upper:]')${name#?}
  case $1 in */bus*.ini) form=stereo ;; *) form=mono ;; esac

  # The presets do not hold the alignment: leave it out of the comparison
  printf 'align = no\nfrom = %s\n' "$1" >"$dir/plain.ini"
  "$render" "$dir/$form.wav" --setup "$dir/plain.ini" -o "$dir/want.wav" --bits float \
    --tail 0 >"$dir/table" 2>"$dir/said"
  latency=$(awk '$1 == "total" { print $NF }' "$dir/table")
  stages=$(awk '$1 == "total" { exit } on { print $1 } $1 == "stage" { on = 1 }' "$dir/table")
  [ -n "$latency" ] && [ -n "$stages" ]

  cp "$dir/$form.wav" "$dir/now.wav"
  for stage in $stages; do
    list=$dir/list-$stage
    [ -s "$list" ] || lv2file -L "urn:dustcap:$stage" >"$list" 2>/dev/null
    grep -qx "Preset: $name" "$list" || {
      echo "lv2file does not list '$name' of $stage"
      exit 1
    }
    lv2file -i "$dir/now.wav" -o "$dir/next.wav" -P "$name" --ignore-clipping \
      "urn:dustcap:$stage" >/dev/null 2>&1
    mv "$dir/next.wav" "$dir/now.wav"
  done

  # The host's output is late; what is missing at its end is not compared
  channels=$(($(wc -c <"$dir/want.wav") / frames / 4))
  "$programs/host_samples" "$dir/now.wav" | tail -c +$((latency * channels * 4 + 1)) >"$dir/got.raw"
  "$programs/host_samples" "$dir/want.wav" | head -c "$(wc -c <"$dir/got.raw")" >"$dir/want.raw"
  [ -s "$dir/got.raw" ] && cmp "$dir/got.raw" "$dir/want.raw" || {
    echo "$name: not what the renderer plays"
    exit 1
  }
  echo "$name: same in lv2file and the renderer"
}

for setup in "$setups"/*.ini; do
  check "$setup"
done

# A user's own setups: one builds on the other, none on the bundle's
sed 's/^drive_db.*/drive_db = 11/' "$setups/rhythm.ini" >"$dir/my-rhythm.ini"
sed 's/rhythm\.ini/my-rhythm.ini/' "$setups/lead.ini" >"$dir/my-lead.ini"
rm -f "$dir"/list-*
"$presets" "$dir/my-rhythm.ini" "$dir/my-lead.ini" -o "$dir/lv2" >/dev/null
check "$dir/my-rhythm.ini"
check "$dir/my-lead.ini"

# An unknown name finds no preset
! lv2file -i "$dir/mono.wav" -o "$dir/next.wav" -P "Nobody" urn:dustcap:air-shelf \
  >/dev/null 2>&1
