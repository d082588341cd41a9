#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# ttl_fresh.sh WRITER PRESETS SETUPS REWRITE TTL_FOLDER MANUAL
# The committed Turtle and manual are what the tables of controls and the setups
# give now.
set -eu
writer=$1 presets=$2 setups=$3 rewrite=$4 folder=$5 manual=$6

now=$(mktemp -d)
trap 'rm -rf "$now"' EXIT
cp "$manual" "$now/manual.md"
mkdir "$now/ttl"
"$rewrite" "$writer" "$presets" "$setups" "$now/ttl" "$now/manual.md"

status=0
for file in "$folder"/*.ttl "$now"/ttl/*.ttl; do
  name=$(basename "$file")
  diff -u "$folder/$name" "$now/ttl/$name" || status=1
done
diff -u "$manual" "$now/manual.md" || status=1
[ "$status" = 0 ] || echo "The committed text is old; run: ./dev ttl"
exit "$status"
