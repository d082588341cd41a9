#!/bin/sh
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# links.sh SOURCES PAGE...
# Every relative link of every page leads to a file, and to a heading of it if it
# names one.  First the judge itself is held: it must find each kind of broken
# link in a page that is made to have it.
set -eu
export LC_ALL=C

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
n=0
status=0

# links PAGE: "line target" of each link outside code
links() {
  awk '
    /^```/ { in_code = !in_code }
    in_code { next }
    {
      gsub(/`[^`]*`/, "")
      while (match($0, /\]\([^)]*\)/)) {
        print NR, substr($0, RSTART + 2, RLENGTH - 3)
        $0 = substr($0, RSTART + RLENGTH)
      }
    }
  ' "$1"
}

# anchors PAGE: of each heading, as is usual for Markdown on the web: lower case,
# without punctuation, a hyphen for each space
anchors() {
  awk '
    /^```/ { in_code = !in_code }
    !in_code && /^#+ / {
      sub(/^#+ +/, "")
      $0 = tolower($0)
      gsub(/[^a-z0-9 _-]/, "")
      gsub(/ /, "-")
      print seen[$0]++ ? $0 "-" seen[$0] - 1 : $0
    }
  ' "$1"
}

# judge PAGE: what is wrong with its links
judge() {
  links "$1" | while read -r line target; do
    case $target in
      [a-z]*:*) continue ;; # An address on the web
    esac
    file=$1
    [ -z "${target%%#*}" ] || file=$(dirname "$1")/${target%%#*}
    if [ ! -e "$file" ]; then
      echo "$1:$line: $target: no such file"
    elif [ "${target#*#}" != "$target" ] && ! anchors "$file" | grep -qxF -e "${target#*#}"; then
      echo "$1:$line: $target: no such heading"
    fi
  done
}

# expect WHAT WANTED PAGE
expect() {
  n=$((n + 1))
  found=$(judge "$3")
  if [ "$found" = "$2" ]; then echo "ok $n - $1"; else
    printf '%s\n' "$found" | sed 's/^/# /'
    echo "not ok $n - $1"
    status=1
  fi
}

cd "$work"
mkdir folder
printf '# One `two` (`three-four`), five\n\n## Again\n\n## Again\n' >folder/other.md
{
  echo '[a](folder/other.md#one-two-three-four-five) [b](#here) [c](https://localhost/none)'
  echo '[d](folder/other.md#again) and [e](folder/other.md#again-1), `[f](code)`'
  printf '```\n[g](code)\n```\n# Here\n'
} >good.md
expect 'a page of good links' '' good.md
echo '![a](folder/none.png)' >file.md
expect 'no such file' 'file.md:1: folder/none.png: no such file' file.md
printf 'text\n[a](good.md), [b](folder/other.md#six)\n' >heading.md
expect 'no such heading' 'heading.md:2: folder/other.md#six: no such heading' heading.md

cd "$1"
shift
for page; do
  expect "links of $page" '' "$page"
  n=$((n + 1))
  if [ -n "$(links "$page")" ]; then echo "ok $n - $page has some"; else
    echo "not ok $n - $page has some"
    status=1
  fi
done
echo "1..$n"
exit "$status"
