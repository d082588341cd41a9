# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Part of workstation.sh: jumps of automated controls

# Frames
click_slot=144000   # For an automated control; the tone lasts 2.4 s
jump_there=57613    # In the tone; off any grid
jump_back=86413

# Control : one end : the other.  Up to these ends the stage has no overtones of
# its own above 4 kHz (tests/plugins/test_every_control_clicks.c).
automated=(tube-stage:drive_db:-12:20 tube-stage:stages:0:2 tube-stage:stages:1:2
  speaker-breakup:drive_db:-24:0 speaker-breakup:cone:0:3 speaker-breakup:cone:1:2)
click_limit_db=-80
change_limit_db=-110 # Less is no change

# number_of FORM SYMBOL: the number of a control
number_of() {
  [[ $2 != enabled ]] || { echo 0; return; }
  awk -v uri="urn:dustcap:$1" -v symbol="$2" '
    $1 == uri { for (i = 2; i <= NF; ++i) if (index($i, symbol "=") == 1) print i - 1 }' \
    "$dir/defaults"
}

check_automation() {
  local session=$dir/automation control form symbol a b start=0 worst='' name at=()
  local uri rest
  while read -r uri rest; do
    form=${uri#urn:dustcap:}
    [[ $form != *-stereo ]] || continue
    automated+=("$form:enabled:1:0")
    [[ $rest != *quality=* ]] || automated+=("$form:quality:0:$([[ $form == plate* ]] && echo 1 || echo 2)")
  done <"$dir/defaults"
  for control in "${automated[@]}"; do
    IFS=: read -r form symbol a b <<<"$control"
    ((start += click_slot))
    echo "$control $form $(number_of "$form" "$symbol") $a $b $((start + jump_there)) $((start + jump_back))" >>"$session.lines"
    echo "$control sine.wav $start 115200" >>"$session.regions"
    at+=($((start + jump_there)) $((start + jump_back)))
  done
  if ! runner clicks "$session" "$session.lines" ||
    ! record "$session" "$session.regions" "$dir" ||
    ! bounce "$session" $((start + click_slot)) all; then
    verdict refused automation "$(said)"
    return
  fi
  "$programs/host_bounce" clicks "$session.out/all.wav" "${at[@]}" >"$session.peaks"
  judge_clicks "$session"
}

# judge_clicks SESSION: two jumps for each line of SESSION.lines
judge_clicks() {
  local control peak change worst=-999 least=999 which='' bad=''
  while read -r control peak change; do
    ! is_above "$peak" "$worst" || { worst=$peak which=$control; }
    ! is_above "$least" "$change" || least=$change
    ! is_above "$peak" $click_limit_db || bad+="$control: $peak dBFS above 4 kHz; "
    is_above "$change" $change_limit_db || bad+="$control: moves nothing; "
  done < <(paste -d' ' <(cut -d' ' -f1 "$1.lines" | sed p) <(xargs -n2 <"$1.peaks"))
  if [[ $bad ]]; then
    verdict differs automation "limit $click_limit_db dBFS: $bad"
  else
    verdict kept automation "${#automated[@]} controls, above 4 kHz at most $worst dBFS ($which), limit $click_limit_db; the least change $least dBFS"
  fi
}
