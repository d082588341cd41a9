#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# release.sh WORK OUT WHAT...
# Makes from the last commit what people install, in OUT; WORK is for what it
# builds.  The sources come first: all else is built from them as they are
# unpacked, so nothing of the checkout gets in.  Each WHAT is a script here.
here=$(cd "$(dirname "$0")" && pwd)
# shellcheck source=common.sh
source "$here/common.sh"

work=$(realpath -m "$1") out=$(realpath -m "$2")
shift 2
cd "$here/../.."
[[ -e .git ]] || die "$PWD is no git checkout; a release is made from a commit"
SOURCE_DATE_EPOCH=$(git log -1 --format=%ct)
export SOURCE_DATE_EPOCH
[[ -z $(git status --porcelain --untracked-files=no) ]] ||
  say "changes that are not committed are left out"

rm -rf "$work"
mkdir -p "$work" "$out"
rm -f "$out"/dustcap[-_]* "$out/SHA256SUMS" # Not beside those of another commit
name=dustcap-$(git show HEAD:meson.build | sed -n "s/^  version: '\([0-9.]*\)',\$/\1/p")

say "$name.tar.xz"
git -c tar.umask=0022 archive --format=tar --prefix="$name/" HEAD |
  xz -9e --threads=1 >"$work/$name.tar.xz"
mv "$work/$name.tar.xz" "$out/"
tar -x -f "$out/$name.tar.xz" -C "$work"

for what; do
  [[ $what == sources ]] || "$work/$name/.ci/release/$what.sh" "$work" "$out"
done
"$work/$name/.ci/release/papers.sh" "$work" "$out"
