# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Checks its window, on a virtual screen: it must come up, bear the plugin's
# name and have something drawn in it.  jalv.sh checks the sound.  Screenshots
# go into the folder of the results, to be looked at.
tools=(jalv.gtk3 jackd Xvfb lv2info xwininfo import identify)
package=jalv
. "$here/jack.sh"

begin() {
  jack_begin
  exec 8<>"$dir/number"
  # Without -noreset it restarts whenever its last client has left, and refuses
  # a client that comes meanwhile
  Xvfb -noreset -displayfd 8 -screen 0 1024x768x24 -nolisten tcp >"$dir/xvfb.log" 2>&1 &
  xvfb_id=$!
  local number=''
  until [[ -s $dir/number ]] || ! kill -0 $xvfb_id; do
    sleep 0.1
  done
  read -r number <"$dir/number"
  export DISPLAY=:$number GDK_BACKEND=x11 NO_AT_BRIDGE=1
}

end() {
  [[ ! ${host_id-} ]] || kill -KILL "$host_id" 2>/dev/null || true
  [[ ! ${xvfb_id-} ]] || kill "$xvfb_id" 2>/dev/null || true
  jack_end
}

form() { # URI
  local shot=$out/jalv-gtk3-${1#urn:dustcap:}.png title try status colours=0
  title=$(lv2info "$1" | sed -n 's/^\tName: *//p' | head -1)
  ((++n_played)) # Not in the background, where the count would be lost
  jalv.gtk3 -n "gtk$n_played" -g -s "$1" </dev/null >"$dir/log" 2>&1 &
  host_id=$!
  for ((try = 0; try < 50; ++try)); do
    xwininfo -name "$title" >/dev/null 2>&1 && break
    kill -0 "$host_id" 2>/dev/null || break
    sleep 0.2
  done
  sleep 0.7
  # Only if the window is there: otherwise import would wait for a click on
  # another
  if xwininfo -name "$title" >/dev/null 2>&1 &&
    limited 20 import -window "$title" "$shot" 2>>"$dir/log"; then
    colours=$(identify -format %k "$shot")
  fi
  kill -KILL "$host_id" 2>/dev/null || true # No milder signal ends it
  wait "$host_id" 2>/dev/null && status=0 || status=$?
  host_id=
  if ((status != 128 + 9)); then
    verdict refused "$1" "ended by itself, status $status: $(grep -m1 '[[:alnum:]]' "$dir/log" || true)"
  elif ((colours < 20)); then
    verdict refused "$1" "no window \"$title\", or nothing in it"
  else
    verdict ran "$1" "${shot##*/}, $colours colours"
  fi
}
