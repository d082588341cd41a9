#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# ttl_fresh.sh WRITER PRESETS SETUPS REWRITE TTL_FOLDER MANUAL
# The committed Turtle and manual are those that the tables of controls and the
# setups give now.  Another version of serd may lay the Turtle out differently:
# then the statements count, in their order.
set -eu
writer=$1 presets=$2 setups=$3 rewrite=$4 folder=$5 manual=$6

now=$(mktemp -d)
trap 'rm -rf "$now"' EXIT
cp "$manual" "$now/manual.md"
mkdir "$now/ttl"
"$rewrite" "$writer" "$presets" "$setups" "$now/ttl" "$now/manual.md"

# statements FILE
statements() {
  serdi -o ntriples "$1" file:///ttl/
}

# is_same OLD NEW
is_same() {
  cmp -s "$1" "$2" && return 0
  command -v serdi >/dev/null || return 1
  statements "$1" >"$now/old.nt" && statements "$2" >"$now/new.nt" &&
    cmp -s "$now/old.nt" "$now/new.nt" || return 1
  echo "$1: only set out in another way"
}

status=0
for file in "$folder"/*.ttl "$now"/ttl/*.ttl; do
  name=$(basename "$file")
  is_same "$folder/$name" "$now/ttl/$name" && continue
  diff -u "$folder/$name" "$now/ttl/$name" || status=1
done
diff -u "$manual" "$now/manual.md" || status=1
[ "$status" = 0 ] || echo "The committed text is old; run: ./dev ttl"
exit "$status"
