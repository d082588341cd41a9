#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# deb.sh PACKAGE VERSION BUILD [ROOT...]
# The Debian package: lintian has nothing to say, it installs into an empty root,
# works there, replaces an older one and leaves no trace when it is removed.  In
# a copy of each ROOT, a bare system, apt installs it with what it depends on.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=check.sh
source "$here/check.sh"
what=deb
package=$(realpath "$1") version=$2 build=$3
work=$(mktemp -d)
trap 'rm -rf --one-file-system "$work"' EXIT
root=$work/root

# What it overrides itself it must explain
is_clean() {
  needs lintian || return
  lintian --allow-root --display-info --fail-on error,warning,info "$package"
}
check 'lintian has nothing to say' is_clean

# dpkg without the packages that it depends on, and without root
in_root() {
  local as=(fakeroot)
  ((EUID)) || as=()
  "${as[@]}" dpkg --root="$root" --log=/dev/null --force-depends "$@"
}
files() { (cd "$root" && find . -path ./var -prune -o -print | sort); }
listed() { in_root --listfiles dustcap | sed 's|^/|./|; s|^\./\.$|.|' | sort; }
mkdir -p "$root/var/lib/dpkg/"{info,updates,triggers}
touch "$root/var/lib/dpkg/status"

# An older one, with a file that the newer one has not got
dpkg-deb -R "$package" "$work/older"
sed -i 's/^Version: .*/Version: 0.0.1/' "$work/older/DEBIAN/control"
echo gone >"$work/older/usr/lib/lv2/dustcap.lv2/gone.ttl"
dpkg-deb --root-owner-group --build "$work/older" "$work/older.deb" >/dev/null

before=$(files)
check 'it installs' in_root -i "$package"
fresh=$(files)
all_listed() { [[ $(listed) == "$fresh" ]]; }
check 'dpkg knows every file' all_listed
check 'it is removed' in_root --purge dustcap
no_trace() { [[ $(files) == "$before" ]] && [[ ! -s $root/var/lib/dpkg/status || -z $(grep dustcap "$root/var/lib/dpkg/status") ]]; }
check 'without a trace' no_trace
check 'an older one installs' in_root -i "$work/older.deb"
check 'it replaces the older one' in_root -i "$package"
as_fresh() { [[ $(files) == "$fresh" && $(in_root -s dustcap) == *"Version: $version"* ]]; }
check 'completely' as_fresh
intact() { [[ -z $(in_root --verify dustcap) ]]; }
check 'its files have their checksums' intact
"$here/installed.sh" deb "$root/usr" "$version" "$build" || status=1
check 'it is removed again' in_root --purge dustcap
check 'without a trace again' no_trace

# in_bare ROOT
in_bare() {
  local root=$work/bare
  cp -a "$1" "$root"
  what="deb, bare $(. "$root/etc/os-release" && echo "$PRETTY_NAME")"
  cp -L /etc/resolv.conf "$root/etc/resolv.conf"
  cp "$package" "$root/tmp/dustcap.deb"
  mount -t proc proc "$root/proc"
  trap 'umount "$root/proc" && rm -rf --one-file-system "$root"' RETURN
  apt() { chroot "$root" env DEBIAN_FRONTEND=noninteractive apt-get -q -y --no-install-recommends "$@"; }
  installs() { apt update && apt install /tmp/dustcap.deb; }
  check 'apt installs it with what it depends on' installs
  "$here/installed.sh" "$what" "$root/usr" "$version" "$build" chroot "$root" || status=1
  check 'apt removes it' apt purge dustcap
  no_file() { ! find "$root" -xdev -path "$root/var/log" -prune -o -path "$root/tmp" -prune -o -name '*dustcap*' -print | grep .; }
  check 'no file of that name is left' no_file
}
for bare in "${@:4}"; do in_bare "$bare"; done
exit $status
