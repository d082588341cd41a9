# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in place, in blocks of 64 frames.  Takes controls by position, from the
# first, which is "enabled".  A control that is not passed starts at 0 whatever
# its default, so all are passed.
#
# Each run waits for half a second, so all forms run side by side, a chain each.
# If that fails, each runs alone, and those that fail say so.
tools=(ecasound)
package=ecasound

# chain NAME URI N_IN N_OUT IN OUT SETTING...: adds its arguments to $chains
chain() {
  local values=,1 setting # Enabled
  for setting in "${@:7}"; do
    values+=,${setting#*=}
  done
  chains+=(-a:"$1" -f:f32_le,"$3",48000 -i "$5" -elv2:"$2$values"
    -f:f32_le,"$4",48000 -o "$6")
}

run_chains() {
  timeout --kill-after=5 60 ecasound -q -b:64 "${chains[@]}" </dev/null
}

# side_by_side SET: plays all forms into the folder SET
side_by_side() {
  local chains=() uri n_in n_out settings sound
  mkdir "$dir/$1"
  while read -r uri n_in n_out settings; do
    sound=$dir/stereo.wav
    ((n_in > 1)) || sound=$dir/mono.wav
    # shellcheck disable=SC2086 # A word each
    chain "$uri" "$uri" "$n_in" "$n_out" "$sound" "$dir/$1/$uri.wav" $settings
  done < <(controls "$1")
  run_chains >"$dir/log" 2>&1 || {
    echo "all forms in one run: $(grep -m1 '[[:alnum:]]' "$dir/log")" >&2
    rm -r "$dir/$1"
  }
}

# controls SET: prints a line for each form: URI, channels in and out, settings
controls() {
  if [[ $1 == moved ]]; then
    cut -d' ' -f1-3,6- "$dir/forms"
  else
    join <(sort "$dir/forms" | cut -d' ' -f1-3) <(sort "$dir/defaults")
  fi
}

begin() {
  "$programs/host_forms" defaults >"$dir/defaults"
  local set
  for set in "${sets[@]}"; do
    side_by_side "$set"
  done
}

play() { # URI IN OUT SETTING...
  local set=moved chains=()
  (($# > 3)) || set=default
  if [[ -d $dir/$set ]]; then
    mv "$dir/$set/$1.wav" "$3"
  else
    # shellcheck disable=SC2046 # A word each
    chain 1 "$1" "$n_in" "$n_out" "$2" "$3" $(controls "$set" | grep "^$1 " | cut -d' ' -f4-)
    run_chains
  fi
}
