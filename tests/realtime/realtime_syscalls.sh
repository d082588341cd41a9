#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# realtime_syscalls.sh PROGRAM
# Checks that ten times as many blocks make no more system calls.
set -eu

log=$(mktemp)
trap 'rm -f "$log"' EXIT
strace -f -o /dev/null true 2>"$log" || {
  echo "SKIPPED: strace cannot trace here: $(head -1 "$log")"
  exit 0
}

count() {
  strace -f -o "$log" "$1" "$2" >/dev/null
  grep -c '(' "$log"
}
few=$(count "$1" 50)
many=$(count "$1" 500)
echo "system calls of 50 blocks a plugin: $few, of 500: $many"
[ "$few" -eq "$many" ]
