#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# rewrite.sh WRITER PRESETS SETUPS FOLDER MANUAL
# Write the Turtle into FOLDER, including the presets of all setups, and the parts
# of MANUAL between two marks.
set -eu
export LC_ALL=C # The same order of setups everywhere
writer=$1 presets=$2 setups=$3 folder=$4 manual=$5

"$writer" "$folder"
# Against the Turtle just written, so that presets know new controls
"$presets" --bundle "$folder" --factory "$folder" "$setups"/*.ini
parts=$(mktemp)
trap 'rm -f "$parts" "$parts.new"' EXIT
"$writer" --manual >"$parts"
# A part begins with "<!-- NAME begin" and ends with "<!-- NAME end"
awk -v manual="$manual" '
  FILENAME != manual {
    if ($1 == "<!--" && $3 ~ /^begin/) name = $2
    text[name] = text[name] $0 "\n"
    next
  }
  $1 == "<!--" && $3 ~ /^begin/ && $2 in text {
    printf "%s", text[$2]
    skipped = $2
    seen[$2] = 1
  }
  !skipped { print }
  $1 == "<!--" && $3 == "end" && $2 == skipped { skipped = "" }
  END {
    for (name in text) {
      if (!(name in seen)) {
        print manual ": no marks of the part \"" name "\"" >"/dev/stderr"
        bad = 1
      }
    }
    if (skipped) {
      print manual ": no end of the part \"" skipped "\"" >"/dev/stderr"
      bad = 1
    }
    exit bad
  }
' "$parts" "$manual" >"$parts.new"
cat "$parts.new" >"$manual"
