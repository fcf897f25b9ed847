#!/bin/sh
# A .deb on a bare Debian: installed, it runs; removed, nothing of it stays. As root, in a root of its own, away from
# the tree and what it was built in: sh package_test.sh FILE.deb
#   debootstrap --variant=minbase bookworm ROOT; cp FILE.deb tests/scripts/package_test.sh ROOT/root
#   chroot ROOT sh -c 'cd /root && sh package_test.sh ./FILE.deb'
set -eu
package=$(readlink -f "$1")
fail() { echo "$*"; exit 1; }
[ "$(id -u)" -eq 0 ] || fail "expected root, in a root that may be spoilt"
! dpkg-query -s sunshaft > /dev/null 2>&1 || fail "sunshaft is installed here already"
export DEBIAN_FRONTEND=noninteractive LC_ALL=C.UTF-8
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cd "$scratch"
said() { "$@" > log 2>&1 || { cat log; fail "$*: failed"; }; }

said apt-get update
said apt-get install -y --no-install-recommends man-db "$package"
files=$(dpkg -L sunshaft)

sunshaft read hill-orchard --red lead.u --black lead.v > log 2>&1 || fail "no reading"
grep -q '  shows  *[0-9.]* V$' log || fail "no reading: $(cat log)"
sunshaft sheet hill-orchard > log || fail "no sheet"
sunshaft tests stone-fold --language es > log || fail "no tests"
grep -q "nivel del agua en el pozo" log || fail "no Spanish"
sunshaft day hill-orchard --out day.pdf > log || fail "no day drawn"
[ -s day.pdf ] || fail "no day drawn"
sunshaft-bench > log 2>&1 || fail "without a display the window says no readings"
for program in sunshaft sunshaft-bench; do
    [ "$(man -w $program)" = /usr/share/man/man1/sunshaft.1 ] || [ "$(man -w $program)" = /usr/share/man/man1/sunshaft.1.gz ] ||
        fail "no manual page of $program"
    ! ldd "$(command -v $program)" | grep "not found" || fail "$program lacks libraries"
done
[ -f /usr/share/applications/sunshaft.desktop ] || fail "no entry for a desktop"
[ -f /usr/share/icons/hicolor/scalable/apps/sunshaft.svg ] || fail "no icon"
dpkg -V sunshaft || fail "what is installed is not what was packed"

said apt-get purge -y sunshaft
for file in $files; do
    case $file in
        *sunshaft*) [ ! -e "$file" ] || fail "$file stays" ;;
    esac
done
# Pages that man has formatted are its own.
left=$(find / -xdev \( -path /proc -o -path /dev -o -path /sys -o -path /root -o -path /var/cache/man -o -path /var/log \) \
    -prune -o -name '*sunshaft*' ! -path "$package" -print)
[ -z "$left" ] || fail "there stays: $left"
echo "installed, run, removed"
