# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# In place, blocks of 64 frames; controls are passed by position, from
# the first, which is "enabled".  One that is not passed starts at 0 whatever its
# default, so those are passed too.
tools=(ecasound)
package=ecasound

begin() {
  "$programs/host_forms" defaults >"$dir/defaults"
}

play() { # URI IN OUT SETTING...
  local uri=$1 in=$2 out=$3 setting
  shift 3
  local values=
  # shellcheck disable=SC2046 # A word each
  (($#)) || set -- $(grep "^$uri " "$dir/defaults" | cut -d' ' -f2-)
  for setting; do
    values=$values,${setting#*=}
  done
  limited 60 ecasound -q -b:64 -f:f32_le,"$n_in",48000 -a:1 -i "$in" \
    -elv2:"$uri,1$values" -f:f32_le,"$n_out",48000 -o "$out" </dev/null
}
