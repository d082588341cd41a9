# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# awk -v slow="name name ..." -f realtime_mark.awk FILE
#
# Marks every function that a header declares as NONBLOCKING, except those in
# `slow`, so that new functions are checked without being listed.
# The format of headers is fixed (./dev format): a name at the start of a line,
# `);` at the end.
#
# Constants in functions lose their `static`: the check does not know that in C
# they exist from the start (C11, 6.7.9).

/^[a-z_0-9]+\(/ {
  name = substr($0, 1, index($0, "(") - 1)
  is_open = FILENAME ~ /\.h$/ && !index(" " slow " ", " " name " ")
}
/^[{}]/ { is_open = 0 } # It was a definition
is_open && /\);/ {
  sub(/\);/, ") NONBLOCKING;")
  is_open = 0
}
/^ +static const / { sub(/static /, "") }
{ print }
