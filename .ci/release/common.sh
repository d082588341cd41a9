# shellcheck shell=bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# What all parts of a release share; read by them with "source".  The same commit
# must give the same bytes in any folder on any day, so everything has the time
# of the commit, one order, one owner and modes of its own, and no path.
set -euo pipefail
export LC_ALL=C TZ=UTC
umask 022

# For which machine.  For another one SYSROOT has Debian's libraries of it.
machine=${MACHINE:-$(uname -m)}
sysroot=${SYSROOT:-}
tools=${sysroot:+$machine-linux-gnu-} # In front of the names of binutils

say() { printf 'release: %s\n' "$*" >&2; }
die() {
  say "$*"
  exit 1
}

# version_of SOURCES: meson.build is the only place that says it
version_of() { sed -n "s/^  version: '\([0-9.]*\)',\$/\1/p" "$1/meson.build"; }

# quietly LOG COMMAND...: its output into LOG, whose end shows if it fails
quietly() {
  local log=$1
  shift
  "$@" >>"$log" 2>&1 || {
    tail -n 40 "$log" >&2
    die "failed: $*"
  }
}

# build_installed LOG BUILD: what is installed, no more
build_installed() {
  meson introspect --installed "$2" | tr ',{}' '\n\n\n' |
    sed -n "s|^ *\"$2/\([^\"]*\)\": .*|\1|p" | grep -v '\.dll\.a$' >"$2/targets"
  [[ -s $2/targets ]] || die "meson does not say what it installs"
  quietly "$1" xargs -a "$2/targets" ninja -C "$2"
}

# libraries_there FILE...: what another machine's files need, one after the other
libraries_there() {
  local file name path waiting=("$@") seen=' '
  while ((${#waiting[@]})); do
    file=${waiting[0]}
    waiting=("${waiting[@]:1}")
    for name in $("${tools}readelf" -d "$file" | sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p'); do
      [[ $seen != *" $name "* ]] || continue
      seen+="$name "
      for path in {,/usr}"/lib/$machine-linux-gnu/$name"; do
        [[ -e $sysroot$path ]] || continue
        echo "$sysroot$path"
        waiting+=("$sysroot$path")
        break
      done
    done
  done
}

# libraries_of PROGRAM...: paths of all that they need, but for libc's own
libraries_of() {
  {
    if [[ $sysroot ]]; then
      libraries_there "$@"
    else
      ldd "$@" 2>/dev/null | awk '$2 == "=>" { print $3 }'
    fi
  } | sort -u |
    grep -v '/\(libc\|libm\|libdl\|libpthread\|librt\|ld-linux[^/]*\)\.so'
}

# even_out FOLDER: modes and times as they are on every machine
even_out() {
  chmod -R u=rwX,go=rX -- "$1"
  find "$1" -exec touch --no-dereference --date="@$SOURCE_DATE_EPOCH" {} +
}

# front_page SOURCES: without pictures, and with links to what is here
front_page() {
  sed '/^!\[/d; /^- \[DEVELOPERS\.md\]/d; s|(ttl/manual\.md|(manual.md|g; s|\[ttl/manual|[manual|g' "$1/README.md"
}

# pack_plain FOLDER NAME: NAME in FOLDER as a tar to standard output
pack_plain() {
  even_out "$1/$2"
  tar --create --directory="$1" --format=posix --sort=name \
    --owner=root:0 --group=root:0 --numeric-owner \
    --pax-option=exthdr.name=%d/PaxHeaders/%f,delete=atime,delete=ctime "$2"
}

# pack FOLDER NAME: the same as a tar.xz
pack() { pack_plain "$@" | xz -9e --threads=1; }
