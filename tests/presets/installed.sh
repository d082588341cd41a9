#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# installed.sh BUILD PREFIX
# Installed programs take the plugins from where they are installed, or from the
# LV2 path, never from the build tree.
set -eu
build=$1 prefix=$2

folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
export LV2_PATH="$folder/none" DESTDIR="$folder"
n=0
status=0

# check WHAT CONDITION...
check() {
  what=$1
  shift
  n=$((n + 1))
  if "$@"; then echo "ok $n - $what"; else
    echo "not ok $n - $what"
    sed 's/^/# /' "$folder/said"
    status=1
  fi
}

# make_presets PROGRAM WANT_STATUS: of a setup that only the plugins allow
printf '[tube-stage]\ndrive_db = 12\n' >"$folder/a.ini"
make_presets() {
  rm -rf "$folder/lv2"
  mkdir "$folder/lv2"
  got=0
  "$1" -o "$folder/lv2" "$folder/a.ini" >"$folder/said" 2>&1 || got=$?
  test "$got" -eq "$2"
}

says() { grep -q "$1" "$folder/said"; }

meson install -C "$build" --no-rebuild --quiet >"$folder/said"
bin=$folder$prefix/bin
bundle=$folder$prefix/lib/lv2/dustcap.lv2
echo 1..8
for program in render session presets; do
  check "$program is installed" test -x "$bin/dustcap-$program"
done
check 'the one of the build tree has its bundle' \
  make_presets "$build/presets-demo/presets/dustcap-presets" 0
check 'the installed one has its own' make_presets "$bin/dustcap-presets" 0
mv "$bundle" "$folder/moved"
check 'it has none without it' make_presets "$bin/dustcap-presets" 1
check 'and says so' says 'no Dustcap bundle on the LV2 path; expected --bundle'
mkdir "$folder/none"
mv "$folder/moved" "$folder/none/dustcap.lv2"
check 'but for the LV2 path' make_presets "$bin/dustcap-presets" 0
exit $status
