#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# licences.sh FILE...
# A table of the shared libraries, as Debian's copyright files have them: library,
# package with version, licences, and the package of its sources.
set -euo pipefail
export LC_ALL=C

# package_of LIBRARY: dpkg knows it by the path before or after /usr was merged
package_of() {
  local path
  for path in "$(realpath "$1")" "$1" "/usr$1" "${1#/usr}"; do
    dpkg-query --search "$path" 2>/dev/null && return
  done | sed -n '1s/:.*//p' | grep .
}

# Short names; of old copyright files, what they say in their text
licences_of() {
  local file=/usr/share/doc/$1/copyright
  if grep -q '^License:' "$file"; then
    sed -n 's/^License: *//p' "$file"
  else
    grep -oE 'common-licenses/[A-Za-z0-9.-]*[0-9A-Za-z]' "$file" | sed 's|.*/||' || echo 'see its text'
  fi | sed 's/ *$//' | sort -u | paste -sd ';' | sed 's/;/; /g; s/|/or/g'
}

echo '| Library | Debian package | Licences | Sources |'
echo '|---|---|---|---|'
for library; do
  package=$(package_of "$library")
  printf '| %s | %s | %s | %s |\n' "${library##*/}" \
    "$(dpkg-query -W -f '${Package} ${Version}' "$package")" \
    "$(licences_of "$package")" \
    "$(dpkg-query -W -f '${source:Package} ${source:Version}' "$package")"
done
