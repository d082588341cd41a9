#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# symbols.sh MODULE
# One export, and no import that could allocate, lock or block while playing:
# only those that instantiate() and cleanup() need.
set -eu

if nm "$1" | grep -qE ' (__gcov_|__asan_|__tsan_)'; then
  echo "built for coverage or a sanitizer, which bring symbols of their own"
  exit 77
fi
exports=$(nm -D --defined-only "$1" | awk '{ print $3 }')
[ "$exports" = lv2_descriptor ] || {
  echo "exports: $exports (want: lv2_descriptor alone)"
  exit 1
}

# String functions, maths, set-up; __ names belong to the compiler's runtime
allowed='^(mem(cpy|move|set|cmp)|str[a-z]+|snprintf|calloc|free|pthread_once'
allowed="$allowed"'|[a-z]*(exp|log|pow|sin|cos|tan|sinh|cosh|tanh|atan|sqrt|round|floor|fmin|fmax|hypot|cabs)[a-z0-9]*f?'
allowed="$allowed"'|_ITM_.*|__.*|_Jv_.*)$'
imports=$(nm -D --undefined-only "$1" | awk '{ sub(/@.*/, "", $2); print $2 }')
strange=$(echo "$imports" | grep -vE "$allowed" || true)
[ -z "$strange" ] || {
  echo "imports beyond the list in $0: $strange"
  exit 1
}

# Needs only the C library on the user's machine
libraries=$(readelf -d "$1" | sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p')
strange=$(echo "$libraries" | grep -vE '^(libc|libm|libpthread|ld-linux-[a-z0-9-]+)\.so\.' || true)
[ -z "$strange" ] || {
  echo "libraries beyond libc and libm: $strange"
  exit 1
}
