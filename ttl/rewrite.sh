#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# rewrite.sh WRITER PRESETS SETUPS FOLDER README
# Writes the Turtle into FOLDER, the presets of all setups among it, and
# README's tables of controls between its two marks.
set -eu
export LC_ALL=C # The same order of setups everywhere
writer=$1 presets=$2 setups=$3 folder=$4 readme=$5

"$writer" "$folder"
# Against the Turtle just written: a control that is new there is new here
"$presets" --bundle "$folder" --factory "$folder" "$setups"/*.ini
manual=$(mktemp)
trap 'rm -f "$manual" "$manual.new"' EXIT
"$writer" --manual >"$manual"
awk -v manual="$manual" '
  /<!-- controls end -->/ { skip = 0 }
  !skip { print }
  /<!-- controls begin/ {
    skip = 1
    print ""
    while ((getline line < manual) > 0) print line
    print ""
  }
' "$readme" >"$manual.new"
cat "$manual.new" >"$readme"
