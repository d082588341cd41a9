#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# arm64.sh WORK OUT
# Package and archive for 64-bit ARM, built by the cross compiler.  Debian 12's
# libraries of it are unpacked beside WORK, once.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1 out=$2
SYSROOT=${work%/*}/arm64
if [[ ! -d $SYSROOT ]]; then
  say "getting the libraries for arm64"
  rm -rf "$SYSROOT.new"
  quietly "$work/arm64.log" mmdebstrap --quiet --variant=extract --architectures=arm64 \
    --include=libc6-dev,lv2-dev,liblilv-dev,libserd-dev,libsndfile1-dev,libsoxr-dev,libinih-dev,libebur128-dev,libxxhash-dev,libx11-dev,libxcb1-dev,libcairo2-dev \
    bookworm "$SYSROOT.new"
  mv "$SYSROOT.new" "$SYSROOT"
fi
# Their pages, and the packages that they need
"$here/build.sh" "$work"
[[ -f $work/needs ]] || "$here/deb.sh" "$work" "$work"
export SYSROOT MACHINE=aarch64
"$here/build.sh" "$work"
"$here/deb.sh" "$work" "$out"
"$here/linux.sh" "$work" "$out"
