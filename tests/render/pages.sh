#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# pages.sh FOLDER PROGRAM...
# What others make of the manual pages and completions in FOLDER: mandoc and bash
# find no fault in them, and both name the options that the help names.
set -u
export LC_ALL=C
folder=$1
shift
n=0
status=0

check() {
  local what=$1
  shift
  n=$((n + 1))
  if "$@"; then echo "ok $n - $what"; else
    echo "not ok $n - $what"
    status=1
  fi
}

options_in() { grep -o -- '--[a-z][a-z-]*' | sort -u; }
of_help() { "$1" --help | sed -n 's/^  \(-., \)\?\(--[^ ]*\).*/\2/p' | sort -u; }
of_page() { sed -n '/^\.SH OPTIONS/,/^\.SH EXIT/p' "$folder/$1.1" | sed -n '/^\.TP/{n;s/\\-/-/g;s/\\f.//g;p}' | options_in; }
of_completion() { sed -n "s/.*\*) .*-W '\(--.*\)').*/\1/p" "$folder/$1.bash" | options_in; }
same_as_help() { [[ -n $(of_help "$2") && $("$1" "${2##*/}") == "$(of_help "$2")" ]]; }
# Its only warnings are about the date, which a page that is always the same has
# not got; that lines are long is style
is_clean() { ! mandoc -Tlint -Wwarning "$1" | sed '/missing date/d; s/^/# /' | grep .; }

for program; do
  name=${program##*/}
  check "$name: the page has the options of the help" same_as_help of_page "$program"
  check "$name: so has the completion" same_as_help of_completion "$program"
  check "$name: bash reads the completion" bash -n "$folder/$name.bash"
  if command -v mandoc >/dev/null; then
    check "$name: mandoc reads the page" is_clean "$folder/$name.1"
  else
    n=$((n + 1))
    echo "ok $n - $name: mandoc reads the page # SKIP no mandoc"
  fi
done
echo "1..$n"
exit "$status"
