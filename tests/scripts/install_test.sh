#!/bin/sh
# Installed programs find what came with them, wherever the whole is put: sh install_test.sh BUILD-FOLDER
set -eu
build=$1
tree=$(cd "$(dirname "$0")/../.." && pwd)
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
moved/bin/sunshaft tests stone-fold --language es | grep -q "nivel del agua en el pozo" || fail "no Spanish"
moved/bin/sunshaft check hill-orchard > /dev/null || fail "no sites"

# A program in a build folder takes the tree that folder lies in, not the one it was compiled from.
mkdir -p tree/build/any
cp moved/bin/sunshaft tree/build/any/
cp -r moved/share/sunshaft/scenarios moved/share/sunshaft/assets tree/
tree/build/any/sunshaft meters --json | grep -q "\"$scratch/tree/scenarios/meters/" || fail "a moved tree is not found"
SUNSHAFT_DATA=$scratch/tree moved/bin/sunshaft meters --json | grep -q "\"$scratch/tree/scenarios/meters/" || fail "SUNSHAFT_DATA is not heard"

# The manual says what the program says.
page=moved/share/man/man1/sunshaft.1
for verb in $(moved/bin/sunshaft --help | sed -n '/^Subcommands:/,/^$/s/^  \([a-z-]*\)  .*/\1/p'); do
    grep -q "^.SH $verb$" $page || fail "the manual page has no word on $verb"
done
grep -q '^.SS case report$' $page || fail "the manual page has no word on what belongs to a verb"
[ -f moved/share/man/man1/sunshaft-bench.1 ] || fail "no manual page of the window"

# A folder that travels: all but the C library comes with it, wherever it is put.
logs=$scratch
say() { echo "$*"; }
. "$tree/gui/folder.sh"
make_folder "$build" "$scratch/folder" > "$scratch/log" || fail "no folder was made"
mkdir "any place"
mv folder "any place/stick"
"any place/stick/bin/sunshaft" check hill-orchard > /dev/null || fail "the folder does not run where it is"
# Its own fonts are enough, where nothing else is set up for any.
FONTCONFIG_PATH=/nowhere FONTCONFIG_FILE=/nowhere/fonts.conf HOME=/nowhere "any place/stick/bin/sunshaft" run bench-rig \
    --for 0.05 --signals link_V --out plot.pdf > log 2>&1 || fail "no plot where no fonts are set up"
! grep -i fontconfig log || fail "it complains of fonts"
foreign=$(ldd "any place/stick/bin/sunshaft" | sed -n 's/.* => \(\/.*\) (0x.*/\1/p' | grep -v "/stick/" |
    grep -Ev '/lib(c|m)\.so' || true)
[ -z "$foreign" ] || fail "the folder lacks $foreign"
[ "$(du -sm "any place/stick" | cut -f1)" -lt 150 ] || fail "the folder is larger than 150 MB"
