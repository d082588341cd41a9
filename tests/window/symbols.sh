#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# symbols.sh MODULE
# The windows' module exports one symbol, stays loaded (what fontconfig and cairo
# keep would be lost with it, once for each opening), and needs X11, cairo
# and inih alone.
set -eu

if nm "$1" | grep -qE ' (__gcov_|__asan_|__tsan_)'; then
  echo "built for coverage or a sanitizer, which bring symbols of their own"
  exit 77
fi
# __bss_start and the like are the linker's own, where a library asks for them
exports=$(nm -D --defined-only "$1" | awk '$3 !~ /^(__bss_start|_edata|_end)$/ { print $3 }')
[ "$exports" = lv2ui_descriptor ] || {
  echo "exports: $exports (want: lv2ui_descriptor alone)"
  exit 1
}
readelf -d "$1" | grep -q NODELETE || {
  echo "not linked with -z nodelete"
  exit 1
}
libraries=$(readelf -d "$1" | sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p')
strange=$(echo "$libraries" |
  grep -vE '^(libc|libm|libpthread|libX11|libxcb|libcairo|libinih|ld-linux-[a-z0-9-]+)\.so\.' || true)
[ -z "$strange" ] || {
  echo "libraries beyond libc, libX11, libxcb, libcairo and libinih: $strange"
  exit 1
}
# Drawing through the window system would bring its fonts (platform.h)
! nm -D --undefined-only "$1" | grep -E 'cairo_xlib|XftDraw|XRender' || exit 1
