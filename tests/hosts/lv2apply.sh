# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in blocks of one frame
tools=(lv2apply)
package=lilv-utils

play() { # URI IN OUT SETTING...
  local uri=$1 in=$2 out=$3 setting
  shift 3
  for setting; do
    shift
    set -- "$@" -c "${setting%%=*}" "${setting#*=}"
  done
  limited 60 lv2apply -i "$in" -o "$out" "$@" "$uri"
}
