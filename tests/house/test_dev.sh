#!/usr/bin/env bash
# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
#
# test_dev.sh SOURCES
# The front door, in a checkout of its own where nothing is built: meson, dpkg-query,
# apt-get and the programs are stand-ins that write down what is asked of them.
# shellcheck disable=SC2013,SC2317
set -u
export LC_ALL=C
unset CDPATH XDG_CACHE_HOME
work=$(mktemp -d)
trap 'chmod -R u+w "$work"; rm -rf "$work"' EXIT
checkout=$work/a\ checkout
export WORK=$work HOME=$work/home
export PATH=$work/bin:$PATH
bundle=$HOME/.lv2/dustcap.lv2
mkdir "$checkout" "$work/bin" "$HOME"
cp "$1/dev" "$checkout/dev"
touch "$work/out" "$work/err"
n=0
status=0

# check WHAT COMMAND...
check() {
  local what=$1
  shift
  n=$((n + 1))
  if "$@"; then echo "ok $n - $what"; else
    echo "not ok $n - $what"
    sed 's/^/# /' "$work/out" "$work/err"
    status=1
  fi
}

# stand_in NAME: a program that runs the script on standard input
stand_in() {
  { printf '#!/usr/bin/env bash\n' && cat; } >"$work/bin/$1"
  chmod +x "$work/bin/$1"
}

stand_in dpkg-query <<'END'
[[ " ${MISSING:-} " == *" ${@: -1} "* ]] || printf 'install ok installed'
END
# Answers as answers() below tells it
stand_in apt-get <<'END'
printf '%s\n' "$*" >>"$WORK/apt.log"
read -r answer rest <"$WORK/apt.answers"
printf '%s\n' "$rest" >"$WORK/apt.answers"
case $answer in
  good) exit 0 ;;
  locked)
    # As Debian 12's apt does: the holder only when it does not wait
    [[ $* != *Timeout=0* ]] ||
      echo 'E: Could not get lock /var/lib/dpkg/lock-frontend. It is held by process 7 (apt)'
    echo 'E: Unable to acquire the dpkg frontend lock (/var/lib/dpkg/lock-frontend), is another process using it?'
    ;;
  half) echo "E: dpkg was interrupted, you must manually run 'dpkg --configure -a' to correct the problem." ;;
  old) echo 'E: Unable to locate package gcc' ;;
esac
exit 100
END
stand_in sudo <<'END'
exec "$@"
END
# Sets up a folder with a bundle and a program; builds until $WORK/hold is gone
stand_in meson <<'END'
folder=${*: -1}
if [[ $1 == setup ]]; then
  [[ ! -f $folder/build.ninja ]] || exit 1
  mkdir -p "$folder/plugins" "$folder/presets-demo/"{guitar,render,session}
  touch "$folder/build.ninja"
  for name in dustcap.so manifest.ttl air-shelf.ttl; do echo "new $name" >"$folder/plugins/$name"; done
  cp "$WORK/bin/render" "$folder/presets-demo/render/dustcap-render"
  cp "$WORK/bin/render" "$folder/presets-demo/guitar/make-di"
  cp "$WORK/bin/render" "$folder/presets-demo/session/dustcap-session"
elif [[ $1 == compile ]]; then
  echo begin >>"$WORK/compile.log"
  for ((i = 0; i < 100; ++i)); do
    [[ -f $WORK/hold ]] || break
    sleep 0.1
  done
  echo end >>"$WORK/compile.log"
fi
END
stand_in render <<'END'
printf '%s: %s\n' "$PWD" "$*"
while [[ ${1-} == play && -f $WORK/play ]]; do sleep 0.1; done
END

# run COMMAND...: its output in $work/out and $work/err, its code in $code
run() {
  "$@" >"$work/out" 2>"$work/err"
  code=$?
}
dev() { run "$checkout/dev" "$@"; }

# says CODE TEXT: one line of errors with TEXT and that exit code
says() { [[ $code == "$1" && $(wc -l <"$work/err") == 1 && $(cat "$work/err") == *"$2"* ]]; }
# succeeds_with TEXT: on standard output
succeeds_with() { [[ $code == 0 && $(cat "$work/out") == *"$1"* ]]; }
# within_10_s COMMAND...: it comes true
within_10_s() {
  local i
  for ((i = 0; i < 100; ++i)); do
    ! "$@" || return 0
    sleep 0.1
  done
  return 1
}

mkdir -p "$work/caller/build" "$work/links"
cd "$work/caller" || exit 1

# What each command says of itself
usage_and_functions_agree() {
  diff <(sed -n 's/^cmd_\([a-z]*\)() {$/\1/p' "$checkout/dev" | sort) \
    <("$checkout/dev" --help | sed -n 's/^  \([a-z]\+\).*/\1/p' | sort) >"$work/out"
}
check 'the usage has every command, and no other' usage_and_functions_agree
for command in $(sed -n 's/^cmd_\([a-z]*\)() {$/\1/p' "$checkout/dev"); do
  [[ ! $command =~ ^(render|session|presets)$ ]] || continue
  dev "$command" --help
  check "$command --help" succeeds_with "usage: ./dev $command"
  dev "$command" --nonsense
  check "$command --nonsense is refused" says 2 "no option '--nonsense'"
done
dev nonsense
check 'an unknown command is refused' says 2 "no command 'nonsense'"
dev lint nonsense
check 'an argument too many is refused' says 2 'lint takes no argument'
dev install "$work/a" "$work/b"
check 'a second folder to install into is refused' says 2 'one argument, not 2'
dev mutants 1 2 3
check 'one more than two arguments is refused' says 2 'up to 2 arguments, not 3'
check 'none of these built anything' [ ! -e "$checkout/build" ]

# From where and by which name it is called
ln -s "$checkout/dev" "$work/links/first"
ln -s first "$work/links/dev"
run "$work/links/dev" render in.wav --help
check 'called by a link to a link' succeeds_with "$work/caller: in.wav --help"
check 'it builds where the link leads' [ -d "$checkout/build" -a ! -e "$work/links/build" ]
mkdir -p "$work/decoy/a checkout"
cd "$work" || exit 1
run env CDPATH="$work/decoy" 'a checkout/dev' render in.wav
check 'called by a relative path, with CDPATH' succeeds_with "$work: in.wav"
check 'nothing was built where that leads' [ -z "$(ls "$work/decoy/a checkout")" ]
cd "$work/caller" || exit 1
check 'nothing was built where it was called' [ -z "$(ls "$work/caller/build")" ]

# Two at once
rm -rf "$checkout/build" "$work/compile.log"
touch "$work/hold"
"$checkout/dev" render one >"$work/one" 2>&1 &
one=$!
within_10_s [ -s "$work/compile.log" ]
"$checkout/dev" render two >"$work/two" 2>&1 &
two=$!
within_10_s grep -q 'waiting for another' "$work/two"
sleep 0.3
check 'while one builds, a second one does not' [ "$(cat "$work/compile.log")" = begin ]
rm "$work/hold"
wait "$one"
one=$?
wait "$two"
check 'both end well' [ "$one $?" = '0 0' ]
check 'the second waited for the first to end' \
  [ "$(tr '\n' ' ' <"$work/compile.log")" = 'begin end begin end ' ]
check 'it said so once' [ "$(grep -c waiting "$work/two")" = 1 ]
check 'the first said nothing of it' [ "$(grep -c waiting "$work/one")" = 0 ]
touch "$work/play"
"$checkout/dev" render play >"$work/one" 2>&1 &
one=$!
within_10_s grep -q 'caller: play' "$work/one"
dev render two
check 'programs do not wait for each other' succeeds_with two
check 'the first one plays still' kill -0 "$one"
rm "$work/play"
wait "$one"

# install and uninstall
contents() { (cd "$1" && find . -type f -exec grep -H '' {} + -o -type l -print | sort); }
dev install
check 'install, for this user' [ "$code:$(cat "$bundle/manifest.ttl")" = '0:new manifest.ttl' ]
check 'it lists what it put there' \
  [ "$(sort "$bundle/installed.txt" | tr '\n' ' ')" = "$(cd "$bundle" && echo *) " ]
check 'it leaves nothing else' [ "$(ls -A "$HOME/.lv2")" = dustcap.lv2 ]
echo old >"$bundle/dustcap.so"
echo gone.ttl >>"$bundle/installed.txt"
echo old >"$bundle/gone.ttl"
dev install
check 'install again replaces all of it' [ "$code:$(cat "$bundle/dustcap.so")" = '0:new dustcap.so' ]
check 'what the bundle no longer has is gone' [ ! -e "$bundle/gone.ttl" ]
rm "$bundle/installed.txt"
dev install
check 'a bundle from before there were lists is replaced' [ "$code" = 0 -a -f "$bundle/installed.txt" ]

echo mine >"$bundle/my notes.txt"
mkdir "$bundle/my folder"
echo old >"$bundle/dustcap.so"
before=$(contents "$bundle")
dev install
check 'install refuses a bundle with foreign files' \
  grep -q 'did not put there: my folder my notes.txt' "$work/err"
check 'and leaves it as it was' [ "$code:$(contents "$bundle")" = "1:$before" ]
ln -s /dev/null "$bundle/link.ttl"
echo link.ttl >>"$bundle/installed.txt"
echo '../../keep' >>"$bundle/installed.txt"
echo keep >"$HOME/keep"
dev uninstall
check 'uninstall says what it removed' grep -q 'removed .*: manifest.ttl .*dustcap.so' "$work/err"
check 'and what it left' grep -q 'left there.*: link.ttl my folder my notes.txt' "$work/err"
check 'it leaves no more than that' [ "$(cd "$bundle" && echo *)" = 'link.ttl my folder my notes.txt' ]
check 'nor does it reach out of the bundle' [ -f "$HOME/keep" ]
dev uninstall
check 'without a list, uninstall refuses' says 1 'has no installed.txt'
rm -rf "$bundle"
dev uninstall
check 'with nothing there, it says so' says 1 'nothing is installed'

cd "$work/caller" || exit 1
dev install 'my plugins'
check 'install DIR, seen from the caller' [ -f "$work/caller/my plugins/dustcap.lv2/dustcap.so" ]
dev uninstall 'my plugins'
check 'uninstall DIR leaves no bundle' [ "$code:$(ls -A 'my plugins')" = 0: ]

mkdir "$work/theirs"
echo theirs >"$work/theirs/dustcap.so"
ln -s "$work/theirs" "$bundle"
for command in install uninstall; do
  dev "$command"
  check "$command refuses a link" says 1 "is a link to $work/theirs"
  check 'the link is still there' [ "$(readlink "$bundle")" = "$work/theirs" ]
  check 'and what it leads to' [ "$(contents "$work/theirs")" = './dustcap.so:theirs' ]
done
rm "$bundle"
echo file >"$bundle"
dev install
check 'install refuses a file' says 1 'is not a folder'
rm "$bundle"

# A failure in the middle: the second move of the swap
dev install
echo old >"$bundle/dustcap.so"
before=$(contents "$bundle")
stand_in mv <<'END'
[[ ${*: -2:1} != */new ]] || exit 1
PATH=${PATH#*:} exec mv "$@"
END
dev install
rm "$work/bin/mv"
check 'an install that fails leaves the old bundle' [ "$code:$(contents "$bundle")" = "1:$before" ]
check 'and nothing beside it' [ "$(ls -A "$HOME/.lv2")" = dustcap.lv2 ]

# No HOME
for home in '-u HOME' HOME=; do
  for command in install uninstall; do
    # shellcheck disable=SC2086
    run env $home "$checkout/dev" "$command"
    check "$home: $command needs DIR" says 2 "$command needs a DIR, because HOME is not set"
  done
  # shellcheck disable=SC2086
  run env $home "$checkout/dev" render in.wav
  check "$home: render works" succeeds_with in.wav
  # shellcheck disable=SC2086
  run env $home "$checkout/dev" install "$work/no home"
  check "$home: install DIR works" [ "$code" = 0 -a -f "$work/no home/dustcap.lv2/dustcap.so" ]
done
dev install ''
check 'an empty DIR is refused' says 2 'DIR is empty'

# A checkout that cannot be written.  Root can write anywhere but for a mount.
user=()
if ((EUID == 0)); then
  user=(setpriv --reuid=65534 --regid=65534 --clear-groups)
  chmod 755 "$work"
  chown -R 65534:65534 "$work"
fi
rm -rf "$checkout/build" "$HOME/.lv2"
mkdir -p "$checkout/presets-demo/setups"
touch "$checkout/presets-demo/low-tide.session.ini"
chmod a-w "$checkout"
if "${user[@]}" true 2>/dev/null; then
  run "${user[@]}" "$checkout/dev" render in.wav
  check 'a read-only checkout: render works' succeeds_with in.wav
  check 'it says where it builds' \
    grep -q "cannot write in $checkout: building in $HOME/.cache/dustcap/[0-9a-f]*\$" "$work/err"
  run "${user[@]}" "$checkout/dev" install
  check 'install works' [ "$code" = 0 -a -f "$bundle/dustcap.so" ]
  run "${user[@]}" "$checkout/dev" demo
  # The session's guitars are in ../out/di
  cache=$(echo "$HOME"/.cache/dustcap/*)
  check 'demo works' succeeds_with "$cache/presets-demo/low-tide.session.ini -o $cache/out/low-tide"
  check 'with its session beside its takes' \
    [ -f "$cache/presets-demo/low-tide.session.ini" -a -d "$cache/out/di" ]
  run "${user[@]}" env -u HOME XDG_CACHE_HOME="$work/cache" "$checkout/dev" render in.wav
  check 'without HOME it builds in XDG_CACHE_HOME' [ "$code" = 0 -a -d "$work/cache/dustcap" ]
  run "${user[@]}" env -u HOME "$checkout/dev" render in.wav
  check 'without both it says what to set' says 1 'set HOME or XDG_CACHE_HOME'
  run "${user[@]}" "$checkout/dev" format
  check 'what changes the sources is refused' says 1 'format changes the sources'
  check 'the checkout is as it was' [ "$(cd "$checkout" && echo *)" = 'dev presets-demo' ]
else
  n=$((n + 1))
  echo "ok $n - a read-only checkout # SKIP no other user to be"
fi
chmod u+w "$checkout"

# Packages
export MISSING=gcc
# answers WORD...: of apt-get, from now on
answers() {
  echo "$*" >"$work/apt.answers"
  : >"$work/apt.log"
}
answers good
dev render in.wav
check 'a missing package is installed' grep -q 'install --no-install-recommends gcc' "$work/apt.log"
answers locked good
dev render in.wav
check 'while apt is in use, it waits' succeeds_with in.wav
check 'by itself, at most so long' grep -q 'DPkg::Lock::Timeout=[1-9]' "$work/apt.log"
check 'and says so once, and for whom' [ "$(grep -c 'waiting for .* process 7 (apt)' "$work/err")" = 1 ]
answers locked locked
dev render in.wav
check 'then it gives up' [ "$code" = 1 ]
check 'in one line that says why' [ "$(grep -c 'could not install gcc: E: Unable to acquire' "$work/err")" = 1 ]
check 'and does not try to update' [ "$(grep -c update "$work/apt.log")" = 0 ]
answers half
dev render in.wav
check 'after an interrupted install it says what to do' \
  grep -q "could not install gcc: E: dpkg was interrupted, .*'dpkg --configure -a'" "$work/err"
check 'and does not try again' [ "$code:$(wc -l <"$work/apt.log")" = 1:1 ]
answers old good good
dev render in.wav
check 'old lists are updated' succeeds_with in.wav

echo "1..$n"
exit "$status"
