#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# ttl_fresh.sh WRITER REWRITE TTL_FOLDER README
# The committed Turtle and manual are what the tables of controls give now.
set -eu
writer=$1 rewrite=$2 folder=$3 readme=$4

now=$(mktemp -d)
trap 'rm -rf "$now"' EXIT
cp "$readme" "$now/README.md"
mkdir "$now/ttl"
"$rewrite" "$writer" "$now/ttl" "$now/README.md"

status=0
for file in "$folder"/*.ttl "$now"/ttl/*.ttl; do
  name=$(basename "$file")
  diff -u "$folder/$name" "$now/ttl/$name" || status=1
done
diff -u "$readme" "$now/README.md" || status=1
[ "$status" = 0 ] || echo "The committed text is old; run: ./dev ttl"
exit "$status"
