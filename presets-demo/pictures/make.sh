#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# make.sh DRAW_SIGNAL_PATH REPORT FOLDER SHOW_WINDOW WINDOWS STEM...
# Make the pictures of the front page and the manual in FOLDER: the signal path
# from the list of plugins, the top of the REPORT of a session, and the window of
# each STEM in the module WINDOWS.  Each PNG is at most 120 kB.
set -euo pipefail
draw=$1 report=$2 folder=$3 show=$4 windows=$5
shift 5

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
  keep "$png"
}

# keep PNG: the shot as PNG, with few colours
keep() {
  local png=$1 bytes
  pngquant --strip --force --output "$work/small.png" 64 "$work/shot.png"
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

# As a stranger finds them: nobody's own choice of ground and size
for stem; do
  XDG_CONFIG_HOME=$work DUSTCAP_GROUND=night DUSTCAP_SCALE=2 \
    "$show" "$windows" --shot "$work/shot.png" "$stem"
  keep "$folder/$stem.png"
done
