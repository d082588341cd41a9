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
  "$build/tests/portability/portability_player" "$work/here" note "$work/libm" >"$work/here/forms"
  # rms_db FORM: of the difference, in dBFS
  rms_db() {
    paste <(od -An -v -tf4 -w4 "$work/here/$1.f32") <(od -An -v -tf4 -w4 "$work/there/$1.f32") |
      awk '{ d = $1 - $2; sum += d * d } END { printf "%.1f\n", NR ? 10 * log(sum / NR + 1e-60) / log(10) : 999 }'
  }
  # C leaves open how exactly pow() and log1p() round, from which the tables of
  # the triodes are made.  So now and then a sample of the tube ends on the next
  # float, -144 dB away.
  alike() {
    local form how db same=0
    while read -r form _; do
      form=${form#urn:dustcap:}
      how=$("$build/tests/portability/portability_compare" "$work/here" "$work/there" "$form")
      if [[ $how == identical ]]; then
        ((++same))
        continue
      fi
      db=$(rms_db "$form")
      echo "$form: RMS $db dBFS, at most ${how##* } dBFS"
      [[ $form == tube-stage* ]] || return
      awk -v db="$db" -v most="${how##* }" 'BEGIN { exit !(db < -170 && most < -140) }' || return
    done <"$work/here/forms"
    echo "$same identical"
    [[ $same == 18 ]]
  }
  check '18 play the same bits as here, the tube differs by less than -170 dBFS RMS' alike
  # The plugins once more, linked with what libm answered here
  wraps() { sed -n '/^foreach name : \[/,/^\]/p' "$sources/tests/portability/meson.build" | grep -o "'[a-z0-9]*'" | tr -d "'" | sed 's/^/-Wl,--wrap=/'; }
  same_libm() {
    local forms
    mapfile -t forms < <(sed 's/ .*//; s/^urn:dustcap://' "$work/here/forms")
    mkdir "$work/same-libm"
    # shellcheck disable=SC2046
    player libm.exe "$sources/tests/portability/libm_answers.c" $(wraps) && under_wine libm.exe same-libm take libm &&
      [[ ${#forms[@]} == 20 ]] &&
      "$build/tests/portability/portability_compare" "$work/here" "$work/same-libm" "${forms[@]}"
  }
  check 'with the libm of here, all 20 play the same bits' same_libm
else
  check 'it plays 20 forms under Wine' needs wine64
fi
exit $status
