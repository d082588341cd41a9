# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Part of workstation.sh: the plugins' own windows in the workstation's.  All
# stages on one track, each with its window, on a virtual screen that is large
# enough for all side by side; no window manager.

stages=(di-cleanup input-compressor tube-stage thickening-echo speaker-breakup proximity-lift
  air-shelf plate-send-stereo room-send-stereo bus-tone bus-leveler)

# Where Trim is in the window, at scale 1; a drag of 33 px is a fifth of its range
trim=(600 432)

# The plugins' own windows; around each is one of the workstation's, as large
own_windows() { { xwininfo -root -tree 2>/dev/null || true; } | awk '/ 760x480\+.*\+[0-9]+$/ && !/"Ardour"|has no name/ { print $1 }'; }

n_windows() { own_windows | wc -l; }

# until_true SECONDS COMMAND...
until_true() {
  local try
  for ((try = 0; try < 5 * $1; ++try)); do
    "${@:2}" && return
    sleep 0.2
  done
  return 1
}

shows() { (($(n_windows) == $1)); }

# trims SESSION: the saved trims of all stages, in a row
trims() {
  sed -n 's/.*<Port symbol="trim_db" value="\([^"]*\)".*/\1/p' "$1/session.ardour" | xargs
}

# trims_are SESSION VALUE...
trims_are() { [[ $(trims "$1") == "${*:2}" ]]; }

has_ended() { ! kill -0 "$gui_id" 2>/dev/null; }

# A screen of our own.  -noreset, for otherwise it restarts when its last client
# leaves, and refuses one that comes meanwhile.
open_screen() {
  local number=''
  mkfifo "$dir/screen"
  Xvfb -noreset -displayfd 8 -screen 0 3072x1600x24 -nolisten tcp \
    8<>"$dir/screen" >"$dir/xvfb.log" 2>&1 &
  screen_id=$!
  read -r -t 20 number <>"$dir/screen" || return
  export DISPLAY=:$number
}

# The dummy backend is chosen already, and no welcome asks anything
write_gui_config() {
  local folder=$dir/gui/.config/ardour7
  mkdir -p "$folder" "$dir/gui/.local/share"
  touch "$folder/.a7"
  cat >"$folder/config" <<END
<?xml version="1.0" encoding="UTF-8"?>
<Ardour>
  <Config>
    <Option name="hide-dummy-backend" value="0"/>
    <Option name="try-autostart-engine" value="1"/>
  </Config>
  <Extra>
    <AudioMIDISetup>
      <EngineStates>
        <State backend="None (Dummy)" driver="Normal Speed" device="Silence" input-device="" output-device="" sample-rate="48000" buffer-size="1024" n-periods="0" input-latency="0" output-latency="0" lm-input="" lm-output="" active="1" use-buffered-io="0" midi-option="1 in, 1 out, Silence" lru="1"/>
      </EngineStates>
    </AudioMIDISetup>
  </Extra>
</Ardour>
END
}

# open_workstation SESSION N: with N of our windows
open_workstation() {
  env HOME="$dir/gui" XDG_CONFIG_HOME="$dir/gui/.config" XDG_CACHE_HOME="$dir/gui/.cache" \
    XDG_DATA_HOME="$dir/gui/.local/share" XDG_STATE_HOME="$dir/gui/.local/state" \
    LV2_PATH="$lv2" \
    ardour -n -a "$1/session.ardour" </dev/null >"$dir/gui.log" 2>&1 &
  gui_id=$!
  until_true 40 shows "$2" || { said_gui="opened $(n_windows) of $2 windows"; return 1; }
  until_true 40 has_main || { said_gui="has no window of its own"; return 1; }
  sleep 2 # It goes on loading
}

has_main() {
  main_window=$(xdotool search --name '^session - Ardour$' 2>/dev/null | head -1)
  [[ $main_window ]]
}

# To the workstation's own window
main_key() { xdotool windowfocus --sync "$main_window" key "$1"; }

close_workstation() {
  local status
  main_key ctrl+q
  until_true 30 has_ended || { said_gui="does not quit"; return 1; }
  wait "$gui_id" 2>/dev/null && status=0 || status=$?
  gui_id=
  ((status == 0)) || { said_gui="quit with $status"; return 1; }
  ! grep -q 'BadWindow\|X Error' "$dir/gui.log" || { said_gui="made an X error"; return 1; }
}

# saves SESSION VALUE...: these trims
saves() {
  main_key ctrl+s
  until_true 10 trims_are "$@" || { said_gui="trims $(trims "$1"), expected ${*:2}"; return 1; }
}

repeat() { # VALUE N
  local i
  for ((i = 0; i < $2; ++i)); do echo -n "$1 "; done
}

# Types -3 into each trim, then turns the wheel by one click
drive_all() {
  local id
  for id in $(own_windows); do
    xdotool mousemove --window "$id" "${trim[@]}" click 1 sleep 0.3 key minus key 3 key Return \
      sleep 0.3 click 4 sleep 0.2
  done
  sleep 1
}

# Drags a trim in the first of the windows, and takes that back
drag_one() { # SESSION
  local n=${#stages[@]} first
  first=$(own_windows | head -1)
  xdotool mousemove --window "$first" "${trim[@]}" mousedown 1 sleep 0.1 \
    mousemove_relative 11 0 sleep 0.1 mousemove_relative 11 0 sleep 0.1 \
    mousemove_relative 11 0 sleep 0.1 mouseup 1 sleep 0.5
  main_key ctrl+s
  sleep 2
  dragged=$(trims "$1" | tr ' ' '\n' | grep -vx -e -2.5 | xargs)
  xdotool mousemove --window "$first" "${trim[@]}" click 1 sleep 0.5 key ctrl+z sleep 0.5
  # shellcheck disable=SC2046
  saves "$1" $(repeat -2.5 "$n")
}

# The space bar in one of our windows starts the workstation: how many windows
# show other levels then
play_from_a_window() {
  local id shot=$dir/levels ids
  ids=$(own_windows)
  for id in $ids; do
    import -window "$id" -crop 90x44+0+404 "$shot-$id-silent.png"
  done
  xdotool mousemove --window "$(head -1 <<<"$ids")" "${trim[@]}" click 1 sleep 0.3 key space sleep 3
  for id in $ids; do
    import -window "$id" -crop 90x44+0+404 "$shot-$id-played.png"
  done
  import -window root "$out/workstation-windows.png"
  xdotool key space
  n_moved=0
  for id in $ids; do
    (($(compare -metric AE "$shot-$id-silent.png" "$shot-$id-played.png" null: 2>&1 || true) < 20)) ||
      n_moved=$((n_moved + 1))
  done
}

# close_one TITLE: by its button
close_one() {
  local before
  before=$(n_windows)
  "$programs/host_close" "$(xdotool search --name "$1" | head -1)"
  until_true 10 shows $((before - 1)) && ! has_ended || { said_gui="$1 does not close"; return 1; }
}

# First opening: driven, played, two closed; second: the others are back
windows_live() { # SESSION
  local n=${#stages[@]} last
  open_workstation "$1" "$n" || return
  drive_all
  # shellcheck disable=SC2046
  saves "$1" $(repeat -2.5 "$n") || return
  drag_one "$1" || return
  [[ $dragged =~ ^[0-9.]+$ ]] || { said_gui="dragged: '$dragged'"; return 1; }
  play_from_a_window
  ((n_moved == n)) || { said_gui="levels move in $n_moved windows of $n"; return 1; }
  close_one 'take: Tube stage' && close_one 'take: Bus leveler' || return
  # shellcheck disable=SC2046
  saves "$1" $(repeat -2.5 "$n") && close_workstation || return
  open_workstation "$1" $((n - 2)) || return
  last=$(own_windows | head -1)
  xdotool mousemove --window "$last" "${trim[@]}" click 4 sleep 1
  main_key ctrl+s
  until_true 10 is_moved_once "$1" || { said_gui="after reopening: $(trims "$1")"; return 1; }
  close_workstation
}

is_moved_once() { [[ $(trims "$1" | tr ' ' '\n' | sort | uniq -c | xargs) == "1 -2 10 -2.5" ]]; }

check_windows() {
  local session=$dir/windows said_gui='' dragged='' n_moved=0 word=ran tool
  [[ -e $lv2/dustcap.lv2/dustcap-ui.so ]] || return 0 # Built without windows
  for tool in ardour Xvfb xdotool xwininfo import compare; do
    command -v $tool >/dev/null || { verdict refused windows "no $tool"; return; }
  done
  write_gui_config
  echo "take rhythm-left.wav 0 480000" >"$session.regions"
  if ! runner windows "$session" "${stages[@]}" || ! record "$session" "$session.regions" "$dir/di"; then
    verdict refused windows "$(said)"
    return
  fi
  awk -f "$scripts/windows.awk" "$session/session.ardour" >"$session/new" &&
    mv "$session/new" "$session/session.ardour"
  open_screen || { verdict refused windows "no screen"; return; }
  windows_live "$session" || word=refused
  end_windows
  verdict $word windows "${said_gui:-${#stages[@]} opened, typed and turned into -2.5 dB, one dragged to $dragged and undone, $n_moved played, 2 closed, the others back}"
}

# Also where a check ended in the middle
end_windows() {
  [[ ! ${gui_id-} ]] || kill -KILL "$gui_id" 2>/dev/null || true
  [[ ! ${screen_id-} ]] || kill "$screen_id" 2>/dev/null || true
  gui_id='' screen_id=''
  rm -f "$dir/screen"
}
