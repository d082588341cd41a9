#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# linux.sh WORK OUT
# For Linux of any kind: bundle, programs with the libraries that a bare system
# lacks beside them, setups, manual, and a script that installs all for one user.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$1 out=$2
sources=$(cd "$here/../.." && pwd)
name=dustcap-$(version_of "$sources")-linux-$machine
stage=$work/$name

# glibc_of FILE...: the newest version of it that they ask for
glibc_of() { "${tools}objdump" -T "$@" | sed -n 's/.*GLIBC_\([0-9.]*\).*/\1/p' | sort -uV | tail -n 1; }

say "$name.tar.xz"
"$here/build.sh" "$work"
rm -rf "$stage"
cp -r "$work/root-$machine/usr" "$stage"
cp "$sources/LICENSE" "$sources/ttl/manual.md" "$stage/"
front_page "$sources" >"$stage/README.md"
"$here/notes.sh" "$sources/README.md" "$(version_of "$sources")" >"$stage/CHANGES.md"

# The libraries come with the programs.  RPATH, not RUNPATH: it holds for what
# the libraries need, too.
mkdir -p "$stage/lib/dustcap" "$stage/licences"
mapfile -t libraries < <(libraries_of "$stage"/bin/*)
for library in "${libraries[@]}"; do
  cp -L "$library" "$stage/lib/dustcap/"
done
patchelf --force-rpath --set-rpath "\$ORIGIN/../lib/dustcap" "$stage"/bin/*

# The windows take cairo and X11 from the system: hosts with windows have them,
# and two cairos in one process are a risk.  The reader of setups is too rare for
# that, and lies in the bundle.
ui=$stage/lib/lv2/dustcap.lv2/dustcap-ui.so
for library in $(libraries_of "$ui"); do
  [[ $library == */libinih.so.* ]] || continue
  cp -L "$library" "${ui%/*}/"
  patchelf --set-rpath "\$ORIGIN" "$ui"
done

# Whose they are
{
  cat "$here/licences.md"
  "$here/licences.sh" "${libraries[@]}"
} >"$stage/licences/README.md"
sed -n 's/^| [^|]* | \([^ |]*\) [0-9].*/\1/p' "$stage/licences/README.md" | while read -r package; do
  cp "$sysroot/usr/share/doc/$package/copyright" "$stage/licences/$package.txt"
done

glibc=$(glibc_of "$stage"/bin/* "$stage"/lib/dustcap/* "$stage"/lib/lv2/dustcap.lv2/*.so)
say "needs glibc $glibc or later"
sed "s/@GLIBC@/$glibc/; s/@MACHINE@/$machine/" "$here/install.sh" >"$stage/install.sh"
chmod +x "$stage/install.sh"
(
  cd "$stage/lib/lv2/dustcap.lv2"
  touch installed.txt
  find . -type f -printf '%P\n' | sort >../installed.txt
  mv ../installed.txt .
)
pack "$work" "$name" >"$work/$name.tar.xz"
mv "$work/$name.tar.xz" "$out/"
