#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# deb.sh WORK OUT
# The Debian package of this machine's kind: bundle, programs, setups, manual
# pages, completions.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1 out=$2
sources=$(cd "$here/../.." && pwd)
version=$(version_of "$sources")
kind=$(dpkg --print-architecture)
[[ ! $sysroot ]] || kind=$(dpkg-architecture -qDEB_HOST_ARCH -t"$machine-linux-gnu" 2>/dev/null)
stage=$work/deb-$machine
bundle=$stage/usr/lib/lv2/dustcap.lv2
doc=$stage/usr/share/doc/dustcap
# Nobody keeps an address for this project; a package must state one
maintainer='The Dustcap authors <dustcap@localhost>'

# changelog: the Changes of the front page, without the marks of Markdown
changelog() {
  printf 'dustcap (%s) unstable; urgency=medium\n\n' "$version"
  "$here/notes.sh" "$sources/README.md" "$version" | sed 's/\*\*\|`//g' |
    awk '/^- / && NR > 1 { print "" } { sub(/^ +/, ""); printf "%s%s", /^- / ? "" : " ", $0 } END { print "" }' |
    sed 's/^- //' | while read -r change; do
    fold -s -w 74 <<<"$change" | sed '1s/^/  * /; 2,$s/^/    /; s/ *$//'
  done
  printf '\n -- %s  %s\n' "$maintainer" "$(date -R -d "@$SOURCE_DATE_EPOCH")"
}

# needs: the packages of the libraries that the files are linked with; what is in
# Depends is not in Recommends again
needs() {
  mkdir -p "$work/shlibs/debian"
  printf 'Source: dustcap\n\nPackage: dustcap\nArchitecture: any\n' >"$work/shlibs/debian/control"
  (cd "$work/shlibs" && dpkg-shlibdeps -O -dDepends "$bundle/dustcap.so" "$stage"/usr/bin/* \
    -dRecommends "$bundle/dustcap-ui.so")
}

# needed ROOT: libraries by name, but for the loader, whose name is the machine's
needed() {
  find "$1/usr" -type f \( -perm -u+x -o -name '*.so' \) -exec "${tools}readelf" -d {} + |
    sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p' | grep -v '^ld-linux' | sort -u
}

# copyright: in the form that Debian asks for
copyright() {
  cat <<END
Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: Dustcap

Files: *
Copyright: $(sed -n 's/^Copyright //p' "$sources/LICENSE")
License: ISC
$(sed '1,/^Copyright/d' "$sources/LICENSE" | sed 1d | sed 's/^$/./; s/^/ /')
END
}

control() {
  local libraries
  if [[ $sysroot ]]; then
    # The packages are called as here, and the least versions are the same, if the
    # same libraries are needed
    [[ $(needed "$stage") == "$(needed "$work/root-$(uname -m)")" ]] || die "not linked with the same libraries as here"
    libraries=$(cat "$work/needs")
  else
    libraries=$(needs | tee "$work/needs")
  fi
  cat <<END
Package: dustcap
Version: $version
Architecture: $kind
Maintainer: $maintainer
Installed-Size: $(find "$stage/usr" -printf '%y %s\n' | awk '{ k += $1 == "f" ? int(($2 + 1023) / 1024) : 1 } END { print k }')
Depends: $(sed -n 's/^shlibs:Depends=//p' <<<"$libraries")
Recommends: $(sed -n 's/^shlibs:Recommends=//p' <<<"$libraries"), fonts-dejavu-core
Provides: lv2-plugin
Section: sound
Priority: optional
Description: guitar amplifier plugins and renderer for dry recordings
 Plugins in the LV2 format for guitars that were recorded straight from the
 instrument: clean-up, compressor, tube stage, echo, loudspeaker, microphone,
 plate, room and bus. They model the physics of the parts.
 .
 The programs play single takes or whole sessions through the same plugins
 from small text files, and turn such files into presets for any host.
END
}

say "dustcap_${version}_$kind.deb"
"$here/build.sh" "$work"
rm -rf "$stage"
cp -r "$work/root-$machine" "$stage"
chmod a-x "$bundle"/*.so
mkdir -p "$doc"
copyright >"$doc/copyright"
changelog | gzip -9n >"$doc/changelog.gz"
gzip -9n "$stage"/usr/share/man/man1/*
cp "$sources/README.md" "$sources/ttl/manual.md" "$doc/"
mkdir -p "$stage/usr/share/lintian/overrides"
cp "$here/lintian-overrides" "$stage/usr/share/lintian/overrides/dustcap"
mkdir -p "$stage/DEBIAN"
control >"$stage/DEBIAN/control"
(cd "$stage" && find usr -type f -print0 | sort -z | xargs -0 md5sum) >"$stage/DEBIAN/md5sums"
even_out "$stage"
# One thread: several cut the data where it suits them
quietly "$work/deb.log" dpkg-deb --root-owner-group -Zxz --threads-max=1 --build "$stage" "$out"
