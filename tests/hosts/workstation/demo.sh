# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# Part of workstation.sh: the demo session, mixed as an engineer would

null_limit_db=-90
order_limit_db=-120

# strip_of SECTION KEY FILE: a value of a session file
strip_of() {
  awk -v section="[$1]" -v key="$2" '
    /^\[/ { on = $0 == section }
    on && $1 == key && $2 == "=" { print $3 }' "$3"
}

# Ardour pans a mono track by
#   gain(x) = x * (s * x + 1 - s), s = 2 - 4 * 10^(-3 / 20),
# x from 0 to 1 toward that side: -3 dB in the middle.  Ours is that of constant
# power, -3.01 dB.  At both ends they agree; in the middle our session is made
# louder by the difference, 0.0103 dB.
middle_db=$(awk 'BEGIN {
  s = 2 - 4 * exp(-3 / 20 * log(10))
  printf "%.9f", 20 / log(10) * log(0.5 * (s * 0.5 + 1 - s) / sqrt(0.5))
}')

# Our session: the same mix as floating point, with the pan law's difference;
# its report tells the alignment of each take
mix_session() {
  cp -r "$demo/setups" "$dir/"
  mkdir -p "$dir/session"
  awk -v middle_db="$middle_db" '
    $1 == "file" { sub(/\.\.\/out\//, "../") }
    $1 == "setup" { sub(/setups/, "../setups") }
    $1 == "bits" { $0 = "bits = float" }
    { line[NR] = $0; section[NR] = $1 == "gain_db" ? name : ""; if (/^\[/) name = $0 }
    $1 == "pan" { panned[name] = 1 }
    END {
      for (i = 1; i <= NR; ++i) {
        if (section[i] && !panned[section[i]]) {
          split(line[i], word, "=")
          line[i] = sprintf("gain_db = %.9f", word[2] + middle_db)
        }
        print line[i]
      }
    }' "$demo/low-tide.session.ini" >"$dir/session/low-tide.session.ini"
  "$programs/../../presets-demo/session/dustcap-session" --quiet --json \
    --bundle "$lv2/dustcap.lv2" "$dir/session/low-tide.session.ini" -o "$dir/session/out"
}

# align_of TRACK
align_of() {
  awk -v name="\"$1\"," '
    $1 == "\"name\":" && !on { on = $2 == name }
    on && $1 == "\"align_db\":" { sub(/,/, "", $2); print $2; exit }' "$dir/session/out/report.json"
}

check_demo() {
  local session=$dir/low-tide file=$demo/low-tide.session.ini strips=() track preset frames tail
  local pairs=(lead+plate=lead+plate rhythm-left+room=rhythm-left+room)
  mix_session || { verdict refused null "our session does not mix"; return; }
  tail=$(($(strip_of output tail_s "$file") * 48000))
  frames=$(awk '/"length_s":/ { printf "%d", $2 * 48000 + 0.5 }' "$dir/session/out/report.json")
  strips=("send,room,Room" "send,plate,Plate")
  for track in rhythm-left rhythm-right lead; do
    preset=Rhythm
    [[ $track != lead ]] || preset=Lead
    strips+=("track,$track,$preset,$(strip_of "track $track" gain_db "$file"),$(
      strip_of "track $track" pan "$file" | grep . || echo 0),$(align_of $track),$(
      strip_of "track $track" room_db "$file"),$(strip_of "track $track" plate_db "$file")")
    echo "$track $track.wav 0 $((frames - tail))" >>"$session.regions"
  done
  if ! runner demo "$session" "$session.made" "${strips[@]}" master,Bus ||
    ! record "$session" "$session.regions" "$dir/di" ||
    ! bounce "$session" "$frames" "first 10 second" "${pairs[@]}"; then
    verdict refused two-exports "$(said)"
    return
  fi
  verdict_of "$(bounced same 1 "$session.out/first.wav" "$session.out/second.wav")" two-exports
  judge_null null $null_limit_db "middle $middle_db dB; " \
    "$(bounced null "$session.out/first.wav" "$dir/session/out/mix.wav")"
  mv "$session.out" "$session.before"
  check_reopened "$session" "$frames"
}

bounced() { "$programs/host_bounce" "$@" 2>&1; }

# Saved and closed once more, opened by another process.  Ardour adds what meets
# at a bus in an order that changes with each opening (4 openings of one file: 3
# results, -138 dBFS apart), so the mix is the same but for its rounding.  A
# track and one send are two, and must be the same to the bit.
check_reopened() { # SESSION FRAMES
  local session=$1 pair said='' answer
  if ! runner resave "$session" "$session.saved" ||
    ! bounce "$session" "$2" first "${pairs[@]}"; then
    verdict refused reopened "$(said)"
    return
  elif ! cmp -s "$session.made" "$session.saved"; then
    verdict differs reopened "values: $(diff "$session.made" "$session.saved" |
      grep '^[<>]' | head -4 | tr '\n' ' ')"
    return
  fi
  for pair in "${pairs[@]#*=}"; do
    answer=$(bounced same 1 "$session.before/$pair.wav" "$session.out/$pair.wav")
    said+="$pair: $answer; "
    [[ $answer == identical* ]] || { verdict differs reopened "$said"; return; }
  done
  judge_null reopened $order_limit_db "$(wc -l <"$session.made") values; ${said}mix: " \
    "$(bounced null "$session.before/first.wav" "$session.out/first.wav")"
}

# verdict_of ANSWER ROW
verdict_of() {
  local word=differs
  [[ $1 != identical* ]] || word=identical
  verdict $word "$2" "$1"
}

# judge_null ROW LIMIT_DB DETAIL ANSWER
judge_null() {
  local word=differs db=${4%% *}
  [[ ! $db =~ ^-[0-9.]+$ ]] || is_above "$db" "$2" || word=kept
  verdict $word "$1" "$3$4, limit $2"
}
