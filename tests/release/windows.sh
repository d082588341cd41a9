#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# windows.sh ZIP VERSION BUILD WINDOWS_BUILD FOLDER
# What is for Windows: whole, one DLL without other runtimes, and its 20 forms
# play under Wine what BUILD plays here.  WINDOWS_BUILD is the build folder that
# it came from, FOLDER for the sound of both.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=check.sh
source "$here/check.sh"
what=windows
zip=$(realpath "$1") build=$(realpath "$3") from=$(realpath "$4")
name=dustcap-$2-windows-x86_64
sources=$(cd "$here/../.." && pwd)
rm -rf "$5"
mkdir -p "$5"/{here,there}
work=$(realpath "$5")

unpack() { unzip -q "$zip" -d "$work"; }
check 'it unpacks' unpack
bundle=$work/$name/dustcap.lv2
names_in() { grep -oh '<[a-z0-9-]*\.\(ttl\|so\|dll\)>' "$bundle"/*.ttl | tr -d '<>' | sort -u; }
is_whole() {
  local name
  [[ $(names_in | wc -l) -ge 13 && $(find "$bundle" -type f -name '*.dll') == "$bundle/dustcap.dll" ]] || return
  for name in $(names_in); do [[ -f $bundle/$name ]] || return; done
}
check 'the bundle has all that it names' is_whole
check 'its Turtle obeys its vocabularies' "$here/../plugins/ttl_valid.sh" "$bundle"
imports() {
  needs x86_64-w64-mingw32-objdump || return
  [[ $(x86_64-w64-mingw32-objdump -p "$bundle/dustcap.dll" | sed -n 's/^\tDLL Name: //p' | sort | paste -sd' ') == 'KERNEL32.dll msvcrt.dll' ]]
}
check 'the DLL needs only what Windows has' imports

# player EXE SOURCE OPTION...: the tables of the forms are its own
player() {
  x86_64-w64-mingw32-gcc -std=c11 -O2 -fno-builtin -D_POSIX_C_SOURCE=200809L -I"$sources" -I"$from" -I"$from/../../include" \
    "${@:3}" "$sources/tests/portability/player.c" "$2" "$from/plugins/libshell.a" "$from/common/libcommon.a" \
    -static -lpthread -lm -o "$work/$1"
}
under_wine() {
  (cd "$work" && WINEDEBUG=-all WINEPREFIX=$work/wine DUSTCAP_MODULE="$name\\dustcap.lv2\\dustcap.dll" "$wine" "$@")
}
wine=$(command -v wine64 || command -v /usr/lib/wine/wine64)
if [[ $wine ]]; then
  check 'a player of the DLL can be built' player module.exe "$sources/tests/portability/module.c" -Dshell_descriptor=module_descriptor
  plays() { under_wine module.exe there && [[ $(find "$work/there" -name '*.f32' | wc -l) == 20 ]]; }
  check 'it plays 20 forms through the DLL under Wine' plays
  "$build/tests/portability/portability_player" "$work/here" >"$work/here/forms"
  alike() {
    local forms
    mapfile -t forms < <(sed 's/ .*//; s/^urn:dustcap://' "$work/here/forms")
    [[ ${#forms[@]} == 20 ]] &&
      "$build/tests/portability/portability_compare" "$work/here" "$work/there" "${forms[@]}"
  }
  check 'all 20 play the same bits as here' alike
else
  check 'it plays 20 forms under Wine' needs wine64
fi
exit $status
