#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# run.sh [-q] HOST LV2_FOLDER PROGRAMS [OUT_FOLDER]
# Runs every form of every plugin in a third-party host (HOST.sh), at its
# defaults and with all controls moved, and checks that the output is that of a
# minimal host (part.h), bit for bit.  -q: a quarter of the sound, moved
# controls only.
#
# LV2_FOLDER and PROGRAMS are absolute; PROGRAMS is where meson puts its
# programs.  Writes HOST.results into OUT_FOLDER, a line for each plugin: URI,
# verdict, what was measured.
#
# A host's file defines
#   tools, package      programs it needs, and the Debian package it comes in
#   play URI IN OUT SYMBOL=VALUE...  run it on a file
# and where that does not fit
#   form URI            all checks of a plugin
#   more URI IN         checks besides those of its sound; reports in $measured
#   cannot              true where it is known to refuse a form by design
#   begin, end          before the first plugin and after the last; in `begin`
#                       it may give verdicts on checks of its own
set -euo pipefail
export LC_ALL=C
here=$(dirname "$0")
sets=(default moved)
quick=
n_frames=48000
if [[ $1 == -q ]]; then
  sets=(moved)
  quick=1
  n_frames=12000
  shift
fi
host=$1 programs=$3
export LV2_PATH="$2:/usr/lib/lv2"

dir=$(mktemp -d)
out=${4:-$dir}
results=$out/$host.results
n_played=0
judge_id=
begin() { :; }
end() { :; }
more() { :; }
cannot() { false; }
trap 'end; rm -rf "$dir"' EXIT
trap 'exit 1' INT TERM

# limited SECONDS COMMAND...: runs it with a time limit.  Not in a quick run,
# where Meson has a limit of its own and each extra process costs time.
limited() {
  if [[ $quick ]]; then
    "${@:2}"
  else
    timeout --kill-after=5 "$@"
  fi
}

# verdict WORD URI [DETAIL]
verdict() {
  echo "$2 $1 ${3-}"
  echo "$2 $1 ${3-}" >>"$results"
}

# judge [-m] [-l STEP] URI IN OUT [SETTING...]: the answer of host_judge, in
# $measured
judge() {
  if [[ ! $judge_id ]]; then
    # Close 7, jalv's commands: jalv would wait for the judge to close it
    coproc JUDGE { exec "$programs/host_judge" 7>&-; }
    judge_id=$JUDGE_PID
    # Copies: bash closes its own as soon as the judge ends
    exec {ask}>&"${JUDGE[1]}" {answer}<&"${JUDGE[0]}"
  fi
  trap '' PIPE # A judge that has ended must not end us
  if ! { echo "$*" >&"$ask" && read -r -t 100 measured <&"$answer"; } 2>/dev/null; then
    # It has ended, or is so late that its answer would be taken for the next
    # one: start a new judge
    measured='no comparison: the judge did not answer'
    kill -KILL "$judge_id" 2>/dev/null || true
    wait "$judge_id" 2>/dev/null || true
    judge_id=
    exec {ask}>&- {answer}<&-
  fi
  trap - PIPE
  [[ $measured == identical* ]]
}

# play_and_compare URI IN [SETTING...]: the result is in $measured
play_and_compare() {
  local uri=$1 in=$2 out=$dir/$((++n_played)).wav # A fresh file each
  shift 2
  if ! play "$uri" "$in" "$out" "$@" >"$dir/log" 2>&1; then
    measured="refused: $(grep -m1 '[[:alnum:]]' "$dir/log")"
    return 1
  fi
  judge ${1+-m} "$uri" "$in" "$out" "$@"
}

form() {
  local uri=$1 set settings status=identical said=
  for set in "${sets[@]}"; do
    settings=()
    [[ $set == default ]] || settings=("${moved[@]}")
    play_and_compare "$uri" "$in" "${settings[@]}" || status=differs
    said+="$set: $measured; "
  done
  measured=
  more "$uri" "$in" || status=differs
  if [[ $said == *refused:* ]]; then
    cannot && status=cannot || status=refused
  fi
  verdict $status "$uri" "$said$measured"
}

. "$here/$host.sh"

mkdir -p "$out"
echo "# skipped" >"$results"
for tool in "${tools[@]}"; do
  command -v "$tool" >/dev/null || {
    echo "skipped: no $tool"
    exit 77 # Meson's code for a skipped test
  }
done
if nm -D "$2/dustcap.lv2/dustcap.so" | grep -q __asan; then
  echo "skipped: a sanitized module does not load into a plain host"
  exit 77
fi

version=$(dpkg-query -W -f='${Version}' "$package" 2>/dev/null || echo unknown)
version=${version#*:} # Debian's epoch
echo "# ${version%%[-+]*}" >"$results"
"$programs/host_sound" $n_frames "$dir/mono.wav" "$dir/stereo.wav"
"$programs/host_forms" moved >"$dir/forms"
"$programs/host_forms" presets >"$dir/presets"
begin
while read -r uri n_in n_out latency latency_moved moved <&3; do
  read -r -a moved <<<"$moved"
  in=$dir/stereo.wav
  ((n_in > 1)) || in=$dir/mono.wav
  form "$uri" || verdict refused "$uri" "$(tail -1 "$dir/log" 2>/dev/null)"
done 3<"$dir/forms"
! grep -vE '^(#|[^ ]+ (identical|ran|cannot|kept) )' "$results" >&2
