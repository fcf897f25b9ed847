#!/bin/sh
# What a user reads: every literal of the program (taken out by xgettext), README.md, DEVELOPERS.md, the words of every
# TOML file. No sentence over 20 words (words/long.txt holds the exceptions, with reasons), none of the words of
# words/spoken.txt, and spelt as in Britain (words/trade.txt holds the trade's own words and names, sorted).
#   words_test.sh ROOT
set -eu
cd "$1"
words=tests/scripts/words
export LC_ALL=C.UTF-8
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
status=0

# The looks themselves can fail: each is given a mistake of its own kind.
plant() { printf 'planted\t%s\n' "$1" > "$scratch/planted"; }
plant "one two three four five six seven eight nine ten one two three four five six seven eight nine ten more."
! awk -v listed=/dev/null -f $words/sentences.awk "$scratch/planted" > "$scratch/log" || { echo "a long sentence is not seen"; status=1; }
plant "The controller is now safe to touch."
[ "$(awk -v table=$words/spoken.txt -f $words/spoken.awk "$scratch/planted" | wc -l)" -eq 3 ] || { echo "a word of the table is not seen"; status=1; }

LC_ALL=C sort -c -u "$words/trade.txt" || { echo "$words/trade.txt: not sorted, or a word stands there twice"; status=1; }

# shellcheck disable=SC2046
awk -f $words/pages.awk README.md DEVELOPERS.md $(find scenarios -name '*.toml' | sort) > "$scratch/said"
if command -v xgettext > /dev/null; then
    # shellcheck disable=SC2046
    xgettext --extract-all --language=C++ --from-code=UTF-8 --no-wrap --output="$scratch/po" \
        $(find sim gui -name '*.?pp' | sort) 2> "$scratch/warnings"
    awk -f $words/literals.awk "$scratch/po" >> "$scratch/said"
    [ "$(grep -c '^\(sim\|gui\)/' "$scratch/said")" -gt 4000 ] || { echo "hardly any literal was found"; status=1; }
else
    echo "xgettext is not there: the program's own words not looked at"
fi
awk -v listed=$words/long.txt -f $words/sentences.awk "$scratch/said" || status=1
awk -v table=$words/spoken.txt -f $words/spoken.awk "$scratch/said" || status=1

# Spelling: what is text, and the words of names (true-rms); not keys, options, figures with units, formulas.
if ! command -v hunspell > /dev/null || ! echo | hunspell -d en_GB > /dev/null 2>&1; then
    echo "hunspell with en_GB is not there: spelling not looked at"
    exit $status
fi
awk -F '\t' -v OFS='\t' -f $words/spelt.awk "$scratch/said" > "$scratch/spelt"
printf 'planted\tthe mispelt word\n' >> "$scratch/spelt"
cut -f 2 "$scratch/spelt" | hunspell -d en_GB -l | sort -u | grep -v -x -F -f $words/trade.txt > "$scratch/wrong" || true
grep -q '^mispelt$' "$scratch/wrong" || { echo "a wrong spelling is not seen"; status=1; }
while read -r wrong; do
    [ "$wrong" != mispelt ] || continue
    echo "$(grep -m 1 -F -w -- "$wrong" "$scratch/spelt" | cut -f 1): \"$wrong\" is not in en_GB, nor in $words/trade.txt"
    status=1
done < "$scratch/wrong"
exit $status
