#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# linux.sh TARBALL VERSION BUILD [ROOT...]
# What is for Linux of any kind: install.sh installs it for one user, replaces an
# older one, leaves alone what is not ours, and removes it without a trace.  Each
# ROOT is a folder with a bare system in it, without a compiler, to try it in.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=check.sh
source "$here/check.sh"
what=linux tarball=$(realpath "$1") version=$2 build=$(realpath "$3")
roots=("${@:4}")
name=$(basename "$tarball" .tar.xz)
work=$(mktemp -d)
trap 'rm -rf --one-file-system "$work"' EXIT
HOME=$work/home
export HOME
unset XDG_DATA_HOME
tree=$HOME/.local/lib/dustcap
bundle=$HOME/.lv2/dustcap.lv2
mkdir "$HOME"
tar -x -f "$tarball" -C "$work" || exit 1

# None of this machine, none of ours that lies elsewhere
paths_of() { LD_TRACE_LOADED_OBJECTS=1 "$1" | awk '$3 ~ /^\// { print $3 }'; }
brings_its_libraries() {
  local program
  for program in "$work/$name"/bin/*; do
    ! paths_of "$program" | grep -v "^$work/$name/" | grep -v '/lib[cm]\.so\.6$\|/lib\(dl\|pthread\|rt\)\.so' || return
  done
}
check 'the programs bring their libraries' brings_its_libraries
# libfreetype and others come with cairo
window_needs() {
  ! readelf -d "$work/$name/lib/lv2/dustcap.lv2/dustcap-ui.so" | sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p' |
    while read -r library; do
      [[ -e $work/$name/lib/lv2/dustcap.lv2/$library ]] || echo "$library"
    done | grep -v '^lib\(c\|m\|cairo\|X11\|xcb\|pthread\|dl\)\.so\.'
}
check 'the windows need but cairo, X11 and libc' window_needs
no_path() { ! grep -rlaF -e "$PWD" -e "${build%/*}" "$work/$name"; }
check 'no path of this machine is in it' no_path
has_texts() {
  local library
  for library in "$work/$name"/lib/dustcap/*; do
    grep -q "^| ${library##*/} |" "$work/$name/licences/README.md" || { echo "$library"; return 1; }
  done
}
check 'the licence of each library is there' has_texts

install() { "$work/$name/install.sh" "$@"; }
contents() { (cd "$HOME" && find . ! -type d | sort); }
check 'it installs' install
fresh=$(contents)
BUNDLE=$bundle "$here/installed.sh" "$what, installed" "$tree" "$version" "$build" || status=1
by_link() { [[ $("$HOME/.local/bin/dustcap-render" --version) == "dustcap-render $version" ]]; }
check 'its programs are in ~/.local/bin' by_link
is_listed() { (cd "$bundle" && diff installed.txt <(find . -type f -printf '%P\n' | sort)); }
check 'the bundle lists its files' is_listed
knows_dev() { "$here/../../dev" uninstall >/dev/null && [[ ! -e $bundle ]] && install; }
check './dev uninstall can remove the bundle' knows_dev

echo old >"$bundle/dustcap.so"
echo gone.ttl >>"$bundle/installed.txt"
touch "$bundle/gone.ttl" "$tree/gone"
check 'it replaces an older one' install
as_fresh() { [[ $(contents) == "$fresh" ]] && cmp "$bundle/dustcap.so" "$work/$name/lib/lv2/dustcap.lv2/dustcap.so"; }
check 'completely' as_fresh
refuses() {
  local before
  before=$(contents)
  ! install "$@" >"$work/refused" 2>&1 && [[ $(contents) == "$before" && $(wc -l <"$work/refused") == 1 && $(cat "$work/refused") == "install.sh: "* ]]
}
touch "$bundle/mine.ttl"
check 'it refuses to replace foreign files in the bundle' refuses
check 'and to remove them' refuses --uninstall
rm "$bundle/mine.ttl"
check 'it is removed' "$tree/install.sh" --uninstall
no_trace() { [[ -z $(contents) && ! -e $bundle && ! -e $tree ]]; }
check 'without a trace' no_trace
mkdir -p "$HOME/.local/bin"
echo mine >"$HOME/.local/bin/dustcap-render"
check 'it refuses to replace a foreign program' refuses
rm "$HOME/.local/bin/dustcap-render"
mkdir -p "$tree"
check 'it refuses a foreign folder' refuses

# in_root ROOT: a bare system, with what /proc tells of programs
in_root() {
  local root=$1 home
  what="linux, bare $(. "$root/etc/os-release" && echo "$PRETTY_NAME")"
  home=$root/tmp/home
  no_compiler() { ! chroot "$root" sh -c 'command -v cc || command -v gcc || command -v c99'; }
  check 'there is no compiler' no_compiler
  rm -rf "$home"
  mkdir "$home"
  mount -t proc proc "$root/proc"
  trap 'umount "$root/proc"' RETURN
  tar -x -f "$tarball" -C "$root/tmp"
  check 'it installs' chroot "$root" env HOME=/tmp/home "/tmp/$name/install.sh"
  BUNDLE=$home/.lv2/dustcap.lv2 "$here/installed.sh" "$what" "$home/.local/lib/dustcap" "$version" "$build" chroot "$root" || status=1
  check 'it is removed' chroot "$root" env HOME=/tmp/home "/tmp/$name/install.sh" --uninstall
  rm -rf "$home" "$root/tmp/$name"
}
for root in "${roots[@]}"; do in_root "$root"; done
exit $status
