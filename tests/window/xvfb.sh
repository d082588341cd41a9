#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# xvfb.sh PROGRAM ARGUMENT...
# Runs PROGRAM on a display of its own; skips where there is no Xvfb.
# SCREEN=6400x4000 in the environment: a larger one.
set -eu
command -v Xvfb >/dev/null || exit 77
work=$(mktemp -d)
server=
trap 'test -z "$server" || kill "$server"; rm -rf "$work"' EXIT
mkfifo "$work/number"
Xvfb -displayfd 3 -screen 0 "${SCREEN:-1280x800}x24" -noreset -nolisten tcp \
  3>"$work/number" >/dev/null 2>&1 &
server=$!
read -r number <"$work/number"
DISPLAY=:$number XDG_CONFIG_HOME=$work XDG_STATE_HOME=$work "$@"
