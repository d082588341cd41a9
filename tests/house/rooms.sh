#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# rooms.sh SOURCES
# Checks that every source file lives in a room and includes only what that room
# may (rooms.txt), and that every test is listed for the build.  Tests the judge
# itself first: it must find each kind of breach in a house made to have it.
set -eu
export LC_ALL=C

here=$(cd "$(dirname "$0")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
n=0
status=0

# judge LIST: prints what is wrong with the files below this folder
judge() {
  # shellcheck disable=SC2046 # No white space in the names of sources
  awk -f "$here/rooms.awk" "$1" $(find . -name '*.[ch]' | sed 's#^\./##' | sort)
}

say() {
  n=$((n + 1))
  if [ "$1" = ok ]; then echo "ok $n - $2"; else
    echo "not ok $n - $2"
    status=1
  fi
}

# breach WHAT WANTED: must be found in the house of this folder; then repairs it
breach() {
  if found=$(judge rooms.txt); then
    say bad "$1: not seen"
  elif [ "$found" = "$2" ]; then
    say ok "$1"
  else
    printf '# found:  %s\n# wanted: %s\n' "$found" "$2"
    say bad "$1: something else was seen"
  fi
  house
}

# A house of two rooms in which all is well
house() {
  rm -rf core upper loose.h
  mkdir core upper
  printf 'core: posix\nupper: core <zlib.h>\n' >rooms.txt
  printf '#include <math.h>\n#include <unistd.h>\n' >core/a.h
  printf '#include "a.h"\n' >core/a_run.h
  printf '#include "core/a.h"\n#include "own.h"\n#include <zlib.h>\n' >upper/b.c
  printf '#include <stdio.h>\n' >upper/own.h
}

cd "$work"
house
if found=$(judge rooms.txt); then say ok "a house in which all is well"; else
  echo "# $found"
  say bad "a house in which all is well"
fi
echo '#include "upper/own.h"' >>core/a.h
breach "an arrow upwards" 'core/a.h:3: core may not include upper/own.h'
echo '#include <pthread.h>' >>upper/own.h
breach "a header of the system" 'upper/own.h:2: upper may not include <pthread.h>'
echo '#include <lzma.h>' >>upper/own.h
breach "a library" 'upper/own.h:2: upper may not include <lzma.h>'
echo '#include "core/a_run.h"' >>upper/own.h
breach "what is private to a room" 'upper/own.h:2: core/a_run.h is private to core'
echo '#include "upper/own.h"' >>upper/b.c
breach "a neighbour by its path" \
  'upper/b.c:4: "upper/own.h": expected its name alone, it is in the same room'
: >loose.h
breach "a file in no room" 'loose.h: in no room of rooms.txt'
echo 'attic: core' >>rooms.txt
breach "a room without files" "$(printf '%s\n' 'rooms.txt: no file lives in attic' \
  'rooms.txt: attic may include core but does not')"
printf 'core: posix upper\nupper: core <zlib.h>\n' >rooms.txt
breach "a circle" "$(printf '%s\n' \
  'rooms.txt: core may include upper, which is not above it in the list' \
  'rooms.txt: core may include upper but does not')"
sed -i '$d' upper/b.c
breach "a grant that nobody needs" 'rooms.txt: upper may include <zlib.h> but does not'

cd "$1"
# shellcheck disable=SC2046
if found=$(awk -f "$here/rooms.awk" tests/house/rooms.txt \
  $(find common plugins ttl presets-demo tests -name '*.[ch]' | sort)); then
  say ok "every file keeps the rules of its room"
else
  echo "$found" | sed 's/^/# /'
  say bad "every file keeps the rules of its room"
fi

unlisted=$(for file in tests/*/test_*.c; do
  name=$(basename "$file" .c)
  name=$(echo "${name#test_}" | tr _ -)
  lists=$(dirname "$file")/meson.build
  # A stage's own comes with its stem
  [ "$(dirname "$file")" != tests/stages ] || lists="$lists meson.build"
  # Listed with either mark between its words
  # shellcheck disable=SC2086
  cat $lists | tr _ - | grep -q "'$name'" || echo "$file"
done)
if [ -z "$unlisted" ]; then say ok "every test is listed in its room's meson.build"; else
  echo "$unlisted" | sed 's/^/# /'
  say bad "every test is listed in its room's meson.build"
fi
echo "1..$n"
exit $status
