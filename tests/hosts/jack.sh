# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# For hosts that need a JACK server: one of our own, with no sound card, that
# nobody else's clients find

jack_begin() {
  export JACK_DEFAULT_SERVER=dustcap-$$ JACK_NO_AUDIO_RESERVATION=1 JACK_NO_START_SERVER=1
  # Synchronous, so that nothing depends on who is late; not in real time
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
