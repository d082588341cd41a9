# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in place, in blocks of its own choice; connects the ports anew before
# each
tools=(ffmpeg)
package=ffmpeg

play() { # URI IN OUT SETTING...
  local uri=${1//:/\\\\:} in=$2 out=$3 IFS='|'
  shift 3
  limited 60 ffmpeg -nostdin -loglevel error -y -i "$in" \
    -af "lv2=p=$uri${*:+:c=$*}" -c:a pcm_f32le "$out"
}
