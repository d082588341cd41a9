#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# hosts.sh LV2_FOLDER
# Every plugin runs in hosts that are not ours, and what two of them make of
# the same file agrees.
set -eu
export LC_ALL=C LV2_PATH="$1:/usr/lib/lv2"

for tool in lv2ls lv2apply ffmpeg; do
  command -v "$tool" >/dev/null || {
    echo "skipped: no $tool"
    exit 77
  }
done

if nm -D "$1/dustcap.lv2/dustcap.so" | grep -q __asan; then
  echo "skipped: a sanitized module does not load into a plain host"
  exit 77
fi

dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
# A second of falling notes, mono and stereo, exact in float
ffmpeg -nostdin -loglevel error -f lavfi -i \
  "aevalsrc='0.3*exp(-6*mod(t,0.25))*(sin(2*PI*110*t)+0.4*sin(2*PI*1730*t))':s=48000:d=1" \
  -c:a pcm_f32le "$dir/mono.wav"
ffmpeg -nostdin -loglevel error -i "$dir/mono.wav" -af 'pan=stereo|c0=c0|c1=0.5*c0' \
  -c:a pcm_f32le "$dir/stereo.wav"

found=0
for uri in $(lv2ls | grep '^urn:dustcap:'); do
  found=$((found + 1))
  case $uri in *-stereo | *:bus-*) form=stereo ;; *) form=mono ;; esac

  lv2apply -i "$dir/$form.wav" -o "$dir/apply.wav" -c trim_db -3 "$uri"
  escaped=$(echo "$uri" | sed 's/:/\\\\:/g')
  ffmpeg -nostdin -loglevel error -y -i "$dir/$form.wav" \
    -af "lv2=p=$escaped:c=trim_db=-3" -c:a pcm_f32le "$dir/ffmpeg.wav"

  # lv2apply plays frame by frame, ffmpeg in blocks of its own, in place: the
  # samples must be the same all the same (the headers differ)
  for host in apply ffmpeg; do
    ffmpeg -nostdin -loglevel error -y -i "$dir/$host.wav" -f f32le "$dir/$host.raw"
  done
  cmp "$dir/apply.raw" "$dir/ffmpeg.raw" || {
    echo "$uri: lv2apply and ffmpeg disagree"
    exit 1
  }
  # and the control must have had an effect
  ffmpeg -nostdin -loglevel error -y -i "$dir/$form.wav" \
    -af "lv2=p=$escaped" -f f32le "$dir/untrimmed.raw"
  ! cmp -s "$dir/untrimmed.raw" "$dir/ffmpeg.raw" || {
    echo "$uri: trim_db did nothing"
    exit 1
  }
  echo "$uri: same in lv2apply and ffmpeg"
done
[ "$found" -gt 0 ]
