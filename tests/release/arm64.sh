#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# arm64.sh OUT VERSION BUILD SYSROOT
# What is for 64-bit ARM, in an emulator, which takes libc from SYSROOT: the
# programs run, and play to the bit what BUILD plays here.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=check.sh
source "$here/check.sh"
what=arm64 out=$(realpath "$1") version=$2 build=$(realpath "$3") sysroot=$(realpath "$4")
name=dustcap-$version-linux-aarch64
package=$out/dustcap_${version}_arm64.deb
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
tar -x -f "$out/$name.tar.xz" -C "$work" || exit 1

# Its hints about spelling are bytes of machine code here
is_clean() {
  needs lintian || return
  lintian --allow-root --fail-on error,warning "$package"
}
check 'lintian has nothing to say' is_clean
same_files() {
  diff <(dpkg-deb -c "$package" | sed 's/.* //' | sort) \
    <(dpkg-deb -c "$out/dustcap_${version}_amd64.deb" | sed 's/.* //' | sort)
}
[[ ! -f $out/dustcap_${version}_amd64.deb ]] || check 'the package holds the files of the other one' same_files

program() { env -u LV2_PATH HOME="$work" qemu-aarch64 -L "$sysroot" "$work/$name/bin/$1" "${@:2}"; }
says_version() {
  needs qemu-aarch64 || return
  [[ $(program "$1" --version) == "$1 $version" ]]
}
for one in dustcap-presets dustcap-render dustcap-session; do
  check "$one tells its version" says_version "$one"
done
# Two seconds of a dying saw, 16 bits at 48 kHz
python3 - "$work/take.wav" <<'END'
import struct, sys, wave
with wave.open(sys.argv[1], "wb") as take:
    take.setparams((1, 2, 48000, 0, "NONE", ""))
    for i in range(96000):
        take.writeframesraw(struct.pack("<h", (i % 218 - 109) * 100 * (96000 - i) // 96000))
END
setup=$(find "$work/$name" -name rhythm.ini -print -quit)
same_sound() {
  needs qemu-aarch64 || return
  program dustcap-render "$work/take.wav" --setup "$setup" -o "$work/there.wav" --quiet &&
    "$build/presets-demo/render/dustcap-render" "$work/take.wav" --setup "$setup" -o "$work/here.wav" --quiet &&
    cmp "$work/there.wav" "$work/here.wav"
}
check 'dustcap-render plays the bits of here' same_sound
presets() {
  needs qemu-aarch64 || return
  program dustcap-presets "$setup" -o "$work/mine" && program dustcap-presets --check "$work/mine/dustcap-user-presets.lv2"
}
check 'a setup becomes presets that fit' presets

# dpkg takes it into an empty root: it replaces an older one, and goes whole
root=$work/root
in_root() {
  local as=(fakeroot)
  ((EUID)) || as=()
  "${as[@]}" dpkg --root="$root" --log=/dev/null --force-depends --force-architecture "$@"
}
mkdir -p "$root/var/lib/dpkg/"{info,updates,triggers}
touch "$root/var/lib/dpkg/status"
older() {
  dpkg-deb -R "$package" "$work/older" && sed -i 's/^Version: .*/Version: 0.0.1/' "$work/older/DEBIAN/control" &&
    echo gone >"$work/older/usr/lib/lv2/dustcap.lv2/gone.ttl" &&
    dpkg-deb --root-owner-group --build "$work/older" "$work/older.deb" && in_root -i "$work/older.deb" &&
    [[ -e $root/usr/lib/lv2/dustcap.lv2/gone.ttl ]]
}
check 'an older package installs' older
check 'the package replaces it' in_root -i "$package"
completely() { [[ ! -e $root/usr/lib/lv2/dustcap.lv2/gone.ttl && -z $(in_root --verify dustcap) ]]; }
check 'completely' completely
installed_runs() {
  needs qemu-aarch64 || return
  [[ $(qemu-aarch64 -L "$sysroot" "$root/usr/bin/dustcap-render" --version) == "dustcap-render $version" ]]
}
check 'its renderer runs with the libraries of Debian' installed_runs
check 'it is removed' in_root --purge dustcap
no_trace() { ! find "$root" -path "$root/var" -prune -o ! -type d -print | grep . && ! find "$root" -name '*dustcap*' | grep .; }
check 'without a trace' no_trace
exit $status
