# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs as a JACK client, in periods of 1024 frames; latency, presets and meters
# are checked too
tools=(jalv jackd jack_lsp "$programs/host_feed")
package=jalv
. "$here/jack.sh"

begin() {
  jack_begin
  mkfifo "$dir/commands"
}

end() {
  jack_end
}

# run_jalv URI [SETTING...]: starts it; it runs until its commands (to &7) end
run_jalv() {
  local uri=$1 setting options=()
  for setting in "${@:2}"; do
    options+=(-c "$setting")
  done
  timeout 60 jalv -x -n dut "${options[@]}" "$uri" <"$dir/commands" >"$dir/log" 2>&1 &
  jalv_id=$!
  exec 7>"$dir/commands"
}

# latency_is FRAMES: has JACK been told so?  On either side: jalv mixes them up
latency_is() {
  jack_lsp -l dut: | grep -q "\[ $1 $1 \] frames" || {
    measured="latency is not $1"
    return 1
  }
}

# feed URI IN [SETTING...]: plays IN through the running jalv and compares
feed() {
  local out=$dir/$((++n_played)).wav
  limited 60 "$programs/host_feed" ^dut: ^dut: "$n_out" "$2" "$out" >"$dir/feed.log" 2>&1 || {
    measured="refused: $(tail -1 "$dir/feed.log")"
    return 1
  }
  judge ${3+-m} "$1" "$2" "$out" "${@:3}"
}

# Ends the commands; jalv must then end without an error
quit_jalv() {
  exec 7>&-
  wait "$jalv_id" || {
    measured="exit status $?"
    return 1
  }
}

# Checks the presets, that one of them sets the controls, and the meters
command_jalv() { # URI
  local preset values label setting
  read -r _ preset values label < <(grep "^$1 " "$dir/presets")
  echo presets >&7
  echo "preset $preset" >&7
  sleep 0.3
  echo controls >&7
  echo monitors >&7
  sleep 0.3
  quit_jalv || return
  while read -r _ preset _ label; do
    measured="no preset $label"
    grep -qF "$preset ($label)" "$dir/log" || return
  done < <(grep "^$1 " "$dir/presets")
  # Printed twice at the start and once more after the preset
  for setting in ${values//,/ }; do
    measured="preset does not set $setting"
    [[ $(grep "^\(> \)*${setting%%=*} = " "$dir/log" | tail -1) == *"= $(printf %.6f "${setting#*=}")" ]] || return
  done
  measured='no meters'
  grep -q '^\(> \)*in_db = ' "$dir/log" && grep -q '^out_db = ' "$dir/log"
}

form() { # URI
  local said=''
  run_jalv "$1"
  feed "$1" "$in" && said="default: $measured; " && latency_is "$latency" &&
    command_jalv "$1" && run_jalv "$1" "${moved[@]}" &&
    feed "$1" "$in" "${moved[@]}" && said+="moved: $measured" &&
    latency_is "$latency_moved" && quit_jalv || {
    exec 7>&-
    kill "$jalv_id" 2>/dev/null || true
    wait "$jalv_id" || true
    verdict differs "$1" "$said$measured"
    return 0
  }
  verdict identical "$1" "$said"
}
