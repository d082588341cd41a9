#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# frozen_ports.sh PORT_LIST FROZEN VERSION
# Sessions and presets find controls by URI and symbol, so none may ever
# disappear or change its type.  "./dev ttl" adds new ones to the list; a release
# (even minor and micro version) must list them all.
set -eu
export LC_ALL=C

dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
grep -v '^#' "$2" | sort >"$dir/frozen"
"$1" | sort >"$dir/now"
[ -s "$dir/now" ] || {
  echo "no plugin of ours on LV2_PATH"
  exit 1
}

gone=$(comm -23 "$dir/frozen" "$dir/now")
new=$(comm -13 "$dir/frozen" "$dir/now")
[ -z "$gone" ] || {
  echo "ports that sessions may use are gone, or of another type:"
  echo "$gone"
  exit 1
}
[ -n "$new" ] || exit 0
echo "ports not in $2 yet; write them there by: ./dev ttl"
echo "$new"
minor=$(echo "$3" | cut -d. -f2)
micro=$(echo "$3" | cut -d. -f3)
[ $((minor % 2)) -eq 1 ] || [ $((micro % 2)) -eq 1 ]
