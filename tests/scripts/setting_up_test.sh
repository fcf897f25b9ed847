#!/bin/sh
# What a newcomer sees of gui/setting-up.sh, with stand-ins for the tools it calls: sh setting_up_test.sh TREE
set -eu
tree=$1
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cd "$scratch"
mkdir -p bin tree/gui
cp "$tree/gui/setting-up.sh" tree/gui/
failed=0

tool() { printf '#!/bin/sh\n%s\n' "$2" > "bin/$1" && chmod +x "bin/$1"; }
bare() {  # only these stand-ins and the plainest tools: no sudo of this machine
    for name in sh grep sed tail head cat mkdir rm mv mktemp basename printf env kill tr ls wc; do
        [ -e "bin/$name" ] || ln -s "$(command -v "$name")" "bin/$name"
    done
}
act() { (cd tree && PATH="$scratch/bin" sh -eu -c ". ./gui/setting-up.sh; need_build_folder; $1") > said 2>&1 < /dev/null; }
holds() { grep -q -- "$1" said || { echo "expected \"$1\" in:"; cat said; failed=1; }; }
lacks() { ! grep -q -- "$1" said || { echo "not expected \"$1\" in:"; cat said; failed=1; }; }
lines() { [ "$(wc -l < said)" -le "$1" ] || { echo "expected at most $1 lines, not:"; cat said; failed=1; }; }
fails() { if act "$1"; then echo "should have failed: $1"; cat said; failed=1; fi; }
works() { act "$1" || { echo "failed: $1"; cat said; failed=1; }; }

# A clock of its own, on which half a second takes a hundredth of one: both the script's naps and its figures follow it.
echo 0 > clock
real_sleep=$(command -v sleep)
tool date 'read -r half < "'"$scratch"'/clock"; echo $((half / 2))'
tool sleep '"'"$real_sleep"'" 0.01; read -r half < "'"$scratch"'/clock"; echo $((half + 1)) > "'"$scratch"'/clock.new"; mv "'"$scratch"'/clock.new" "'"$scratch"'/clock"'

bare
tool id 'case "$1" in -u) echo 1000 ;; *) echo somebody ;; esac'
tool dpkg-query 'exit 1'

# Not root and no sudo: what is missing and what to do, nothing else.
fails 'need_packages g++ cmake'
holds 'Missing packages: g++ cmake'
holds 'apt-get update && apt-get install -y --no-install-recommends g++ cmake'
lacks 'not found'
lines 4

# A sudo that would ask where nobody can answer is no sudo.
tool sudo 'exit 1'
fails 'need_packages g++'
holds 'apt-get install'

# Root without a network: a few lines and not hundreds; the rest in the log.
tool id 'case "$1" in -u) echo 0 ;; *) echo root ;; esac'
tool apt-get 'case "$1" in update) n=0; while [ $n -lt 200 ]; do echo "Err:$n http://x  Could not resolve"; echo "W: Failed to fetch $n"; n=$((n + 1)); done ;; *) exit 100 ;; esac'
fails 'need_packages g++'
holds 'up to 900 MB on the disk'
holds 'Is there a network?'
lines 8
[ "$(wc -l < tree/build/log/packages.txt)" -eq 400 ] || { echo "the log is not whole"; failed=1; }

# With one: what is installed, and a line at least every ten seconds.
tool apt-get 'case "$*" in update) echo "Hit:1 x" ;; *-s*) echo "Inst a"; echo "Inst b" ;; *) echo "Get:1 x"; until=$(($(date +%s) + 9)); while [ "$(date +%s)" -lt $until ]; do "'"$real_sleep"'" 0.01; done; echo "Unpacking a"; echo "Setting up a" ;; esac'
works 'need_packages g++'
holds 'packages: 1 of 2 fetched, 0 unpacked, 0 ready, [89] s'
holds 'packages: 2 installed'
lines 6

# A build folder made for another place is made anew, one made for this place is not; what fails is shown.
tool cmake 'case "$1" in -S) mkdir -p "$4"; echo "CMAKE_HOME_DIRECTORY:INTERNAL=$PWD" > "$4/CMakeCache.txt" ;; --build) echo "[1/2] a"; echo "FAILED: b"; echo "b.cpp:1: no"; exit 1 ;; esac'
mkdir -p tree/build/x
echo "CMAKE_HOME_DIRECTORY:INTERNAL=/somewhere/else" > tree/build/x/CMakeCache.txt
echo old > tree/build/x/left
fails 'build build/x all'
holds 'was built for /somewhere/else: building anew'
holds 'b.cpp:1: no'
[ ! -e tree/build/x/left ] || { echo "the stale folder stayed"; failed=1; }
echo own > tree/build/x/left
fails 'build build/x all'
lacks 'building anew'
[ -e tree/build/x/left ] || { echo "the folder's own work went"; failed=1; }

# Logs of others are in nobody's way: nothing of it lies in the temporary folder.
! grep -n 'TMPDIR\|/tmp' "$tree/gui/setting-up.sh" "$tree/gui/run.sh" "$tree/tests/run.sh" || failed=1
exit $failed
