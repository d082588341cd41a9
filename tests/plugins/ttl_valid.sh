#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# ttl_valid.sh TTL_FOLDER
# The Turtle obeys the vocabularies that it uses.
set -eu
for tool in serdi sord_validate lv2_validate; do
  command -v "$tool" >/dev/null || {
    echo "skipped: no $tool"
    exit 77 # Meson's code for a skipped test
  }
done

for file in "$1"/*.ttl; do
  serdi -o ntriples "$file" >/dev/null
done

# lv2_validate exits 0 even after errors, skips files that it cannot read, and
# splits paths at spaces, hence the change of folder
cd "$1"
report=$(lv2_validate ./*.ttl 2>&1)
echo "$report"
echo "$report" | grep -q 'Found 0 errors'
! echo "$report" | grep 'Skipping file' | grep -v 'lv2core.doap.ttl'
