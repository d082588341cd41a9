#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# rewrite.sh WRITER FOLDER README
# Writes the Turtle into FOLDER, and README's tables of controls between its
# two marks.
set -eu
writer=$1 folder=$2 readme=$3

"$writer" "$folder"
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
