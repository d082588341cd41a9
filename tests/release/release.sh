#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# release.sh WORK OUT BUILD "WHAT..." [SUITE...]
# Checks all that was made in OUT.  BUILD is the tested build that it must sound
# like.  Each SUITE of Debian is made in WORK as a bare system to try it in.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=check.sh
source "$here/check.sh"
work=$1 out=$2 build=$3 what=release
read -ra made <<<"$4"
shift 4
version=$(sed -n "s/^  version: '\([0-9.]*\)',\$/\1/p" "$here/../../meson.build")

roots=()
for suite; do
  root=$work/$suite
  # Half a system is none
  make_root() {
    [[ -d $root ]] || {
      rm -rf "$root.new"
      mmdebstrap --quiet --variant=minbase "$suite" "$root.new" && mv "$root.new" "$root"
    }
  }
  check "a bare $suite can be had" make_root
  [[ ! -d $root ]] || roots+=("$root")
done

for name in "${made[@]}"; do
  case $name in
  sources)
    what=sources
    is_whole() { diff <(tar -t -f "$out/dustcap-$version.tar.xz" | sed "s|^dustcap-$version/||" | grep -v '/$' | sed '/^$/d' | sort) \
      <(git -C "$here" ls-tree -r --name-only --full-tree HEAD | sort); }
    check 'it holds the files of the commit, and no other' is_whole
    ;;
  deb) "$here/deb.sh" "$out/dustcap_${version}_$(dpkg --print-architecture).deb" "$version" "$build" "${roots[@]}" || status=1 ;;
  linux) "$here/linux.sh" "$out/dustcap-$version-linux-$(uname -m).tar.xz" "$version" "$build" "${roots[@]}" || status=1 ;;
  library-sources)
    what=library-sources
    # Beside each archive, every source that it names with the LGPL
    has_all() {
      local archive one
      for archive in "$out/dustcap-$version-linux-"*.tar.xz; do
        for one in $(tar -x -O -f "$archive" --wildcards '*/licences/README.md' |
          awk -F'|' '/\.so/ && /LGPL/ { split($5, f, " "); sub(/^[0-9]+:/, "", f[2]); print f[1] "_" f[2] ".dsc" }'); do
          echo "$one"
          tar -t -f "$out/dustcap-$version-library-sources.tar" | grep -qxF "dustcap-$version-library-sources/$one" || return
        done
      done
      [[ $one ]]
    }
    check 'it holds the sources of each library under the LGPL' has_all
    ;;
  arm64) "$here/arm64.sh" "$out" "$version" "$build" "$work/arm64" || status=1 ;;
  windows) "$here/windows.sh" "$out/dustcap-$version-windows-x86_64.zip" "$version" "$build" "$work/made/windows/mingw/build" "$work/windows-checks" || status=1 ;;
  esac
done

what=release
sums() { (cd "$out" && sha256sum --check --strict --quiet SHA256SUMS && [[ $(wc -l <SHA256SUMS) == $(ls dustcap[-_]* | wc -l) ]]); }
check 'each file has its checksum' sums
notes() { [[ $(wc -l <"$out/dustcap-$version-changes.md") -ge 1 ]]; }
check 'its changes are told' notes
exit $status
