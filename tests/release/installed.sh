#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# installed.sh WHAT PREFIX VERSION BUILD [ENTER...]
# Does what is installed in PREFIX work, and sound as the BUILD that was tested?
# ENTER is a command in front of its programs.  With ENTER "chroot ROOT", all that
# they are given lies in ROOT, and PREFIX is seen from outside.  WHAT names it in
# the results.
# shellcheck source=check.sh
source "$(dirname "$0")/check.sh"
what=$1 prefix=$(realpath "$2") version=$3 build=$(realpath "$4")
shift 4
enter=("$@")
root=
[[ ${enter[0]-} != chroot ]] || root=${enter[1]}
tests=$(cd "$(dirname "$0")/.." && pwd)
programs=(dustcap-presets dustcap-render dustcap-session)

work=$(mktemp -d "$root/tmp/dustcap.XXXXXX")
trap 'rm -rf "$work"' EXIT

# program NAME ARGUMENT...: paths among them without the root.  Nothing of the
# user who calls this helps it to find its bundle.
program() {
  local words=("$prefix/bin/$1" "${@:2}")
  env -u LV2_PATH -u LD_LIBRARY_PATH HOME="${work#"$root"}" "${enter[@]}" "${words[@]/#"$root"/}"
}

first() { find "$prefix" -name "$1" -print -quit; }

# Where links lead from outside of ROOT is not where they lead inside
bundle=${BUNDLE:-$prefix/lib/lv2/dustcap.lv2}
setup=$(first rhythm.ini)

says_version() { [[ $(program "$1" --version) == "$1 $version" ]]; }
helps() { program "$1" --help | grep -q "^Usage: $1 "; }
has_page() { [[ -n $(first "$1.1") || -n $(first "$1.1.gz") ]]; }
has_completion() { bash -n "$(first "$1.bash")"; }
for name in "${programs[@]}"; do
  check "$name tells its version" says_version "$name"
  check "$name tells its options" helps "$name"
  check "$name has a manual page" has_page "$name"
  check "$name has a completion" has_completion "$name"
done

# The bundle, as LV2's own tools see it
names_in() { grep -oh '<[a-z0-9-]*\.\(ttl\|so\)>' "$1"/*.ttl | tr -d '<>' | sort -u; }
is_whole() {
  local name
  [[ $(names_in "$bundle" | wc -l) -ge 13 ]] || return
  for name in $(names_in "$bundle"); do [[ -f $bundle/$name ]] || return; done
}
check 'the bundle has all that it names' is_whole
check 'its Turtle obeys its vocabularies' "$tests/plugins/ttl_valid.sh" "$bundle"
# /usr/lib/lv2 has LV2's own vocabularies, and may have this bundle
mkdir -p "$work/lv2"
ln -sfn "$bundle" "$work/lv2/dustcap.lv2"
with_lilv() { LV2_PATH=$1:/usr/lib/lv2 "${@:2}"; }
plugins() { with_lilv "$1" lv2ls | grep '^urn:dustcap:'; }
lists_as_many() {
  needs lv2ls || return
  [[ $(plugins "$work/lv2") == "$(plugins "$build/tests/lv2")" ]]
}
check 'hosts find the plugins of the build' lists_as_many
presets() { with_lilv "$1" lv2info "$2" | sed -n '/^\tPresets:/,/^$/p'; }
lists_presets() {
  needs lv2info || return
  local uri
  [[ $(plugins "$work/lv2") ]] || return
  for uri in $(plugins "$work/lv2"); do
    presets "$work/lv2" "$uri" | grep -q '[a-z]$' || { echo "none of $uri"; return 1; }
  done
}
check 'hosts find presets of each' lists_presets
check 'the module exports one symbol and imports what it may' "$tests/plugins/symbols.sh" "$bundle/dustcap.so"
has_windows() { nm -D --defined-only "$bundle/dustcap-ui.so" | grep -q ' T lv2ui_descriptor$'; }
check 'the windows are there' has_windows

# Every form through the installed module, to the bit as in the build
same_forms() {
  [[ ! $root ]] || { echo 'played outside of it'; return 77; }
  DUSTCAP_MODULE=$bundle/dustcap.so "$build/tests/portability/portability_module" >"$work/forms" &&
    "$build/tests/portability/portability_player" | diff - "$work/forms" && [[ $(wc -l <"$work/forms") == 20 ]]
}
check 'its 20 forms play the bits of the build' same_forms

# Presets of a setup
check 'a setup becomes presets' program dustcap-presets "$setup" -o "$work/mine"
check 'they fit the plugins' program dustcap-presets --check "$work/mine/dustcap-user-presets.lv2"
lists_mine() {
  needs lv2info || return
  [[ $(presets "$work/mine:$work/lv2" urn:dustcap:tube-stage | wc -l) -gt $(presets "$work/lv2" urn:dustcap:tube-stage | wc -l) ]]
}
check 'hosts find them' lists_mine

# Sound
take=$work/take.wav
mkdir "$work/di"
"$build/presets-demo/guitar/make-di" "$work/di" && mv "$work/di/rhythm-left.wav" "$take"
check 'dustcap-render plays' program dustcap-render "$take" --setup "$setup" -o "$work/amp.wav"
same_sound() {
  "$build/presets-demo/render/dustcap-render" "$take" --setup "$setup" -o "$work/want.wav" --quiet &&
    cmp "$work/amp.wav" "$work/want.wav"
}
check 'to the bit what the build plays' same_sound
no_setup() {
  program dustcap-render "$take" --setup "$work/none.ini" -o "$work/none.wav" >/dev/null 2>"$work/error"
  [[ $? == 1 && $(wc -l <"$work/error") == 1 && ! -e $work/none.wav ]]
}
check 'a mistake gives one line and no file' no_setup
printf '[track one]\nfile = take.wav\nsetup = %s\nroom_db = -12\n\n[send room]\nsetup = %s\n\n[bus]\nsetup = %s\n' \
  "${setup#"$root"}" "${setup%/*}/room.ini" "${setup%/*}/bus.ini" | sed "s|= $root|= |" >"$work/one.session.ini"
mixes() {
  program dustcap-session "$work/one.session.ini" -o "$work/mix" --json &&
    [[ -s $work/mix/mix.wav && -s $work/mix/report.html && -s $work/mix/report.json ]]
}
check 'dustcap-session mixes and reports' mixes
exit $status
