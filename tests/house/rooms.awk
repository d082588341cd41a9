# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# awk -f rooms.awk ROOMS FILE...
# Checks the #include lines of FILEs (paths from the top of the sources, where
# it runs) against the list ROOMS: prints a line for each breach, and exits with
# 1 if there is any.
#
# The list has its lowest floor first, and may grant a room only rooms above it
# in the list, so that no circle is possible.  Rooms of tests/ are not in it:
# they may include anything except other rooms of tests/, tests/support apart.

function breach(text) {
  print text
  status = 1
}

# The folder of a file, "" at the top
function room_of(path) {
  return match(path, /\/[^\/]*$/) ? substr(path, 1, RSTART - 1) : ""
}

# Does the header start with the name of one of the room's libraries?
function is_granted_library(room, header,    i, n, words, name) {
  n = split(grants[room], words, " ")
  for (i = 1; i <= n; ++i) {
    if (words[i] ~ /^</) {
      name = substr(words[i], 2, length(words[i]) - 2)
      if (index(header, name) == 1) {
        used[room, words[i]] = 1
        return 1
      }
    }
  }
  return 0
}

function is_granted(room, word) {
  if (index(" " grants[room] " ", " " word " ")) {
    used[room, word] = 1
    return 1
  }
  return 0
}

function list_line(    i, n, words) {
  if (entry == "") return
  n = split(entry, words, " ")
  if (!sub(/:$/, "", words[1])) {
    breach(list ": '" entry "': expected ROOM: WHAT IT MAY INCLUDE...")
  }
  floor[words[1]] = 1
  for (i = 2; i <= n; ++i) {
    if (words[i] !~ /^<|^posix$|\.h$/ && !(words[i] in floor)) {
      breach(list ": " words[1] " may include " words[i] \
             ", which is not above it in the list")
    }
    grants[words[1]] = grants[words[1]] " " words[i]
  }
  entry = ""
}

BEGIN {
  split("assert complex ctype errno fenv float inttypes limits locale math " \
        "setjmp signal stdarg stdatomic stdbool stddef stdint stdio stdlib string time wchar", w, " ")
  for (i in w) iso[w[i] ".h"] = 1
  split("dirent dlfcn fcntl ftw getopt poll pthread spawn strings unistd", w, " ")
  for (i in w) posix[w[i] ".h"] = 1
  list = ARGV[1]
  for (i = 2; i < ARGC; ++i) known[ARGV[i]] = 1
}

# The list
FILENAME == list {
  if (/^#/ || /^[ \t]*$/) next
  if (/^[ \t]/) {
    sub(/^[ \t]+/, "")
    entry = entry " " $0
    next
  }
  list_line()
  entry = $0
  next
}

# A file
FNR == 1 {
  list_line()
  room = room_of(FILENAME)
  is_test = room ~ /^tests\//
}

/^[ \t]*#[ \t]*include/ {
  if (!match($0, /["<][^">]+[">]/)) next
  name = substr($0, RSTART + 1, RLENGTH - 2)
  where = FILENAME ":" FNR ": "
  if (substr($0, RSTART, 1) == "<") {
    if (name in iso || is_test) next
    if ((name in posix || name ~ /^sys\//) && is_granted(room, "posix")) next
    if (!is_granted_library(room, name)) breach(where room " may not include <" name ">")
    next
  }
  if ((room "/" name) in known) next # A neighbour
  target = name in known ? room_of(name) : name # Or made by the build
  if (name in known && target == room) {
    breach(where "\"" name "\": expected its name alone, it is in the same room")
  } else if (is_test) {
    if (target ~ /^tests\// && target != "tests/support")
      breach(where room " may not include another room of tests/: " name)
  } else if (!is_granted(room, target)) {
    breach(where room " may not include " name)
  }
  # A room's private headers stay there, its tests apart
  if (name ~ /_(run|lanes|group|parts|state|pipeline|ramps)\.h$/ && room != target) {
    mirror = target
    sub(/^[^\/]+\//, "tests/", mirror)
    if (room != mirror) breach(where name " is private to " target)
  }
}

END {
  list_line()
  for (i = 2; i < ARGC; ++i) {
    room = room_of(ARGV[i])
    lives_in[room] = 1
    if (!(room in floor) && room !~ /^tests\//) breach(ARGV[i] ": in no room of " list)
  }
  for (room in floor) {
    if (!(room in lives_in)) breach(list ": no file lives in " room)
    n = split(grants[room], words, " ")
    for (i = 1; i <= n; ++i) {
      if (!((room, words[i]) in used)) {
        breach(list ": " room " may include " words[i] " but does not")
      }
    }
  }
  exit status
}
