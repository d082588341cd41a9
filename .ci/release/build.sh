#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# build.sh WORK
# Builds what is installed from the sources unpacked in WORK, and installs it into
# WORK/root as /usr, unless that is there.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1
sources=$(cd "$here/../.." && pwd)
build=$sources/build
[[ ! -d $work/root ]] || exit 0

# The names of the sources are relative; the map keeps those away that a compiler
# may add.  Checks of libc's calls cost nothing where audio is computed: there
# are none.
flags="-include $here/old_glibc.h -ffile-prefix-map=$sources=. -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2"
say "building"
quietly "$work/build.log" meson setup --buildtype=release --prefix=/usr \
  -Dc_args="$flags" -Dc_link_args=-Wl,-z,relro,-z,now "$build" "$sources"
build_installed "$work/build.log" "$build"
quietly "$work/build.log" meson install -C "$build" --no-rebuild --destdir "$work/root.new"
find "$work/root.new" -type f -perm -u+x -exec \
  "${STRIP:-strip}" --strip-unneeded --remove-section=.comment --remove-section=.note {} +
mv "$work/root.new" "$work/root"
