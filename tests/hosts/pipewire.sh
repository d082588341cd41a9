# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in the filter chain of a PipeWire of our own, without a sound card, in
# real time: a machine that is late loses periods, hence up to three attempts
tools=(pipewire pw-jack wireplumber dbus-daemon "$programs/host_feed")
package=pipewire
ids=()

begin() {
  export XDG_RUNTIME_DIR=$dir/run PIPEWIRE_RUNTIME_DIR=$dir/run
  mkdir -m 700 "$dir/run"
  export DBUS_SESSION_BUS_ADDRESS=unix:path=$dir/run/bus
  dbus-daemon --session --nofork --nopidfile --address="$DBUS_SESSION_BUS_ADDRESS" 2>/dev/null &
  ids+=($!)
  sleep 0.5
  pipewire >"$dir/pipewire.log" 2>&1 &
  ids+=($!)
  sleep 1
  wireplumber >"$dir/wireplumber.log" 2>&1 &
  ids+=($!)
  sleep 2
}

end() {
  ((${#ids[@]})) || return 0
  kill "${ids[@]}" 2>/dev/null || true
  wait "${ids[@]}" || true
}

# ports DIRECTION N, channels N: as the bundle and PipeWire name them
ports() {
  (($2 == 1)) && echo "\"dut:$1\"" || echo "\"dut:$1_l\" \"dut:$1_r\""
}
channels() {
  (($1 == 1)) && echo 'audio.channels = 1 audio.position = [ MONO ]' ||
    echo 'audio.channels = 2 audio.position = [ FL FR ]'
}

write_chain() { # URI SETTING...
  cat <<CHAIN
context.spa-libs = {
  audio.convert.* = audioconvert/libspa-audioconvert
  support.* = support/libspa-support
}
context.modules = [
  { name = libpipewire-module-protocol-native }
  { name = libpipewire-module-client-node }
  { name = libpipewire-module-adapter }
  { name = libpipewire-module-filter-chain
    args = {
      filter.graph = {
        nodes = [ { type = lv2 name = dut plugin = "$1" label = "$1"
          control = { $(printf '%s\n' "${@:2}" | sed 's/=/ = /') } } ]
        inputs = [ $(ports in "$n_in") ]
        outputs = [ $(ports out "$n_out") ]
      }
      capture.props = { node.name = dut.in media.class = Audio/Sink $(channels "$n_in") }
      playback.props = { node.name = dut.out media.class = Audio/Source $(channels "$n_out") }
    }
  }
]
CHAIN
}

play() { # URI IN OUT SETTING...
  local uri=$1 in=$2 out=$3 chain status=0
  shift 3
  write_chain "$uri" "$@" >"$dir/chain.conf"
  pipewire -c "$dir/chain.conf" >"$dir/chain.log" 2>&1 & # Not "limited": kill would miss it
  chain=$!
  limited 40 pw-jack "$programs/host_feed" -r :playback_ 'filter-chain.*:capture_' \
    "$n_out" "$in" "$out" || status=1
  kill "$chain"
  wait "$chain" || true
  return $status
}

form() { # URI
  local set said='' try settings
  for set in "${sets[@]}"; do
    settings=()
    [[ $set == default ]] || settings=("${moved[@]}")
    for try in 1 2 3; do
      ! play_and_compare "$1" "$in" "${settings[@]}" || break
      [[ $try != 3 ]] || {
        verdict differs "$1" "$said$set: $measured"
        return
      }
    done
    said+="$set: $measured (attempt $try); "
  done
  verdict identical "$1" "$said"
}
