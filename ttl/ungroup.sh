#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# ungroup.sh BUNDLE FOLDER
# Copies the bundle to FOLDER/dustcap.lv2, its controls without their groups.
# GStreamer 1.22 takes every port of a group for an audio channel, and so finds
# no controls: give it LV2_PATH=FOLDER:/usr/lib/lv2.
set -eu
copy=$2/dustcap.lv2
mkdir -p "$copy"
cp "$1"/*.so "$copy"
for file in "$1"/*.ttl; do
  # Groups of audio, which it needs, are main_in and main_out
  sed '/^[[:blank:]]*pg:group <[^>]*#\(controls_[0-9]*\|meters\)> ;$/d' \
    "$file" >"$copy/${file##*/}"
done
! cmp -s "$1/air-shelf.ttl" "$copy/air-shelf.ttl" || {
  echo "ungroup.sh: $1: no groups of controls in its Turtle" >&2
  exit 1
}
