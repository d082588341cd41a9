#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# windows.sh WORK OUT
# For LV2 hosts on Windows: the bundle, its module a DLL that needs no other
# runtime, and the setups.  Windows of its own it has not got; hosts show theirs.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1 out=$2
sources=$(cd "$here/../.." && pwd)
name=dustcap-$(version_of "$sources")-windows-x86_64
stage=$work/$name
bundle=$stage/dustcap.lv2
build=$work/windows/mingw/build

say "$name.zip"
# As ./dev portability builds it
quietly "$work/windows.log" "$sources/tests/portability/portability.sh" lint mingw "$work/windows"
build_installed "$work/windows.log" "$build"
quietly "$work/windows.log" meson install -C "$build" --no-rebuild --destdir "$work/windows/root"
rm -rf "$stage"
mkdir -p "$stage/licences"
cp -r "$(dirname "$(find "$work/windows/root" -name dustcap.so)")" "$bundle"
mv "$bundle/dustcap.so" "$bundle/dustcap.dll"
rm -f "$bundle"/*.a # For linkers
x86_64-w64-mingw32-strip --strip-unneeded "$bundle/dustcap.dll"
sed -i 's/<dustcap\.so>/<dustcap.dll>/' "$bundle"/*.ttl
! grep -l 'dustcap\.so' "$bundle"/*.ttl || die "the Turtle still names dustcap.so"
# The bundle has them, or the sources
[[ $(find "$bundle" -name '*.ini') ]] || cp -r "$sources/presets-demo/setups" "$stage/setups"

front_page "$sources" >"$stage/README.md"
cp "$sources/ttl/manual.md" "$here/windows.md" "$stage/"
cp "$sources/LICENSE" "$stage/LICENSE.txt"
"$here/notes.sh" "$sources/README.md" "$(version_of "$sources")" >"$stage/CHANGES.md"
mv "$stage/windows.md" "$stage/INSTALL.md"
# What the compiler links in
for package in gcc-mingw-w64-x86-64-win32-runtime mingw-w64-x86-64-dev; do
  cp "/usr/share/doc/$package/copyright" "$stage/licences/$package.txt"
done

even_out "$stage"
(cd "$work" && find "$name" -type f | sort | zip -q -X -9 -@ "$work/new.zip")
mv "$work/new.zip" "$out/$name.zip"
