#!/bin/sh
# Installed programs find what came with them, wherever the whole is put: sh install_test.sh BUILD-FOLDER
set -eu
build=$1
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
unset SUNSHAFT_DATA
fail() { echo "$*"; exit 1; }

cmake --install "$build" --prefix "$scratch/first" > "$scratch/log" || fail "cmake --install failed"
mv "$scratch/first" "$scratch/moved"
cd "$scratch"
for program in sunshaft sunshaft-bench; do [ -x "moved/bin/$program" ] || fail "$program is not installed"; done
moved/bin/sunshaft meters --json | grep -q "\"$scratch/moved/share/sunshaft/scenarios/meters/" || fail "it looks for meters elsewhere"
moved/bin/sunshaft modules | grep -q row-01 || fail "no module table"
moved/bin/sunshaft check hill-orchard > /dev/null || fail "no sites"

# A program in a build folder takes the tree that folder lies in, not the one it was compiled from.
mkdir -p tree/build/any
cp moved/bin/sunshaft tree/build/any/
cp -r moved/share/sunshaft/scenarios moved/share/sunshaft/assets tree/
tree/build/any/sunshaft meters --json | grep -q "\"$scratch/tree/scenarios/meters/" || fail "a moved tree is not found"
SUNSHAFT_DATA=$scratch/tree moved/bin/sunshaft meters --json | grep -q "\"$scratch/tree/scenarios/meters/" || fail "SUNSHAFT_DATA is not heard"
