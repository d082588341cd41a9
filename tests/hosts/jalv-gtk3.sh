# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Checks its generic window and the plugin's own in it, on a virtual screen: each
# must come up, bear the plugin's name and have something drawn in it; the
# plugin's own must answer the mouse wheel, and the host must end cleanly with it
# open.  jalv.sh checks the sound.  Screenshots go into the folder of the results,
# to be looked at.
#
# This check is a row of the table of its own:
#   groups   the windows of two processes follow each other
tools=(jalv.gtk3 jackd Xvfb lv2info xwininfo xprop xdotool import identify compare)
package=jalv
. "$here/jack.sh"
. "$here/jalv-gtk3/groups.sh"

begin() {
  jack_begin
  exec 8<>"$dir/number"
  # Without -noreset it restarts whenever its last client has left, and refuses
  # a client that comes meanwhile
  Xvfb -noreset -displayfd 8 -screen 0 1024x1200x24 -nolisten tcp >"$dir/xvfb.log" 2>&1 &
  xvfb_id=$!
  local number=''
  until [[ -s $dir/number ]] || ! kill -0 $xvfb_id; do
    sleep 0.1
  done
  read -r number <"$dir/number"
  export DISPLAY=:$number GDK_BACKEND=x11 NO_AT_BRIDGE=1
  check_groups
}

end() {
  local id
  for id in "${group_id[@]}"; do kill -KILL "$id" 2>/dev/null || true; done
  [[ ! ${host_id-} ]] || kill -KILL "$host_id" 2>/dev/null || true
  [[ ! ${xvfb_id-} ]] || kill "$xvfb_id" 2>/dev/null || true
  jack_end
}

# open_window TITLE OPTION...: starts it and waits for its window
open_window() {
  local title=$1 try
  ((++n_played)) # Not in the background, where the count would be lost
  jalv.gtk3 --jack-name "gtk$n_played" -n -s "${@:2}" </dev/null >"$dir/log" 2>&1 &
  host_id=$!
  for ((try = 0; try < 50; ++try)); do
    xwininfo -name "$title" >/dev/null 2>&1 && break
    kill -0 "$host_id" 2>/dev/null || break
    sleep 0.2
  done
  sleep 0.7
}

# shoot TITLE FILE: its picture; the number of its colours is in $colours
shoot() {
  colours=0
  # Only if the window is there: otherwise import would wait for a click on
  # another
  if xwininfo -name "$1" >/dev/null 2>&1 &&
    limited 20 import -window "$1" "$2" 2>>"$dir/log"; then
    colours=$(identify -format %k "$2")
  fi
}

# close_window SIGNAL: its exit status is in $status
close_window() {
  kill "-$1" "$host_id" 2>/dev/null || true
  wait "$host_id" 2>/dev/null && status=0 || status=$?
  host_id=
}

# Turns the wheel all over the window's lower part, where the controls are
turn_wheel() { # TITLE
  local id width height x y moves=()
  read -r id width height < <(xwininfo -name "$1" |
    awk '/Window id:/ { id = $4 } /Width:/ { w = $2 } /Height:/ { print id, w, $2 }')
  for y in 60 70 80 90; do
    for x in 10 20 30 40 50 60 70 80 90; do
      moves+=(mousemove --window "$id" $((width * x / 100)) $((height * y / 100)) click 4)
    done
  done
  xdotool "${moves[@]}" mousemove 1023 1199
  sleep 0.5
}

# generic TITLE URI SHOT: in $measured
generic() {
  local status colours
  open_window "$1" -g "$2"
  shoot "$1" "$3"
  close_window KILL
  measured="${3##*/}, $colours colours"
  ((status == 128 + 9)) ||
    measured="ended by itself, status $status: $(grep -m1 '[[:alnum:]]' "$dir/log" || true)"
  ((colours >= 20)) || measured="no window \"$1\", or nothing in it"
  ((status == 128 + 9 && colours >= 20))
}

# own TITLE URI SHOT: in $measured
own() {
  local status colours n_changed=0 wheel=$dir/wheel.png
  open_window "$1" "$2"
  shoot "$1" "$3"
  turn_wheel "$1" || true # It may be gone
  limited 20 import -window "$1" "$wheel" 2>>"$dir/log" || true
  n_changed=$(compare -metric AE "$3" "$wheel" null: 2>&1) || true
  close_window TERM
  measured="own: $colours colours, $n_changed pixels moved by the wheel, status $status"
  grep -q 'UI: *urn:dustcap:window' "$dir/log" || measured+=", not the plugin's own window"
  ((colours >= 20 && n_changed >= 100 && status == 0)) && [[ $measured != *', not '* ]]
}

form() { # URI
  local shot=$out/jalv-gtk3-${1#urn:dustcap:} title said info
  info=$(lv2info "$1")
  title=$(sed -n '/^\tName: */ { s///p; q }' <<<"$info")
  generic "$title" "$1" "$shot.png" || { verdict refused "$1" "$measured"; return 0; }
  said=$measured
  if [[ $info == *urn:dustcap:window* ]]; then
    own "$title" "$1" "$shot-own.png" || { verdict refused "$1" "$said; $measured"; return 0; }
    said+="; $measured"
  fi
  verdict ran "$1" "$said"
}
