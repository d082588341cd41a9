#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# mutants.sh FOLDER [--quick] [N [SEED]]
# Puts N small faults (100) into common/ and presets-demo/, one at a time, and
# tells which of them no test sees.  The same ones for the same SEED (1) and
# sources.  All happens in FOLDER: a copy of the sources, and a build of it.
#
# A fault is looked for by the tests that bear its file's name, then by those of its
# room, then by all others, quick ones first, up to the first that fails.  --quick
# leaves out the slow ones of other rooms.  Exit status 1 if one survives that
# explained.txt does not explain.

set -euo pipefail
shopt -s inherit_errexit

QUICK_PC=70  # Of all tests are quick ones
LIMIT_S=1800 # Of one mutant, building included; then it counts as killed: it hangs

here=$(cd "$(dirname "$0")" && pwd)
source_dir=$(cd "$here/../.." && pwd)

folder=${1:?usage: mutants.sh FOLDER [--quick] [N [SEED]]}
shift
quick=0
if [[ ${1-} == --quick ]]; then
  quick=1
  shift
fi
n_wanted=${1:-100}
seed=${2:-1}
[[ $n_wanted =~ ^[1-9][0-9]{0,5}$ && $seed =~ ^[0-9]{1,9}$ ]] || {
  echo "mutants: expected [--quick] [N [SEED]], numbers, N from 1; not '$*'" >&2
  exit 2
}
mkdir -p "$folder"
folder=$(cd "$folder" && pwd)
tree=$folder/tree build=$folder/build

# The sources as they are now.  What is the same keeps its time, so that little
# has to be built again.
copy_sources() {
  local list=$folder/sources file
  git -C "$source_dir" ls-files -co --exclude-standard | LC_ALL=C sort >"$list"
  while IFS= read -r file; do
    [[ -f $source_dir/$file ]] || continue
    cmp -s "$source_dir/$file" "$tree/$file" && continue
    mkdir -p "$tree/$(dirname "$file")"
    cp -P "$source_dir/$file" "$tree/$file"
  done <"$list"
  (cd "$tree" && find . -type f -o -type l | sed 's|^\./||' | LC_ALL=C sort) |
    LC_ALL=C comm -13 "$list" - | sed "s|^|$tree/|" | xargs -r -d '\n' rm -f
}

# run_tests LOG NAME...: 0 if none fails, 1 if one does, 125 if it does not build
run_tests() {
  local log=$1 status=0
  shift
  meson test -C "$build" --maxfail 1 --timeout-multiplier 3 "$@" >"$log" 2>&1 || status=$?
  ((status == 125 || status == 0)) || status=1
  return $status
}

# Into `tests`: seconds, room and name of each, the quick ones first.  Without a
# fault they must pass; those that do not are left out.
measure_tests() {
  local sum name result seconds room
  [[ -f $build/build.ninja ]] ||
    meson setup --buildtype=release -Dwerror=false "$build" "$tree" >"$folder/setup.log"
  # What the tests see; README.md, too, by the Turtle
  sum=$(cd "$tree" && grep -v '^tests/mutants/\|^dev$\|^DEVELOPERS' "$folder/sources" |
    xargs -d '\n' cat | cksum)
  [[ -s $folder/tests && $(cat "$folder/tests-of" 2>/dev/null) == "$sum" ]] && return
  echo "mutants: building and timing the tests without a fault" >&2
  meson compile -C "$build" >"$folder/first.log" 2>&1 || {
    tail -20 "$folder/first.log" >&2
    exit 1
  }
  meson test -C "$build" --timeout-multiplier 3 >"$folder/first.log" 2>&1 || true
  #  3/112 dustcap:dsp / room_fade         OK               0.03s   2 subtests passed
  sed -n 's|^ *[0-9]*/[0-9]* [^ ]* / \([^ ]*\)  *\([A-Z]*\)  *\([0-9.]*\)s.*|\1 \2 \3|p' \
    "$folder/first.log" | while read -r name result seconds; do
    if [[ $result != OK ]]; then
      [[ $result == SKIP ]] || echo "mutants: without a fault, $name fails; left out" >&2
      continue
    fi
    room=$(cd "$tree" && echo tests/*/"test_${name//-/_}.c")
    room=${room#tests/}
    [[ $room == *'*'* ]] && room=-
    echo "$seconds ${room%%/*} $name"
  done | sort -n >"$folder/tests"
  [[ -s $folder/tests ]] || {
    echo "mutants: no test passes; see $folder/first.log" >&2
    exit 1
  }
  echo "$sum" >"$folder/tests-of"
}

# The room of tests/ for a source: common/tube/x.c -> tube, presets-demo/render/
# audio/x.c -> render
room_of() {
  local rest=${1#*/}
  echo "${rest%%/*}"
}

# groups FILE: names of tests, those that are run together on one line
groups() {
  local stem=${1##*/}
  awk -v room="$(room_of "$1")" -v stem="${stem%.*}" -v quick="$quick" -v quick_pc="$QUICK_PC" '
    { second[NR] = $2; name[NR] = $3 }
    END {
      for (i = 1; i <= NR; ++i) {
        is_quick = 100 * i <= quick_pc * NR
        bears = name[i]
        gsub(/-/, "_", bears)
        if (index(bears, stem) == 1) group = 1
        else if (second[i] == room) group = is_quick ? 2 : 3
        else group = is_quick ? 4 : 5
        names[group] = names[group] " " name[i]
      }
      for (group = 1; group <= (quick ? 4 : 5); ++group) if (names[group]) print names[group]
    }
  ' "$folder/tests"
}

# choose: N lines of sites.awk, each kind as often as the others
choose() {
  local files
  mapfile -t files < <(cd "$tree" && find common presets-demo -name '*.[ch]' | LC_ALL=C sort)
  (cd "$tree" && awk -f "$here/sites.awk" pass=1 "${files[@]}" pass=2 "${files[@]}") |
    awk -F '\t' -v n="$n_wanted" -v seed="$seed" '
      # Park and Miller, Comm. ACM 31 (1988) 1192, with the multiplier of 1993
      function dice(sides) { state = state * 48271 % 2147483647; return int(state / 2147483647 * sides) }
      { if (!($1 in count)) kind[n_kinds++] = $1; site[$1, count[$1]++] = $0 }
      END {
        state = seed % 2147483646 + 1
        for (i = 0; i < 10; ++i) dice(1)
        while (n > 0 && n_kinds > 0) {
          k = dice(n_kinds)
          one = kind[k]
          i = dice(count[one])
          print site[one, i]
          site[one, i] = site[one, --count[one]]
          if (!count[one]) kind[k] = kind[--n_kinds]
          --n
        }
      }'
}

# What is known to survive: FILE: BEFORE => AFTER, without the space around
is_explained() {
  [[ -f $here/explained.txt ]] && grep -qxF -- "$1: $2 => $3" "$here/explained.txt"
}

trim() {
  local text=${1#"${1%%[! ]*}"}
  echo "${text%"${text##*[! ]}"}"
}

# Leaves the tree mutated, for the next one to put right, and prints a word:
# none (does not compile), killed by ..., survived
try_mutant() {
  local file=$1 line=$2 after=$3 names status log=$folder/run.log end=$((SECONDS + LIMIT_S))
  awk -v line="$line" '{ print FNR == line ? ENVIRON["AFTER"] : $0 }' "$source_copy/$file" \
    >"$tree/$file.new"
  mv "$tree/$file.new" "$tree/$file"
  while read -r -a names; do
    status=0
    timeout $((end - SECONDS > 1 ? end - SECONDS : 1)) \
      bash -c "$(declare -f run_tests); build=\$1; shift; run_tests \"\$@\"" \
      bash "$build" "$log" "${names[@]}" || status=$?
    case $status in
      0) ;;
      124) echo "killed by the time limit" && return ;;
      125) echo none && return ;;
      *)
        echo "killed by $(sed -n \
          's#^ *[0-9]*/[0-9]* [^ ]* / \([^ ]*\)  *\(FAIL\|ERROR\|TIMEOUT\).*#\1 \2#p' "$log" |
          sed 's/ FAIL$\| ERROR$//' | head -1)"
        return
        ;;
    esac
  done < <(groups "$file")
  echo survived
}

copy_sources
measure_tests
source_copy=$folder/unchanged
rm -rf "$source_copy"
mkdir -p "$source_copy"
cp -rp "$tree/common" "$tree/presets-demo" "$source_copy/"

tried=0 killed=0 survived=0 explained=0 uncounted=0
while IFS=$'\t' read -r kind file line before after; do
  verdict=$(AFTER=$after try_mutant "$file" "$line" "$after")
  cp "$source_copy/$file" "$tree/$file"
  before=$(trim "$before") after=$(trim "$after")
  case $verdict in
    none) uncounted=$((uncounted + 1)) ;;
    killed*) killed=$((killed + 1)) ;;
    survived)
      if is_explained "$file" "$before" "$after"; then
        explained=$((explained + 1))
        verdict=explained
      else
        survived=$((survived + 1))
      fi
      ;;
  esac
  [[ $verdict == none ]] && continue
  tried=$((tried + 1))
  printf '%s: %s:%d (%s)\n    %s\n    %s\n' "$verdict" "$file" "$line" "$kind" "$before" "$after"
done < <(choose)

printf '%d tried, %d killed, %d survived and explained, %d survived; %d more did not compile\n' \
  "$tried" "$killed" "$explained" "$survived" "$uncounted"
((survived == 0))
