#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# papers.sh WORK OUT
# What goes with a release: its notes, the licences of all that is linked in, and
# the checksums of all files.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1 out=$2
sources=$(cd "$here/../.." && pwd)
version=$(version_of "$sources")
"$here/notes.sh" "$sources/README.md" "$version" >"$out/dustcap-$version-changes.md"

# made PATTERN: is there such a file?
made() { compgen -G "$out/$1" >/dev/null; }

{
  echo "# Licences of what is linked into Dustcap $version"
  echo
  echo "Dustcap itself: ISC. The tables name all licences in the sources of each package, as"
  echo "Debian's copyright files have them. Debian keeps these sources: apt-get source NAME=VERSION."
  if made 'dustcap*_*.deb' || made '*-linux-*'; then
    printf '\n## Programs and windows on Linux\n\n%s\n\n' \
      'The archive holds the libraries of the programs; all others are of the system.'
    mapfile -t libraries < <(libraries_of "$work/root-$machine"/usr/bin/* "$work/root-$machine"/usr/lib/lv2/dustcap.lv2/*.so)
    "$here/licences.sh" "${libraries[@]}"
  fi
  if made '*-windows-*'; then
    printf '\n## Plugins on Windows\n\n%s\n\n' 'What the compiler puts into the DLL.'
    "$here/licences.sh" /usr/x86_64-w64-mingw32/lib/libmingw32.a "$(x86_64-w64-mingw32-gcc -print-libgcc-file-name)"
  fi
} >"$out/dustcap-$version-licences.md"
(cd "$out" && sha256sum dustcap[-_]* >SHA256SUMS)
