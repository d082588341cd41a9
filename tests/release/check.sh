# shellcheck shell=bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Shared by the checks of a release, with "source": one line per check, without
# numbers, as several scripts print into one list.
set -uo pipefail
export LC_ALL=C
status=0

# check TITLE COMMAND...: exit status 77 means that it cannot be told here
check() {
  local title="$what: $1" code=0 log
  shift
  log=$(mktemp)
  "$@" >"$log" 2>&1 || code=$?
  case $code in
  0) echo "ok - $title" ;;
  77) echo "ok - $title # SKIP $(tail -n1 "$log")" ;;
  *)
    echo "not ok - $title"
    sed 's/^/# /' "$log"
    status=1
    ;;
  esac
  rm -f "$log"
}

# needs TOOL: for the first line of a check
needs() {
  command -v "$1" >/dev/null || {
    echo "no $1"
    return 77
  }
}
