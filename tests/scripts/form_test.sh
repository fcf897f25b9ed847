#!/bin/sh
# The form of the tree: laid out by clang-format 14 (other versions lay out differently), no line over 120 columns, no
# file over 500 lines, no function over 60 that functions.txt does not name.   form_test.sh ROOT
set -eu
cd "$1"
export LC_ALL=C
files=$(find sim gui tests -name '*.cpp' -o -name '*.hpp')
status=0
# shellcheck disable=SC2086
long=$(awk '{ letters = $0; gsub(/[\200-\277]/, "", letters) }  # mawk counts bytes
            length(letters) > 120 { print FILENAME ":" FNR ": over 120 columns" }
            FNR == 501 { print FILENAME ": over 500 lines" }' $files)
[ -z "$long" ] || { echo "$long"; status=1; }
# shellcheck disable=SC2046
awk -v listed=tests/scripts/functions.txt -f tests/scripts/functions.awk $(find sim gui -name '*.?pp' | sort) || status=1
# Two versions of Catch2 have other names: only the shim says them.
named=$(grep -n 'Catch::[A-Z]' $(find tests -name '*.?pp' ! -name catch_shim.hpp) || true)
[ -z "$named" ] || { echo "$named"; echo "Catch2 is named past tests/catch_shim.hpp"; status=1; }
formatter=$(command -v clang-format-14 || true)
if [ -n "$formatter" ]; then
    # shellcheck disable=SC2086
    "$formatter" --dry-run --Werror $files || status=1
else
    echo "clang-format 14 is not there: layout not looked at"
fi
exit $status
