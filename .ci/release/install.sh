#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Installs Dustcap for this user, or removes it.  Needs neither root nor a network.
set -eu
umask 022

usage() {
  cat <<'END'
usage: ./install.sh [--uninstall]

Installs for this user: the plugins in ~/.lv2/dustcap.lv2, all else in
~/.local/lib/dustcap, with links to the programs in ~/.local/bin, to their
manual pages and completions in ~/.local/share.  An older version is replaced.
END
}
say() { printf 'install.sh: %s\n' "$*"; }
die() {
  say "$*" >&2
  exit 1
}

remove=false
case ${1-} in
'') ;;
--uninstall) remove=true ;;
-h | --help)
  usage
  exit
  ;;
*)
  usage >&2
  exit 2
  ;;
esac
case ${HOME:-} in
/*) ;;
*) die "HOME is not set: whose folder is meant?" ;;
esac

here=$(cd "$(dirname "$0")" && pwd -P)
lv2=$HOME/.lv2
bundle=$lv2/dustcap.lv2
lib=$HOME/.local/lib
tree=$lib/dustcap
data=${XDG_DATA_HOME:-$HOME/.local/share}
list=installed.txt # Of the bundle: what was put there
mark=dustcap.txt   # Of the tree: that it is ours

# Refuse what we did not put there
[ ! -L "$bundle" ] || die "$bundle is a link; remove it first"
if [ -e "$bundle" ]; then
  [ -f "$bundle/$list" ] || die "$bundle has no $list, so it is not known what is in it; remove it first"
  foreign=$(cd "$bundle" && find . ! -type d | sed 's|^\./||' | grep -vxF -f "$list" | head -n 1) || true
  [ -z "$foreign" ] || die "$bundle holds what was not installed: $foreign; move it away first"
fi
[ ! -e "$tree" ] || [ -f "$tree/$mark" ] || die "$tree is not of Dustcap; move it away first"

# links DO: calls DO LINK TARGET for each
links() {
  for name in dustcap-presets dustcap-render dustcap-session; do
    "$1" "$HOME/.local/bin/$name" "$tree/bin/$name"
    "$1" "$data/man/man1/$name.1" "$tree/share/man/man1/$name.1"
    "$1" "$data/bash-completion/completions/$name.bash" "$tree/share/bash-completion/completions/$name.bash"
  done
}
check_link() {
  { [ ! -e "$1" ] && [ ! -L "$1" ]; } || [ "$(readlink "$1")" = "$2" ] ||
    die "$1 is not of Dustcap; move it away first"
}
remove_link() { rm -f "$1"; }
make_link() {
  mkdir -p "$(dirname "$1")"
  ln -sfn "$2" "$1"
}
links check_link

if $remove; then
  [ -e "$tree" ] || [ -e "$bundle" ] || die "nothing is installed"
  links remove_link
  rm -rf "$bundle" "$tree"
  say "removed $bundle and $tree"
  exit
fi

"$here/bin/dustcap-render" --version >/dev/null ||
  die "the programs do not run here: this is for glibc @GLIBC@ and later on @MACHINE@"

# Whole, beside the old ones, before they are replaced
mkdir -p "$lv2" "$lib"
new=$(mktemp -d "$lv2/.dustcap.XXXXXX")
new_tree=$(mktemp -d "$lib/.dustcap.XXXXXX")
trap 'rm -rf "$new" "$new_tree"' EXIT
trap 'exit 1' HUP INT TERM
cp -R "$here/lib/lv2/dustcap.lv2" "$new/new"
mkdir "$new_tree/new"
for name in "$here"/*; do
  cp -R "$name" "$new_tree/new/"
done
echo "Installed by install.sh, which also removes it: ./install.sh --uninstall" >"$new_tree/new/$mark"
# One bundle: that of the hosts is the programs' too
rm -rf "$new_tree/new/lib/lv2/dustcap.lv2"
ln -s "$bundle" "$new_tree/new/lib/lv2/dustcap.lv2"

[ ! -e "$bundle" ] || mv "$bundle" "$new/old"
mv "$new/new" "$bundle"
[ ! -e "$tree" ] || mv "$tree" "$new_tree/old"
mv "$new_tree/new" "$tree"
links make_link

say "plugins:  $bundle"
say "programs: $HOME/.local/bin/dustcap-{render,session,presets}"
say "setups:   $(dirname "$(find "$tree/" "$bundle/" -name rhythm.ini | head -n 1)")"
say "manual:   $tree/manual.md"
case :$PATH: in
*":$HOME/.local/bin:"*) ;;
*) say "add $HOME/.local/bin to PATH to call the programs by their names" ;;
esac
say "to remove all of it: $tree/install.sh --uninstall"
