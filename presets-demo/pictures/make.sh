#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# make.sh DRAW_SIGNAL_PATH REPORT FOLDER
# Make the pictures of the front page in FOLDER: the signal path from the list of
# plugins, and the top of the REPORT of a session.  Each PNG is at most 120 kB.
set -euo pipefail
draw=$1 report=$2 folder=$3

MAX_BYTES=120000
REPORT_SIZE=1120,1282 # Down to the first plots of the mix

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

# shoot PAGE WIDTH,HEIGHT SCALE PNG
shoot() {
  local page size=$2 scale=$3 png=$4
  page=$(realpath "$1")
  # A browser of its own that asks nobody for anything.  It needs --no-sandbox
  # to run as root, and shows only pages of ours.
  if ! chromium --headless --no-sandbox --disable-gpu --no-first-run \
    --disable-background-networking --disable-component-update --disable-sync \
    --user-data-dir="$work/browser" --hide-scrollbars \
    --default-background-color=00000000 --force-device-scale-factor="$scale" \
    --window-size="$size" --screenshot="$work/shot.png" "file://$page" \
    >"$work/log" 2>&1 || [[ ! -s $work/shot.png ]]; then
    cat "$work/log" >&2
    return 1
  fi
  pngquant --strip --force --output "$work/small.png" 64 "$work/shot.png"
  local bytes
  bytes=$(stat -c %s "$work/small.png")
  if ((bytes > MAX_BYTES)); then
    echo "$png: $bytes bytes; expected at most $MAX_BYTES" >&2
    return 1
  fi
  rm "$work/shot.png"
  mv "$work/small.png" "$png"
  chmod 644 "$png"
}

"$draw" >"$work/signal-path.svg"
size=$(sed -n '1s/.* width="\([0-9]*\)" height="\([0-9]*\)".*/\1,\2/p' "$work/signal-path.svg")
shoot "$work/signal-path.svg" "$size" 2 "$folder/signal-path.png"
cp "$work/signal-path.svg" "$folder/"
shoot "$report" "$REPORT_SIZE" 1.5 "$folder/report.png"
