# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Gives no sound to compare and takes no controls: it must run, in blocks of 512
# frames, and print how long it took
tools=(lv2bench)
package=lilv-utils

form() { # URI
  local seconds named
  limited 60 lv2bench -b 512 -n 51200 "$1" >"$dir/log" 2>&1
  read -r seconds named <"$dir/log"
  [[ $named == "$1" && $seconds =~ ^[0-9]+\.[0-9]*[1-9] ]] && verdict ran "$1"
}
