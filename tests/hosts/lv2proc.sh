# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in blocks of 512 frames, the last one shorter
tools=(lv2proc)
package=lv2proc

play() { # URI IN OUT SETTING...
  local uri=$1 in=$2 out=$3 setting
  shift 3
  for setting; do
    shift
    set -- "$@" -c "${setting%%=*}:${setting#*=}"
  done
  limited 60 lv2proc -n 512 -i "$in" -o "$out" "$@" "$uri"
}
