#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# portability.sh packages TARGET   Debian packages that it needs
# portability.sh lint TARGET FOLDER
#   Does the bundle build for it without a warning?  Keeps what is built.
# portability.sh run TARGET FOLDER
#   If the compiler is here: builds the bundle for it from nothing in FOLDER/TARGET, plays all forms
#   (player.c) and compares with FOLDER/native, which must have run before.  Writes
#   FOLDER/TARGET/row: target, compiler, builds, warnings, bits.
# portability.sh table FOLDER TARGET...
#   The rows, as Markdown.  Exits with 1 if one that is not skipped does not build,
#   has warnings, or differs by more than its libm.
set -euo pipefail
export LC_ALL=C
ccache=$(command -v ccache >/dev/null && echo 'ccache ') || true
source=$(cd "$(dirname "$0")/../.." && pwd)

# Of Debian 12.  What describe() says: packages; cc; for another machine its
# family, byte order and emulator; meson's options; environment of the player
describe() {
  packages=() cc=gcc family='' endian=little system=linux emulator=() options=() player=()
  case $1 in
  native) ;;
  O0) options=(-Doptimization=0 -Db_ndebug=false) ;; # With assert()
  Os) options=(-Doptimization=s) ;;
  lto) options=(-Db_lto=true) ;;
  plain) options=(-Dc_args=-DNO_WIDE_REGISTERS) ;;
  no-fma) player=(env 'GLIBC_TUNABLES=glibc.cpu.hwcaps=-AVX2,-FMA,-FMA4') ;; # libm's functions of older processors
  gcc-* | clang-*) cc=$1 packages=("$1") ;;
  debian-13) packages=(mmdebstrap) ;;
  musl) cc=musl-gcc packages=(musl-tools) ;;
  aarch64) other aarch64-linux-gnu arm64 gcc-aarch64-linux-gnu qemu-aarch64 ;;
  armhf) other arm-linux-gnueabihf armhf gcc-arm-linux-gnueabihf qemu-arm ;;
  riscv64) other riscv64-linux-gnu riscv64 gcc-riscv64-linux-gnu qemu-riscv64 ;;
  s390x) other s390x-linux-gnu s390x gcc-s390x-linux-gnu qemu-s390x && endian=big ;;
  i686) other i686-linux-gnu i386 gcc-i686-linux-gnu qemu-i386 ;;
  mingw)
    cc=x86_64-w64-mingw32-gcc family=x86_64 system=windows
    packages=(gcc-mingw-w64-x86-64-win32)
    ;;
  *) return 1 ;;
  esac
}

# other PREFIX DEBIAN_NAME COMPILER EMULATOR
other() {
  cc=$1-gcc family=${1%%-*} emulator=("$4")
  [[ $family != i686 ]] || family=x86
  packages=("$3" "libc6-dev-$2-cross" qemu-user)
}

# LV2's headers are the same on every machine; those of libc are not, so that
# /usr/include must stay out
lv2_for_all() {
  mkdir -p "$1/include" "$1/pkgconfig"
  ln -sfn "$(pkg-config --variable=includedir lv2)/lv2" "$1/include/lv2"
  printf 'Name: lv2\nDescription: LV2\nVersion: %s\nCflags: -I%s\n' \
    "$(pkg-config --modversion lv2)" "$1/include" >"$1/pkgconfig/lv2.pc"
}

cross_file() {
  cat <<END
[binaries]
c = [${ccache:+'ccache', }'$cc']
ar = '${cc%-gcc}-ar'
pkgconfig = 'pkg-config'
[properties]
pkg_config_libdir = '$1/pkgconfig'
[host_machine]
system = '$system'
cpu_family = '$family'
cpu = '$family'
endian = '$endian'
END
}

# set_up TARGET FOLDER OPTION...: a build folder without the renderer and the
# tests, whose libraries are those of one machine only
set_up() {
  local target=$1 folder=$2 cross=()
  lv2_for_all "$folder"
  if [[ $family ]]; then
    cross_file "$folder" >"$folder/$target.cross"
    cross=(--cross-file "$folder/$target.cross")
  fi
  CC="${ccache}$cc" PKG_CONFIG_LIBDIR="$folder/pkgconfig" \
    meson setup --buildtype=release "${cross[@]}" "${options[@]}" "${@:3}" "$folder/$target/build" "$source"
}

compile() {
  if [[ $system == windows ]]; then
    ninja -C "$1" plugins/dustcap.so
  else
    ninja -C "$1" plugins/dustcap.so tests/portability/portability_player
  fi
}

# build_there TARGET FOLDER: in a folder with Debian 13 in it
build_there() {
  local target=$1 folder=$2 root=$2/$1-root
  [[ -f $root/usr/bin/ninja ]] ||
    mmdebstrap --quiet --variant=apt --include=gcc,libc6-dev,meson,ninja-build,pkgconf,lv2-dev \
      trixie "$root" || return
  rm -rf "$root/src"
  mkdir -p "$root/src"
  (cd "$source" && git ls-files -co --exclude-standard -z | tar --null -T - -c) | tar -x -C "$root/src"
  chroot "$root" sh -c 'meson setup --buildtype=release /src/build /src &&
    ninja -C /src/build plugins/dustcap.so tests/portability/portability_player' || return
  cp -r "$root/src/build" "$folder/$target/build"
}

build() {
  if [[ $1 == debian-13 ]]; then
    build_there "$@"
  else
    set_up "$@" && compile "$2/$1/build"
  fi
}

compiler_of() {
  if [[ $1 == debian-13 ]]; then
    chroot "$2/$1-root" gcc --version
  else
    "$cc" --version
  fi | sed -n '1{s/^[^ ]*gcc[^ ]* /gcc /; s/(.*) *//; s/Debian clang version/clang/; s/ *([^)]*)//g; s/ *$//; p}'
}

# Only what Windows itself has
imports_of() {
  local all
  all=$(x86_64-w64-mingw32-objdump -p "$1" | sed -n 's/^\tDLL Name: //p' | sort -f | paste -sd' ')
  [[ $all ]] || { echo "imports unknown"; return; }
  if grep -qviE '^(kernel32|msvcrt|ucrtbase|api-ms-win-[a-z0-9-]*)\.dll$' <<<"${all// /$'\n'}"; then
    echo "imports $all"
  else
    echo "not played; imports only $all"
  fi
}

# differences FOLDER A B: of two runs of the player, in a line
differences() {
  local form most same=0 all='' forms
  local compare=$1/native/build/tests/portability/portability_compare
  mapfile -t forms < <(sed 's/ .*//; s/^urn:dustcap://' "$1/native/hashes")
  for form in "${forms[@]}"; do
    most=$("$compare" "$2" "$3" "$form") || (($? == 1)) || { echo "cannot be compared"; return; }
    [[ $most != identical ]] || same=$((same + 1))
  done
  ((same < ${#forms[@]})) || { echo "identical"; return; }
  all=$("$compare" "$2" "$3" "${forms[@]}") || true
  echo "$same of ${#forms[@]} identical, at most ${all#* } dBFS (${all% *})"
}

# bits TARGET FOLDER: plays, and what came of it.  What differs plays again with
# the answers of the other libm.
bits() {
  local folder=$2/$1 native=$2/native apart missing
  local play=("${player[@]}" "${emulator[@]}" "$folder/build/tests/portability/portability_player")
  mkdir -p "$folder/sound" "$folder/same-libm"
  if [[ $1 == native ]]; then
    "${play[@]}" "$folder/sound" note "$folder/libm" >"$folder/hashes" && echo "the reference" || echo "does not play"
    return
  fi
  "${play[@]}" "$folder/sound" >"$folder/hashes" || { echo "does not play"; return; }
  apart=$(differences "$2" "$native/sound" "$folder/sound")
  if [[ $apart != identical ]]; then
    missing=$("${play[@]}" "$folder/same-libm" take "$native/libm" 2>&1 >/dev/null) || missing=none
    apart+="; with the reference's libm: $(differences "$2" "$native/sound" "$folder/same-libm")"
    [[ $missing == 0 ]] || apart+=" ($missing of its answers missing)"
  fi
  echo "$apart"
}

# missing TARGET: what it cannot do without here, in a few words
missing() {
  local tool
  for tool in "$cc" "${emulator[@]}"; do
    command -v "$tool" >/dev/null || { echo "no $tool"; return; }
  done
  [[ $1 != debian-13 ]] || command -v mmdebstrap >/dev/null || { echo "no mmdebstrap"; return; }
  [[ $1 != debian-13 ]] || ((EUID == 0)) || echo "wants root"
}

run() {
  local target=$1 folder=$2 builds=yes warnings=- bits=- log=$2/$1/log lacks
  rm -rf "${folder:?}/$target"
  mkdir -p "$folder/$target"
  lacks=$(missing "$target")
  if [[ $lacks ]]; then
    printf '%s|%s|skipped: %s|-|-\n' "$target" "$cc" "$lacks" >"$folder/$target/row"
    return
  fi
  if build "$target" "$folder" >"$log" 2>&1; then
    warnings=$(sed -n '/warning: /p' "$log" | sort -u | wc -l)
    [[ $target != native ]] || ninja -C "$folder/native/build" tests/portability/portability_compare >>"$log"
    case $system in
    windows) bits=$(imports_of "$folder/$target/build/plugins/dustcap.so") ;;
    *) bits=$(bits "$target" "$folder") ;;
    esac
  else
    builds="no: $log"
  fi
  printf '%s|%s|%s|%s|%s\n' "$target" "$(compiler_of "$target" "$folder")" "$builds" "$warnings" "$bits" >"$folder/$target/row"
}

lint() {
  local build=$2/$1/build
  [[ -f $build/build.ninja ]] || { rm -rf "$build" && set_up "$1" "$2" -Dwerror=true; } || return
  compile "$build"
}

table() {
  local folder=$1 target
  shift
  printf '| Target | Compiler | Builds | Warnings | Bits |\n|---|---|---|---|---|\n'
  for target; do
    sed 's/|/ | /g; s/^/| /; s/$/ |/' "$folder/$target/row"
  done
  # What was there must build and sound as it should; another libm may round in
  # another way
  for target; do
    grep -Eq '\|skipped: |\|yes\|0\|(the reference|not played; .*|(.*: )?identical( \([0-9]+ of its answers missing\))?)$' "$folder/$target/row" ||
      return 1
  done
}

case $1 in
packages)
  describe "$2"
  for package in "${packages[@]}"; do echo "$package"; done
  ;;
table) table "${@:2}" ;;
lint | run) describe "$2" && "$1" "$2" "$(realpath -m "$3")" ;;
esac
