# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Part of jalv-gtk3.sh: rhythm and lead in a process each, whose windows join a
# group.  Judged by the state that the host saves, not by what a window says.

# Places at scale 1, below the host's menu: the word of the menu of groups and
# its first line, a control, and the answer "catch up"
group_word=(718 46)
group_line=(650 78)
drive=(120 336)
catch_up=(468 490)

declare -A group_id=()

# at WINDOW X Y COMMAND...: of xdotool, with the pointer there
at() { xdotool mousemove --window "$1" "$2" "$3" sleep 0.3 "${@:4}" sleep 0.5; }

# window_of_process ID: its first one with a title
window_of_process() {
  local window
  for window in $({ xwininfo -root -children 2>/dev/null || true; } | awk '/"Tube stage/ { print $1 }'); do
    if [[ $(xprop -id "$window" _NET_WM_PID 2>/dev/null) == *" = $1" ]]; then
      echo "$window"
      return
    fi
  done
}

# open_member NAME Y OPTION...: in a process of its own, Y below the top; its
# window is in $window
open_member() {
  local try
  jalv.gtk3 --jack-name "$1" -s "${@:3}" </dev/null >"$dir/$1.log" 2>&1 &
  group_id[$1]=$!
  window=''
  for ((try = 0; try < 50; ++try)); do
    sleep 0.2
    window=$(window_of_process "${group_id[$1]}")
    [[ ! $window ]] || break
  done
  [[ $window ]] || { measured="no window of $1"; return 1; }
  sleep 1
  xdotool windowmove "$window" 0 "$2" sleep 0.5
}

close_member() { # NAME
  kill "${group_id[$1]}" 2>/dev/null || true
  wait "${group_id[$1]}" 2>/dev/null || true
  unset "group_id[$1]"
}

louder_by_2() { # WINDOW: a click of the wheel is half a dB
  local i
  for i in 1 2 3 4; do at "$1" "${drive[@]}" click 4; done
}

# drive_of WINDOW: saves the host's state through its menu; the drive in it
drive_of() {
  local state=$dir/state-$((++n_states)) try dialog=''
  at "$1" 18 12 click 1
  at "$1" 45 39 click 1
  for ((try = 0; try < 25; ++try)); do
    dialog=$({ xwininfo -root -children 2>/dev/null || true; } | awk '/"Save State"/ { print $1; exit }')
    [[ ! $dialog ]] || break
    sleep 0.2
  done
  [[ $dialog ]] || { saved_drive='no dialogue'; return 0; }
  xdotool windowfocus "$dialog" sleep 0.3 mousemove --window "$dialog" 500 27 click 1 sleep 0.3 \
    key ctrl+a type --delay 20 "$state"
  xdotool sleep 0.5 key Return sleep 1
  saved_drive=$(awk '/lv2:symbol "drive_db"/ { on = 1 } on && /pset:value/ { print $2 + 0; exit }' \
    "$state/state.ttl" 2>/dev/null) || true
  last_state=$state
}

# drives_are RHYTHM LEAD WHEN: of the windows $rhythm and $lead
drives_are() {
  local found
  drive_of "$rhythm"
  found=$saved_drive
  drive_of "$lead"
  [[ "$found $saved_drive" == "$1 $2" ]] ||
    { measured="$3: rhythm $found, lead $saved_drive, expected $1 and $2"; return 1; }
}

groups_live() {
  local rhythm='' lead='' window='' uri=urn:dustcap:tube-stage name
  open_member rhythm 0 -c drive_db=18 $uri && rhythm=$window || return
  open_member lead 550 -c drive_db=22 $uri && lead=$window || return
  for name in "$rhythm" "$lead"; do
    at "$name" "${group_word[@]}" click 1
    at "$name" "${group_line[@]}" click 1
  done
  louder_by_2 "$rhythm"
  drives_are 20 24 'both open' || return
  close_member lead
  louder_by_2 "$rhythm"
  open_member lead 550 -l "$last_state" && lead=$window || return
  sleep 1
  drives_are 22 24 'opened again' || return
  at "$lead" "${catch_up[@]}" click 1
  drives_are 22 26 'caught up'
}

# In folders of their own: a user's settings, and the record of groups
check_groups() {
  local word=ran n_states=0 saved_drive='' last_state='' measured='' name
  [[ -e ${LV2_PATH%%:*}/dustcap.lv2/dustcap-ui.so ]] || return 0 # Built without windows
  export XDG_CONFIG_HOME=$dir/config XDG_STATE_HOME=$dir/state
  groups_live || word=refused
  for name in "${!group_id[@]}"; do close_member "$name"; done
  verdict $word groups "${measured:-two processes: lead follows rhythm by 2 dB; 2 dB behind when it is opened again, and catches up}"
}
