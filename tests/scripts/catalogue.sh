#!/bin/sh
# All that can be translated, as a GNU gettext template on standard output: what the code says (text::tr, say, id) and
# what stands in tables.
#   catalogue.sh ROOT TABLE_WORDS              the template
#   catalogue.sh ROOT TABLE_WORDS es           brings assets/languages/es.po up to it: what is new is empty there, what
#                                              reads almost as before is marked fuzzy, what is gone is taken out
set -eu
cd "$1"
export LC_ALL=C.UTF-8
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
# shellcheck disable=SC2046
xgettext --language=C++ --from-code=UTF-8 --no-wrap --keyword --keyword=tr --keyword=say --keyword=warn --keyword=id --keyword=said \
    --output="$scratch/code.po" $(find sim gui -name '*.?pp' | sort) 2> "$scratch/warnings"
"$2" > "$scratch/tables.po"
# What, rule, source and note of a margin: arguments of rows.add, one look for each.
for n in 1 6 7 9; do
    xgettext --language=C++ --from-code=UTF-8 --no-wrap --keyword --keyword=add:$n --output="$scratch/margin$n.po" sim/day/fit.cpp \
        2> "$scratch/warnings"
done
sed -i 's/charset=CHARSET/charset=UTF-8/' "$scratch/code.po" "$scratch"/margin?.po
msgcat --no-wrap --use-first "$scratch/code.po" "$scratch/tables.po" "$scratch"/margin?.po > "$scratch/all.po"
if [ $# -lt 3 ]; then
    cat "$scratch/all.po"
    exit
fi
po=assets/languages/$3.po
msgmerge --quiet --no-wrap "$po" "$scratch/all.po" | msgattrib --no-wrap --no-obsolete --no-location > "$scratch/new.po"
cat "$scratch/new.po" > "$po"
