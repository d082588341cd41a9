#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# steady.sh SOURCES
# What sounds calls libm through common/core/steady.h, so that its last bits are
# the same on every machine; exact functions, like sqrt(), it calls by name.
set -eu
cd "$1"

# breaches FILE...: the lines that call libm's other functions by their names
breaches() {
  sed 's|//.*||' "$@" /dev/null |
    grep -nE '(^|[^_[:alnum:]>.])(exp|exp2|expm1|log|log2|log10|log1p|pow|cbrt|hypot|a?(sin|cos|tan)h?|atan2|c(exp|log|pow|sqrt|abs|arg))f?\('
}

# The triode's curves are solved, and the solution rounded; the pick's is a
# definition for tests
allowed='common/tube/triode.c common/dynamics/pick_edge.c common/core/steady.h'
status=0
echo 1..2
work=$(mktemp)
trap 'rm -f "$work"' EXIT
echo 'y = x + tan(w); // sin(x)' >"$work"
if [ "$(breaches "$work" | wc -l)" = 1 ]; then echo 'ok 1 - a breach is seen'; else
  echo 'not ok 1 - a breach is seen'
  status=1
fi
found=
for file in $(find common -name '*.[ch]'); do
  case " $allowed " in *" $file "*) continue ;; esac
  ! breaches "$file" >"$work" || found="$found $file:$(head -1 "$work")"
done
if [ -z "$found" ]; then echo 'ok 2 - common/ calls libm by steady.h'; else
  echo "not ok 2 - common/ calls libm by steady.h:$found"
  status=1
fi
exit $status
