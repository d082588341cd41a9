# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Part of workstation.sh: rhythm and lead with a tube stage each, whose windows
# join a group.  Judged by what the workstation saves, not by what a window says.

# Places in a window at scale 1: the word of the menu of groups and its first
# line, two controls, and the answer "catch up"
group_word=(718 21)
group_line=(650 53)
drive=(120 311)
bright=(120 342)
catch_up=(468 465)

# at WINDOW X Y COMMAND...: of xdotool, with the pointer there
at() { xdotool mousemove --window "$1" "$2" "$3" sleep 0.3 "${@:4}" sleep 0.3; }

# turn WINDOW X Y CLICKS: the wheel; up, or down below 0.  A click is half a dB.
turn() {
  local i n=${4#-} button=4
  (($4 > 0)) || button=5
  for ((i = 0; i < n; ++i)); do
    at "${@:1:3}" click "$button"
  done
}

# window_of TRACK: ours, within the workstation's own
window_of() {
  local outer
  outer=$(xdotool search --name "^$1: Tube stage" | head -1)
  { xwininfo -tree -id "$outer" 2>/dev/null || true; } | awk '/ 760x480\+/ { id = $1 } END { print id }'
}

# drives SESSION: the saved drives, "rhythm VALUE lead VALUE"
drives() {
  awk '/<Route / { match($0, / name="[^"]*"/); name = substr($0, RSTART + 7, RLENGTH - 8) }
    /<Port symbol="drive_db"/ && !(name in drive) {
      match($0, / value="[^"]*"/); drive[name] = substr($0, RSTART + 8, RLENGTH - 9) }
    END { print "rhythm", drive["rhythm"], "lead", drive["lead"] }' "$1/session.ardour"
}

drives_are() { [[ $(drives "$1") == "$2" ]]; }

# saves_drives SESSION DRIVES WHEN
saves_drives() {
  main_key ctrl+s
  until_true 10 drives_are "$1" "$2" || { said_gui="$3: $(drives "$1"), expected $2"; return 1; }
}

# lane SESSION TRACK: the values of its automated control, a line each
lane() {
  awk -v track="$2" '/<Route / { match($0, / name="[^"]*"/); name = substr($0, RSTART + 7, RLENGTH - 8) }
    name == track && /state="Touch"/ { is_lane = 1 }
    is_lane { sub(/.*<events>/, "") }
    is_lane && /^b[0-9]+ / { print $2 + 0 }
    /<\/AutomationList>/ { is_lane = 0 }' "$1/session.ardour"
}

# range_of SESSION TRACK: how far its lane goes
range_of() { lane "$@" | sort -g | awk 'NR == 1 { a = $1 } { b = $1 } END { printf "%.2f", b - a }'; }

join_group() { # WINDOW
  at "$1" "${group_word[@]}" click 1
  at "$1" "${group_line[@]}" click 1
}

# Drags bright while the song plays; what the lanes of both go through
follow_in_lanes() { # SESSION RHYTHM
  local lead
  at "$2" "${bright[@]}" key space sleep 1
  at "$2" "${bright[@]}" mousedown 1 mousemove_relative 20 0 sleep 0.3 \
    mousemove_relative 20 0 sleep 0.3 mousemove_relative 20 0 sleep 0.3 mouseup 1 sleep 1
  at "$2" "${bright[@]}" key space sleep 1
  main_key ctrl+s
  sleep 2
  range=$(range_of "$1" rhythm) lead=$(range_of "$1" lead)
  [[ $range == "$lead" ]] && is_above "$range" 1 ||
    { said_gui="automation goes through $range dB in rhythm and $lead in lead"; return 1; }
}

groups_live() { # SESSION
  local rhythm lead
  open_workstation "$1" 2 || return
  rhythm=$(window_of rhythm) lead=$(window_of lead)
  join_group "$rhythm"
  join_group "$lead"
  turn "$rhythm" "${drive[@]}" 4
  saves_drives "$1" 'rhythm 20 lead 24' 'both open' || return
  follow_in_lanes "$1" "$rhythm" || return
  close_one 'lead: Tube stage' || return
  turn "$rhythm" "${drive[@]}" 4
  saves_drives "$1" 'rhythm 22 lead 24' 'one closed' && close_workstation || return
  sed -i '/<Window name="P-.* x-off="[0-9]/ s/visible="0"/visible="1"/' "$1/session.ardour"
  open_workstation "$1" 2 || return
  rhythm=$(window_of rhythm) lead=$(window_of lead)
  import -window root "$out/workstation-groups.png"
  at "$lead" "${catch_up[@]}" click 1
  saves_drives "$1" 'rhythm 22 lead 26' 'caught up' || return
  turn "$rhythm" "${drive[@]}" -4
  saves_drives "$1" 'rhythm 20 lead 24' 'both open again' && close_workstation
}

check_groups() {
  local session=$dir/groups said_gui='' range='' word=ran track
  [[ -e $lv2/dustcap.lv2/dustcap-ui.so ]] || return 0 # Built without windows
  for track in rhythm lead; do
    echo "$track rhythm-left.wav 0 480000"
  done >"$session.regions"
  if ! runner groups "$session" tube-stage "$(number_of tube-stage drive_db)" \
    "$(number_of tube-stage bright_db)" rhythm 18 lead 22 ||
    ! record "$session" "$session.regions" "$dir/di"; then
    verdict refused groups "$(said)"
    return
  fi
  awk -f "$scripts/windows.awk" "$session/session.ardour" >"$session/new" &&
    mv "$session/new" "$session/session.ardour"
  open_screen || { verdict refused groups "no screen"; return; }
  groups_live "$session" || word=refused
  end_windows
  verdict $word groups "${said_gui:-lead follows rhythm by 2 dB, automation of both goes through $range dB; 2 dB behind when reopened, and catches up}"
}
