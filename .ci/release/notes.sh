#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# notes.sh README VERSION
# Prints the Changes of that version: the notes of the release.
set -eu
awk -v heading="### $2" '
  inside && /^##/ { exit }
  inside { text = text $0 "\n" }
  $0 == heading || index($0, heading " ") == 1 { inside = 1 }
  END {
    sub(/^\n+/, "", text)
    sub(/\n+$/, "", text)
    if (text == "") {
      print "notes.sh: README.md has no Changes of this version" >"/dev/stderr"
      exit 1
    }
    print text
  }' "$1"
