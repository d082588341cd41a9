# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Part of workstation.sh: the workstation's own bypass of all plugins of a strip,
# by its key, while the song plays and no window of ours is open.  A third track
# records the strip, and the same take on a track without plugins.

match_limit_lu=0.3
in_step_limit_db=-100

# enabled SESSION: the saved switches of all stages, in a row
enabled() {
  sed -n 's/.*<Port symbol="enabled" value="\([^"]*\)".*/\1/p' "$1/session.ardour" | xargs
}

# n_active SESSION: stages that the workstation itself goes on running
n_active() { grep -c '<Processor .*active="1".*type="lv2"' "$1/session.ardour" || true; }

switched_to() { [[ $(enabled "$1") == "$(repeat "$2" 7 | xargs)" ]]; }

# saves_switches SESSION VALUE
saves_switches() {
  main_key ctrl+s
  until_true 10 switched_to "$1" "$2" && (($(n_active "$1") == 7)) ||
    { said_gui="enabled: $(enabled "$1"), active: $(n_active "$1")"; return 1; }
}

# Keys alone: those of its mixer, on the strip that is chosen there
strip_live() { # SESSION
  local key
  open_workstation "$1" 0 || return
  for key in alt+m alt+Down alt+Down alt+Down r alt+Up alt+Up shift+r; do
    main_key "$key"
    sleep 0.5
  done
  main_key space
  sleep 9 # A matched bypass counts 3 s of playing
  main_key slash # All plugins of the strip off
  sleep 6
  main_key slash # And on
  sleep 2
  main_key space
  sleep 1
  main_key slash
  saves_switches "$1" 0 || return
  main_key slash
  saves_switches "$1" 1 && close_workstation
}

# judge_switched SECONDS LEFT_DB GAIN_DB MOVED_DB LOUDER_LU
judge_switched() {
  is_above "$1" 3 && is_above "$in_step_limit_db" "$2" && is_above 0.001 "$4" &&
    is_above "$match_limit_lu" "$5" && is_above "$5" "-$match_limit_lu"
}

check_strip() {
  local session=$dir/strip said_gui='' word=kept measured='' played
  [[ -e $lv2/dustcap.lv2/dustcap-ui.so ]] || return 0 # No screen was asked for
  played=$session/interchange/strip/audiofiles/Take1_record-1
  printf '%s rhythm-left.wav 0 1440000\n' take dry >"$session.regions"
  if ! runner strip "$session" Rhythm 7 || ! record "$session" "$session.regions" "$dir/di"; then
    verdict refused strip "$(said)"
    return
  fi
  open_screen || { verdict refused strip "no screen"; return; }
  if strip_live "$session"; then
    measured=$("$programs/host_switched" "$played%L.wav" "$played%R.wav" 2>&1) || true
    # shellcheck disable=SC2086 # A word each
    judge_switched $measured || word=differs
  else
    word=refused
  fi
  end_windows
  verdict $word strip "${said_gui:-switched off by the strip: enabled 0, active; for s, left dB, gain dB, moved dB, louder LU: $measured; limits $in_step_limit_db dB, $match_limit_lu LU}"
}
