# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# awk -f regions.awk REGIONS session.ardour
# Puts recordings into a saved session, which the Lua runner cannot.  Each line of
# REGIONS is a track, a sound file in the session's folder for audio (or one for
# each channel, with a comma between), the frame at which it starts and its
# length in frames.  No fades, so that the track plays the recording's own
# samples.

function time(frames) {
  # A second has 282240000 of the session's ticks
  return sprintf("a%.0f", frames * (282240000 / 48000))
}

# source_of(file): its number, a new one if it has none
function source_of(file) {
  if (!(file in source)) {
    source[file] = first_id + n_sources
    name[n_sources++] = file
  }
  return source[file]
}

function print_sources(  i) {
  print "  <Sources>"
  for (i = 0; i < n_sources; ++i) {
    printf "    <Source name=\"%s\" type=\"audio\" flags=\"\" id=\"%d\" channel=\"0\" " \
           "origin=\"\" gain=\"1\"/>\n", name[i], first_id + i
  }
  print "  </Sources>"
}

function print_region(i,  file, k, n) {
  n = split(files[i], file, ",")
  printf "      <Region name=\"%s\" id=\"%d\" type=\"audio\" channels=\"%d\" " \
         "start=\"a0\" length=\"%s@%s\" opaque=\"1\" whole-file=\"0\" " \
         "scale-amplitude=\"1\" fade-in-active=\"0\" fade-out-active=\"0\" " \
         "default-fade-in=\"0\" default-fade-out=\"0\"",
         file[1], first_id + n_sources + i, n, time(n_frames[i]), time(start[i])
  for (k = 1; k <= n; ++k) {
    printf " source-%d=\"%d\" master-source-%d=\"%d\"", k - 1, source[file[k]], k - 1,
           source[file[k]]
  }
  print "/>"
}

BEGIN { first_id = 1000000 }

NR == FNR {
  ++n_regions
  track[n_regions] = $1
  files[n_regions] = $2
  start[n_regions] = $3
  n_frames[n_regions] = $4
  n = split($2, file, ",")
  for (k = 1; k <= n; ++k) {
    source_of(file[k])
  }
  next
}

# The session gives new numbers from here on
/<Session / { sub(/id-counter="[0-9]+"/, "id-counter=\"" first_id * 2 "\"") }

/<Sources\/>/ {
  print_sources()
  next
}

/<Playlist .*\/>/ {
  match($0, / name="[^"]*"/)
  mine = substr($0, RSTART + 7, RLENGTH - 8)
  sub(/\/>$/, ">")
  print
  for (i = 1; i <= n_regions; ++i) {
    if (track[i] == mine) {
      print_region(i)
      ++n_placed
    }
  }
  print "    </Playlist>"
  next
}

{ print }

END {
  if (n_placed != n_regions) {
    print "regions.awk: expected a track for each recording" >"/dev/stderr"
    exit 1
  }
}
