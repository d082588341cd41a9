# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# A whole workstation, by its own Lua runner: on a dummy backend, with only our
# bundle on the LV2 path, and home and settings in a temporary folder.  Plays all
# forms like the other hosts; then it mixes the demo session as an engineer
# would.  The scripts are in workstation/.
#
# These checks are rows of the table of their own:
#   two-exports    the demo exported twice from one running session is the same
#                  to the bit
#   reopened       so is an export after saving, closing and reopening, but for
#                  the order of sums, and all values, faders, panners and sends
#                  are back
#   null           the export and the mix of our own session cancel
#   doubles        a take twice through one row is twice as loud, exactly; a row
#                  that is switched off is in step with a track without a row
#   automation     jumps of automated controls do not click
#   windows        in its own window on a virtual screen, the windows of all
#                  stages open, are driven, show what plays, close and come back
#   groups         there, the lead's window follows the rhythm's, into automation,
#                  too, and catches up when it is opened again
#   strip          its own bypass of a whole strip, while it plays, switches all
#                  stages off in step and as loud as they were
tools=(ardour7-lua awk)
package=ardour
scripts=$here/workstation
demo=$here/../../presets-demo

# Frames
slot=144000         # For a form; its sound lasts one second, notches ring longer
send_slot=480000    # With the tail of a reverberation, down to nothing
doubles=480000

. "$scripts/automation.sh"
. "$scripts/demo.sh"
. "$scripts/windows.sh"
. "$scripts/groups.sh"
. "$scripts/strip.sh"

# run_once SCRIPT ARGUMENT...: runs one of our Lua scripts in Ardour
run_once() {
  env -u DISPLAY HOME="$dir/home" XDG_CONFIG_HOME="$dir/home/.config" \
    XDG_CACHE_HOME="$dir/home/.cache" XDG_DATA_HOME="$dir/home/.local/share" \
    LV2_PATH="$lv2" LUA_PATH="$scripts/?.lua" \
    timeout -s KILL 150 ardour7-lua "$scripts/$1.lua" "${@:2}" </dev/null >"$dir/log" 2>&1 &&
    grep -q '^done$' "$dir/log" # It ends with 0 after a mistake, too
}

# runner SCRIPT SESSION ARGUMENT...
#
# Ardour 7.3's runner spoils its heap, without any plugin as well (3 of 12 runs
# that export), and then crashes or hangs: such a run is repeated.
runner() {
  local try status
  for ((try = 0; try < 8; ++try)); do
    status=0
    [[ $1 == play || $1 == resave ]] || rm -rf "$2" # Half made
    { run_once "$@" || status=$?; } 2>/dev/null
    ((status > 128)) || break
  done
  return $status
}

# bounce SESSION FRAMES EXPORTS...: into the folder SESSION.out; a process for
# each word EXPORTS, which are those of play.lua
bounce() {
  local exports
  mkdir -p "$1.out"
  for exports in "${@:3}"; do
    # shellcheck disable=SC2086 # A word each
    runner play "$1" "$1.out" "$2" $exports || return
  done
}

# said: what the runner said last, in one line
said() {
  grep -m1 -E '^Error|FATAL' "$dir/log" || tail -1 "$dir/log"
}

# record SESSION REGIONS FOLDER: puts the sounds of FOLDER into a saved session
record() {
  local audio=$1/interchange/${1##*/}/audiofiles file
  mkdir -p "$audio"
  cut -d' ' -f2 "$2" | tr , '\n' | sort -u | while read -r file; do
    ln -s "$3/$file" "$audio/$file"
  done
  awk -f "$scripts/regions.awk" "$2" "$1/session.ardour" >"$1/new" &&
    mv "$1/new" "$1/session.ardour"
}

# 32-bit float without dither, at the session's rate; studio.lua knows the id
write_export_format() {
  local folder=$dir/home/.config/ardour7/export
  mkdir -p "$folder"
  cat >"$folder/float.format" <<END
<?xml version="1.0" encoding="UTF-8"?>
<ExportFormatSpecification name="float" id="d1bd6270-2f4c-4a53-8d8e-9a6a6f2b0001">
  <Encoding id="F_WAV" type="T_Sndfile" extension="wav" name="WAV" has-sample-format="true" channel-limit="256"/>
  <SampleRate rate="1"/>
  <SRCQuality quality="SRC_SincBest"/>
  <EncodingOptions>
    <Option name="sample-format" value="SF_Float"/>
    <Option name="dithering" value="D_None"/>
    <Option name="tag-metadata" value="false"/>
    <Option name="tag-support" value="false"/>
    <Option name="broadcast-info" value="false"/>
  </EncodingOptions>
  <Processing>
    <Normalize enabled="false"/>
    <Silence>
      <Start><Trim enabled="false"/><Add enabled="false"><Duration format="Timecode" hours="0" minutes="0" seconds="0" frames="0"/></Add></Start>
      <End><Trim enabled="false"/><Add enabled="false"><Duration format="Timecode" hours="0" minutes="0" seconds="0" frames="0"/></Add></End>
    </Silence>
  </Processing>
</ExportFormatSpecification>
END
  cat >"$folder/float.preset" <<END
<?xml version="1.0" encoding="UTF-8"?>
<ExportPreset id="d1bd6270-2f4c-4a53-8d8e-9a6a6f2b0002" name="float">
  <ExportFormat id="d1bd6270-2f4c-4a53-8d8e-9a6a6f2b0001"/>
  <ExportFilename>
    <Folder relative="1" path="export"/>
    <Field name="label" enabled="0"/>
    <Field name="session" enabled="0"/>
    <Field name="snapshot" enabled="0"/>
    <Field name="timespan" enabled="1"/>
    <Field name="revision" enabled="0"/>
    <Field name="time" enabled="0" value="T_None"/>
    <Field name="date" enabled="0" value="D_None"/>
  </ExportFilename>
</ExportPreset>
END
}

begin() {
  lv2=${LV2_PATH%%:*}
  write_export_format
  "$programs/host_forms" defaults >"$dir/defaults"
  "$programs/host_bounce" sine "$dir/sine.wav"
  "$programs/host_bounce" cut "$dir/stereo.wav" 0 "$n_frames" 0 "$dir/left.wav"
  "$programs/host_bounce" cut "$dir/stereo.wav" 0 "$n_frames" 1 "$dir/right.wav"
  mkdir "$dir/di"
  "$programs/../../presets-demo/guitar/make-di" "$dir/di"
  play_forms plain "$slot" '^urn:dustcap:(plate|room)-send' -v
  play_forms sends "$send_slot" '^urn:dustcap:(plate|room)-send'
  check_automation
  check_doubles
  check_demo
  check_windows
  check_groups
  check_strip
}

end() { end_windows; }

# play_forms NAME SLOT FORMS [GREP_OPTION]: plays them in one export, one after
# the other
play_forms() {
  local session=$dir/$1 uri n_in moved setting set number line start=0
  while read -r uri n_in _ _ _ moved; do
    for set in "${sets[@]}"; do
      line="$set:$uri ${uri#urn:dustcap:} $n_in"
      number=0
      for setting in $moved; do
        ((++number)) # Behind "enabled"
        [[ $set == default ]] || line+=" $number=${setting#*=}"
      done
      echo "$line" >>"$session.lines"
      line=mono.wav
      ((n_in == 1)) || line=left.wav,right.wav
      echo "$set:$uri $line $((start += $2)) $n_frames" >>"$session.regions"
    done
  done < <(cut -d' ' -f1,2,3- "$dir/forms" | grep -E ${4:+"$4"} "$3")
  runner forms "$session" "$session.lines" && record "$session" "$session.regions" "$dir" &&
    bounce "$session" $((start + $2)) all || echo "$1: $(said)" >&2
}

# The piece of the export that is this form's, with its latency in front
play() { # URI IN OUT SETTING...
  local set=moved late=$latency_moved start name
  (($# > 3)) || { set=default late=$latency; }
  for name in plain sends; do
    start=$(awk -v track="$set:$1" '$1 == track { print $3 }' "$dir/$name.regions")
    [[ ! $start ]] || break
  done
  local channel=all
  ((n_out == 2)) || channel=0
  "$programs/host_bounce" cut "$dir/$name.out/all.wav" $((start - late)) "$n_frames" $channel "$3"
}

is_above() { awk -v a="$1" -v b="$2" 'BEGIN { exit !(a > b) }'; }

check_doubles() {
  local session=$dir/doubles what said=''
  for what in take double off dry; do
    echo "$what rhythm-left.wav 0 $doubles"
  done >"$session.regions"
  if ! runner doubles "$session" Rhythm || ! record "$session" "$session.regions" "$dir/di" ||
    ! bounce "$session" $doubles dry=dry both=dry+off take=take twice=take+double; then
    verdict refused doubles "$(said)"
    return
  fi
  said="two rows and twice one: $(bounced same 2 "$session.out/take.wav" "$session.out/twice.wav"); "
  said+="dry and off, and twice dry: $(bounced same 2 "$session.out/dry.wav" "$session.out/both.wav")"
  what=identical
  [[ $said == *": identical"*": identical"* ]] || what=differs
  verdict $what doubles "$said"
}
