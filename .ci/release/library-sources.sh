#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# library-sources.sh WORK OUT
# The sources of the libraries in the archives that are under the LGPL, as Debian
# keeps them: fetched from where this machine's packages come from, in the
# versions that the archives name.  The LGPL asks for them beside the archives.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1 out=$2
sources=$(cd "$here/../.." && pwd)
name=dustcap-$(version_of "$sources")-library-sources
stage=$work/$name
apt=$work/apt

# wanted: NAME=VERSION for each
wanted() {
  sed -n '/^| [^|]*\.so/s/.*|[^|]*LGPL[^|]*| \([^ ]*\) \([^ ]*\) |$/\1=\2/p' \
    "$work"/dustcap-*-linux-*/licences/README.md | sort -u
}

# source_lists: this machine's lists, for sources instead of binaries
source_lists() {
  local list
  mkdir -p "$apt/lists/partial" "$apt/cache/archives/partial" "$apt/parts"
  for list in /etc/apt/sources.list.d/*.sources; do
    [[ ! -e $list ]] || sed 's/^Types:.*/Types: deb-src/' "$list" >"$apt/parts/${list##*/}"
  done
  for list in /etc/apt/sources.list /etc/apt/sources.list.d/*.list; do
    [[ ! -e $list ]] || sed -n 's/^deb\(-src\)\? /deb-src /p' "$list" >"$apt/parts/listed-${list##*/}"
  done
}
apt() {
  apt-get --quiet -o Dir::Etc::SourceList=/dev/null -o Dir::Etc::SourceParts="$apt/parts" \
    -o Dir::State::Lists="$apt/lists" -o Dir::Cache="$apt/cache" -o APT::Sandbox::User=root "$@"
}

# listed DSC: what it is made of, as sha256sum has it, but for the signatures of
# those who made the libraries
listed() { awk '/^[^ ]/ { on = $1 == "Checksums-Sha256:" } on && /^ / && !/\.asc$/ { print $1 "  " $3 }' "$1"; }

say "$name.tar"
mapfile -t packages < <(wanted)
((${#packages[@]})) || die "no archive names libraries under the LGPL; make linux first"
source_lists
quietly "$work/library-sources.log" apt update
rm -rf "$stage"
mkdir -p "$stage"
# apt checks each against the signed list of its suite.  It fails for a signature
# that a mirror lacks, too, so what it got is what counts.
(cd "$stage" && apt source --download-only "${packages[@]}" >>"$work/library-sources.log" 2>&1) ||
  say "apt could not get all, see $work/library-sources.log; what matters is checked now"
for package in "${packages[@]}"; do
  version=${package#*=}
  described=$stage/${package%%=*}_${version#*:}.dsc
  [[ -s $described ]] || die "not to be had: $package"
  listed "$described" | (cd "$stage" && sha256sum --check --strict --quiet) || die "not whole: $package"
done
# They are packed as they come
pack_plain "$work" "$name" >"$work/$name.tar"
mv "$work/$name.tar" "$out/"
