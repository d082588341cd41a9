# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Runs in place and connects the ports anew before each block.  Starts every
# switch at off, whatever its default: those that are on by default must be set.
# Takes the ports of a group for audio channels, so it gets the bundle without
# groups of controls.
tools=(gst-launch-1.0)
package=gstreamer1.0-plugins-bad

begin() {
  export GST_REGISTRY="$dir/registry"
  "$here/../../ttl/ungroup.sh" "${LV2_PATH%%:*}/dustcap.lv2" "$dir/ungrouped"
  export LV2_PATH="$dir/ungrouped:${LV2_PATH#*:}"
  "$programs/host_forms" switches >"$dir/switches"
}

# Its elements have as many outputs as inputs
cannot() {
  ((n_in != n_out))
}

play() { # URI IN OUT SETTING...
  local uri=$1 in=$2 out=$3 setting
  shift 3
  for setting in $(grep "^$uri " "$dir/switches" | cut -d' ' -f2-); do
    [[ " $* " == *" ${setting%%=*}="* ]] || set -- "$@" "$setting"
  done
  # An element's name is the URI, a property's the symbol, with dashes
  limited 60 gst-launch-1.0 -q filesrc location="$in" ! wavparse ! audioconvert ! \
    "${uri//[:.\/#]/-}" "${@//_/-}" ! audioconvert ! \
    audio/x-raw,format=F32LE ! wavenc ! filesink location="$out"
}
