#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# front_page.sh SOURCES DRAW_SIGNAL_PATH STEM...
# The README stays a front page: short, with all plugins, and with pictures that
# are small and drawn from the plugins there are.  The manual shows all windows.
set -eu
export LC_ALL=C
draw=$(realpath "$2")
cd "$1"
shift 2

MAX_README=12000 # Bytes, without the Changes
MAX_PICTURE=120000
pictures=presets-demo/pictures
n=0
status=0

# check WHAT CONDITION...
check() {
  what=$1
  shift
  n=$((n + 1))
  if "$@"; then echo "ok $n - $what"; else
    echo "not ok $n - $what"
    status=1
  fi
}

is_png() { [ "$(head -c 8 "$1" | od -An -tx1 | tr -d ' \n')" = 89504e470d0a1a0a ]; }

# Without the Changes: from their heading to the next of that rank
size=$(awk '/^## / { skip = /^## Changes$/ } !skip' README.md | wc -c)
check "README.md: $size bytes without its Changes, at most $MAX_README" [ "$size" -le "$MAX_README" ]
check 'README.md has Changes' grep -qx '## Changes' README.md
for stem; do
  check "README.md tells what $stem does" grep -qE "^\|[^|]+\| \`$stem\` \| [^|]+\|\$" README.md
done

for name in signal-path report; do
  check "$pictures/$name.png is there" [ -f "$pictures/$name.png" ]
done
for picture in "$pictures"/*.png; do
  bytes=$(wc -c <"$picture")
  check "$picture is a PNG" is_png "$picture"
  check "$picture: $bytes bytes, at most $MAX_PICTURE" [ "$bytes" -le "$MAX_PICTURE" ]
  check "the README or the manual shows $picture" \
    grep -qE "\]\((\.\./)?$picture\)" README.md ttl/manual.md
done
for name in signal-path report; do
  check "README.md shows $name.png" grep -qF "]($pictures/$name.png)" README.md
done
for stem; do
  check "the manual shows the window of $stem" grep -qF "](../$pictures/$stem.png)" ttl/manual.md
done

now=$(mktemp)
trap 'rm -f "$now"' EXIT
"$draw" >"$now"
check "$pictures/signal-path.svg is as drawn now; if not, run: ./dev pictures" \
  cmp -s "$now" "$pictures/signal-path.svg"
echo "1..$n"
exit "$status"
