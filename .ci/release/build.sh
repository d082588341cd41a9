#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# build.sh WORK
# Builds what is installed from the sources unpacked in WORK, and installs it into
# WORK/root-MACHINE as /usr, unless that is there.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1
sources=$(cd "$here/../.." && pwd)
build=$sources/build-$machine
root=$work/root-$machine
[[ ! -d $root ]] || exit 0

# The names of the sources are relative; the map keeps those away that a compiler
# may add.  Checks of libc's calls cost nothing where audio is computed: there
# are none.
flags="-include $here/old_glibc.h -ffile-prefix-map=$sources=. -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2"
cross=()
if [[ $sysroot ]]; then
  flags+=" --sysroot=$sysroot"
  cross=(--cross-file "$work/$machine.cross")
  cat >"$work/$machine.cross" <<END
[binaries]
c = '$machine-linux-gnu-gcc'
ar = '$machine-linux-gnu-ar'
pkgconfig = 'pkg-config'
[properties]
sys_root = '$sysroot'
pkg_config_libdir = '$sysroot/usr/lib/$machine-linux-gnu/pkgconfig:$sysroot/usr/share/pkgconfig'
[host_machine]
system = 'linux'
cpu_family = '$machine'
cpu = '$machine'
endian = 'little'
END
fi
say "building for $machine"
quietly "$work/build.log" meson setup --buildtype=release --prefix=/usr \
  -Dc_args="$flags" -Dc_link_args="${sysroot:+--sysroot=$sysroot }-Wl,-z,relro,-z,now" "${cross[@]}" "$build" "$sources"
build_installed "$work/build.log" "$build"
quietly "$work/build.log" meson install -C "$build" --no-rebuild --destdir "$root.new"
find "$root.new" -type f -perm -u+x -exec \
  "${tools}strip" --strip-unneeded --remove-section=.comment --remove-section=.note {} +
if [[ $sysroot ]]; then
  # They are alike for all machines
  native=$work/root-$(uname -m)
  cp -r "$native/usr/share/man" "$native/usr/share/bash-completion" "$root.new/usr/share/"
fi
mv "$root.new" "$root"
