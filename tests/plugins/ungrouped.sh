#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# ungrouped.sh UNGROUP BUNDLE
# The bundle for GStreamer lacks the groups of controls, all of them, and nothing
# else.
set -eu
export LC_ALL=C
command -v serdi >/dev/null || {
  echo "skipped: no serdi"
  exit 77 # Meson's code for a skipped test
}

dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
"$1" "$2" "$dir"
copy=$dir/dustcap.lv2
cmp "$2/dustcap.so" "$copy/dustcap.so"

group='<http://lv2plug.in/ns/ext/port-groups#group>'
status=0
for file in "$2"/*.ttl; do
  name=${file##*/}
  serdi -o ntriples "$file" file:///ttl/ | sort >"$dir/old"
  serdi -o ntriples "$copy/$name" file:///ttl/ | sort >"$dir/new"
  grep -v "$group .*#\(controls_[0-9]*\|meters\)>" "$dir/old" >"$dir/want"
  cmp "$dir/want" "$dir/new" || status=1
  if grep "$group" "$dir/new" | grep -v '#main_\(in\|out\)>'; then
    echo "$name: a group is left that is not of audio"
    status=1
  fi
done
exit "$status"
