#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# licences.sh FILE...
# A table of the shared libraries, as Debian's copyright files have them: library,
# package with version, licences, and the package of its sources.  Libraries of
# another machine lie in SYSROOT; dpkg knows their packages by those of this one.
set -euo pipefail
export LC_ALL=C
doc=${SYSROOT:-}/usr/share/doc

# package_of LIBRARY: dpkg knows it by the path before or after /usr was merged
package_of() {
  local path
  for path in "$(realpath "$1")" "$1" "/usr$1" "${1#/usr}"; do
    dpkg-query --search "$path" 2>/dev/null && return
  done | sed -n '1s/:.*//p' | grep .
}

# Short names; of old copyright files, what they say in their text
licences_of() {
  local file=$doc/$1/copyright
  if grep -q '^License:' "$file"; then
    sed -n 's/^License: *//p' "$file"
  else
    grep -oE 'common-licenses/[A-Za-z0-9.-]*[0-9A-Za-z]' "$file" | sed 's|.*/||' || echo 'see its text'
  fi | sed 's/ *$//' | sort -u | paste -sd ';' | sed 's/;/; /g; s/|/or/g'
}

# changed PACKAGE: source and version, as its changelog in SYSROOT begins
changed() { gzip -dc "$doc/$1/changelog.Debian.gz" | sed -n '1s/^\([^ ]*\) (\([^)]*\)).*/\1 \2/p'; }

echo '| Library | Debian package | Licences | Sources |'
echo '|---|---|---|---|'
for library; do
  known=${library#"${SYSROOT:-}"}
  [[ ! ${SYSROOT:-} ]] || known=${known//"$MACHINE"-linux-gnu/"$(uname -m)"-linux-gnu}
  package=$(package_of "$known")
  if [[ ${SYSROOT:-} ]]; then
    from=$(changed "$package")
    version="$package ${from#* }"
  else
    version=$(dpkg-query -W -f '${Package} ${Version}' "$package")
    from=$(dpkg-query -W -f '${source:Package} ${source:Version}' "$package")
  fi
  [[ $from ]] || exit 1
  printf '| %s | %s | %s | %s |\n' "${library##*/}" \
    "$version" "$(licences_of "$package")" "$from"
done
