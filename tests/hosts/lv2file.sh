# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in blocks of 512 frames, the last one padded with zeros; takes presets by
# label
tools=(lv2file)
package=lv2file

play() { # URI IN OUT SETTING...
  local uri=$1 in=$2 out=$3 setting
  shift 3
  for setting; do
    shift
    set -- "$@" -p "${setting%%=*}:${setting#*=}"
  done
  limited 60 lv2file --ignore-clipping -i "$in" -o "$out" "$@" "$uri"
}

# It must list all our presets, and one of them must sound like its values
more() { # URI IN
  local listed values='' label='' line status=0
  measured='presets: not all are listed'
  listed=$(limited 60 lv2file -L "$1") || return
  while read -r line; do
    [[ $line != "$1 "* ]] && continue
    read -r _ _ values label <<<"$line"
    [[ $'\n'$listed$'\n' == *$'\n'"Preset: $label"$'\n'* ]] || return
  done <"$dir/presets"
  measured='presets: none'
  [[ $label ]] || return
  limited 60 lv2file --ignore-clipping -i "$2" -o "$dir/preset.wav" -P "$label" \
    "$1" >"$dir/log" 2>&1 || return
  # shellcheck disable=SC2086 # A word each
  judge "$1" "$2" "$dir/preset.wav" ${values//,/ } || status=1
  measured="preset $label: $measured"
  return $status
}
