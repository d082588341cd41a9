# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Starts a JACK server for the hosts that need one: without a sound card, under
# a name that no other client finds

jack_begin() {
  export JACK_DEFAULT_SERVER=dustcap-$$ JACK_NO_AUDIO_RESERVATION=1 JACK_NO_START_SERVER=1
  # Synchronous, so that no client can be late; without real-time scheduling
  jackd -r -S -n "$JACK_DEFAULT_SERVER" -d dummy -r 48000 -p 1024 >"$dir/jackd.log" 2>&1 &
  jackd_id=$!
  limited 20 jack_wait -w >/dev/null || {
    cat "$dir/jackd.log" >&2
    exit 1
  }
}

jack_end() {
  [[ ! ${jackd_id-} ]] || kill "$jackd_id" 2>/dev/null || true
}
