#!/bin/sh
# The catalogues of other languages, each: nothing missing, guessed or left over; the same figures in each sentence; no
# sentence over 25 words; spelling; and in what the program says of the verbs a catalogue calls complete no English.
#   languages_test.sh ROOT TABLE_WORDS PROGRAM
set -eu
root=$1 tables=$2 program=$3
cd "$root"
words=tests/scripts/words
export LC_ALL=C.UTF-8
for tool in xgettext msgcmp msgattrib; do
    command -v $tool > /dev/null || { echo "$tool is not there: catalogues not looked at"; exit 0; }
done
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
status=0
fail() { echo "$1"; status=1; }

# The looks themselves can fail: each is given a mistake of its own kind.
printf 'msgid "a {} of {}"\nmsgstr "un {1} de {0:.1f}"\n' > "$scratch/planted"
! awk -f $words/holes.awk "$scratch/planted" > /dev/null || fail "other figures are not seen"
printf 'msgid "a {} of {:.1f}"\nmsgstr "un {1:.1f} de {0}"\n' > "$scratch/planted"
awk -f $words/holes.awk "$scratch/planted" > /dev/null || fail "figures in another order are taken for others"
printf 'msgid "cover the array, {} V"\nmsgstr "cubra el campo, {} V"\n' | awk -f $words/fragments.awk | grep -q '^cover the array,$' ||
    fail "English is not looked for"

sh tests/scripts/catalogue.sh . "$tables" > "$scratch/all.po"
[ "$(grep -c '^msgid' "$scratch/all.po")" -gt 1200 ] || fail "hardly any sentence was found"

# English that shows through: pieces of the catalogue, and words no Spanish sentence has. What is typed stays English.
through() {
    sed 's/\xc2\xa0/ /g; s/{[^{}]*}//g; s/sunshaft [a-z].*//; s/`[^`]*`//g; s/"[^"]*"//g; s/--[a-z-]*//g; s/[a-z]*-[a-z-]*//g' "$2" > "$scratch/sentences"
    grep -F -f "$scratch/english" "$scratch/sentences" > "$scratch/seen" || true
    grep -w -i -E 'the|and|with|of|from|without|which|is|are|not|at|it' "$scratch/sentences" >> "$scratch/seen" || true
    [ ! -s "$scratch/seen" ] || { fail "$1: English:"; head -5 "$scratch/seen"; }
}

for po in assets/languages/*.po; do
    language=$(basename "$po" .po)
    msgfmt --check-header --check-format --output=/dev/null "$po" || status=1
    msgcmp "$po" "$scratch/all.po" > "$scratch/missing" 2>&1 || { grep -v '^msgcmp: found' "$scratch/missing" | head -20; fail "$po: not complete"; }
    [ -z "$(msgattrib --only-fuzzy "$po")" ] || fail "$po: guesses nobody has looked at (fuzzy)"
    [ -z "$(msgattrib --only-obsolete "$po")" ] || fail "$po: sentences that are gone; run tests/scripts/catalogue.sh"
    msgcat --no-wrap --use-first "$po" "$scratch/all.po" | msgattrib --no-wrap --no-obsolete > "$scratch/full.po"
    [ "$(grep -c '^msgid' "$po")" -eq "$(grep -c '^msgid' "$scratch/all.po")" ] || {
        fail "$po: sentences that nobody says:"
        grep '^msgid' "$po" | sort > "$scratch/has"
        grep '^msgid' "$scratch/all.po" | sort | comm -23 "$scratch/has" - | head -20
    }
    awk -f $words/holes.awk "$scratch/full.po" || fail "$po: see above"
    sed -n 's/^msgstr "\(..*\)"$/\1/p' "$scratch/full.po" | sed 's/\\"/"/g; s/{[^{}]*}/0/g' > "$scratch/said"
    awk -v po="$po" '{ n = split($0, line, /\\n/); for (i = 1; i <= n; ++i) print po "\t" line[i] }' "$scratch/said" > "$scratch/told"
    awk -v most=25 -v listed=/dev/null -f $words/sentences.awk "$scratch/told" || status=1
    if [ -f "$words/trade.$language.txt" ] && echo | hunspell -d "${language}_ES" > /dev/null 2>&1; then
        LC_ALL=C sort -c -u "$words/trade.$language.txt" || fail "$words/trade.$language.txt: not sorted"
        cut -f 2 "$scratch/told" | sed 's/`[^`]*`//g; s/--[a-z-]*//g; s/[A-Za-z_0-9]*[._@=][A-Za-z_0-9@=+][A-Za-z_0-9.@=+:-]*/ /g; s/sunshaft [a-z].*//' |
            hunspell -i utf-8 -d "${language}_ES" -l | sort -u | grep -v -x -F -f "$words/trade.$language.txt" > "$scratch/wrong" || true
        [ ! -s "$scratch/wrong" ] || { fail "$po: not spelt so, nor in $words/trade.$language.txt:"; tr '\n' ' ' < "$scratch/wrong"; echo; }
    else
        echo "hunspell has no $language: spelling not looked at"
    fi

    awk -f $words/fragments.awk "$scratch/full.po" | sort -u > "$scratch/english"
    complete=$(sed -n 's/^"X-Complete: \(.*\)\\n"$/\1/p' "$po")
    said() { "$program" "$@" --language "$language" > "$scratch/out" 2>&1 || true; through "sunshaft $*" "$scratch/out"; }
    said_to() {
        stdin=$1
        shift
        printf "$stdin" | "$program" "$@" --language "$language" > "$scratch/out" 2>&1 || true
        through "sunshaft $*" "$scratch/out"
    }
    # What is said, and the words of the picture or page that the last argument names.
    drawn() {
        said "$@"
        for page in "$@"; do :; done
        if pdftotext -layout "$page" "$scratch/out" 2> /dev/null; then through "$(basename "$page")" "$scratch/out"; fi
    }
    # Readings of a bench rig, as somebody types them; what is known of sites is kept in a folder of its own.
    export XDG_CACHE_HOME="$scratch/cache"
    case=$scratch/case-$language.toml
    said case --file "$case" new --site bench-rig --intake "empalme nuevo en mayo" --intake "zumba"
    said case --file "$case" add u "8,73"
    said case --file "$case" add sound "zumbido constante, no se oye la bomba"
    said case --file "$case" add u-v "unos 230 voltios"
    head -n 100 tests/data/typical_year.csv > "$scratch/days.csv"
    said --help
    said nothing
    for verb in $complete; do
        [ "$verb" = bench ] || said "$verb" --help
        ! grep -E '^(Usage|Options|Subcommands|Positionals):' "$scratch/out" || fail "$verb --help: an English heading"
        case $verb in
            acts | points) for site in hill-orchard stone-fold bench-rig; do said "$verb" $site; done ;;
            tests) said tests; said tests stone-fold ;;
            listen) said listen hill-orchard; said listen hill-orchard --fault lost-phase@splice.v=1 --at 5 --ear drive ;;
            fit) said fit hill-orchard --suggest; said fit river-meadow ;;
            faults)
                said faults
                said faults "$(sed -n '/^msgid "cable and splice"/{n;s/^msgstr "\(.*\)"/\1/p}' "$scratch/full.po")"
                said faults --markdown
                ;;
            read)
                said read hill-orchard --red drive.u --black drive.v
                said read hill-orchard --red drive.u --black drive.v --meter true-rms --at 0.5 --watch 4
                said read bench-rig --around u --mode inrush
                said read hill-orchard --red water
                said read hill-orchard --red sound
                said read hill-orchard --test winding-ohms
                said read hill-orchard --red link+ --black link- --do open@isolator@6
                said read terrace-pwm --red drive.u --black drive.v --mode hz
                said read hill-orchard --red drive.u --black drive.v --mode ohm
                said read hill-orchard --red drive.u --black drive.v --do pull@pump@4
                said read hill-orchard --red lead.u --black lead.v --mode ohm --do open@isolator --do pull@pump
                ;;
            sheet)
                said sheet hill-orchard --at 15:00 --sky changing
                "$program" sheet bench-rig --out "$scratch/sheet.html" --language "$language" > "$scratch/log" 2>&1 || fail "sheet: $(cat "$scratch/log")"
                sed 's/<[^>]*>/ /g; /<style>/d' "$scratch/sheet.html" > "$scratch/out"
                through "sheet.html" "$scratch/out"
                ;;
            report)
                "$program" report stone-fold --weather "$scratch/days.csv" --out "$scratch/report.html" --language "$language" > "$scratch/log" 2>&1 || fail "report: $(cat "$scratch/log")"
                sed 's/<[^>]*>/ /g; /<style>/d' "$scratch/report.html" > "$scratch/out"
                through "report.html" "$scratch/out"
                ;;
            suspects) said suspects "$case" ;;
            case)
                said case --file "$case" add w "10,01 A"
                said case --file "$case" tried string-fuse-blown@fuse.s1 "sigue igual"
                said case --file "$case" undo
                said case --file "$case"
                "$program" case report --file "$case" --out "$scratch/case.html" --language "$language" > "$scratch/log" 2>&1 || fail "case report: $(cat "$scratch/log")"
                sed 's/<[^>]*>/ /g; /<style>/d' "$scratch/case.html" > "$scratch/out"
                through "case.html" "$scratch/out"
                ;;
            lesson)
                said lesson list
                said lesson plan half-reading
                said_to '1\n2\n3\n1\n1\n1\n1\n' lesson case 2 --level own
                said_to '\n230\n1\n\n1\n\n230\n2\n230\n2\n230\n2\n\n' lesson one-wave-two-meters --progress none
                ;;
            worksheet)
                "$program" worksheet half-reading --out "$scratch/half.pdf" --language "$language" > "$scratch/out" 2>&1 || fail "worksheet: $(cat "$scratch/out")"
                through "sunshaft worksheet" "$scratch/out"
                if pdftotext "$scratch/half.pdf" "$scratch/out" 2> /dev/null; then through half.pdf "$scratch/out"; fi
                if pdftotext "$scratch/half-answers.pdf" "$scratch/out" 2> /dev/null; then through half-answers.pdf "$scratch/out"; fi
                ;;
            callout)
                rm -f "$scratch/barn.call"
                said callout new bench-rig --seed 5 --out "$scratch/barn.call"
                said_to 'help\nlook\nread drive.u drive.v acv\nclamp u\ndo open@isolator\ndo pull@pump\nwait 5\nnotes\nnonsense\nleave\n' callout play "$scratch/barn.call" --no-journal
                ;;
            my-meter)
                said my-meter --waves "$scratch/waves"
                printf 'counts, 6000\nsine-50, 0.200\nsine-200, 0.200\nsine-500, 0.199\nsine-1000, 0.195\nsquare, 0.222\n' > "$scratch/seen.csv"
                said my-meter --seen "$scratch/seen.csv"
                ;;
            run)
                said run hill-orchard --for 0.05 --events
                said run hill-orchard --for 0.001 --out wave.doc --signals around.u
                said run hill-orchard --for 0.001 --out wave.csv
                said run hill-orchard --for 0.001 --signals around.nothing
                ;;
            day)
                said day hill-orchard
                said day hill-orchard --sky hazy --fault capacitor-dried-out
                said day stone-fold --weather "$scratch/days.csv"
                said day hill-orchard --tests
                said day hill-orchard --compare soiled-array --compare string-earth-fault@s1.m3-=0 --compare float-stuck-down
                said day hill-orchard --date tomorrow
                drawn day hill-orchard --fault soiled-array --out "$scratch/day.pdf"
                drawn day hill-orchard --compare string-earth-fault@s1.m3-=0 --out "$scratch/cost.pdf"
                ;;
            check)
                said check hill-orchard
                said check nowhere
                said check hill-orchard --set drive.dead_time_s=-1
                said check hill-orchard --set well.pump_depth_m=900
                said check hill-orchard --set array.mount=double-axis
                said check hill-orchard --set array.modul=row-01
                printf '[array]\nstrings = "two"\n' > "$scratch/wrong.toml"
                said check "$scratch/wrong.toml"
                printf '[[fault]]\nkind = 3\n' > "$scratch/wrong.toml"
                said check "$scratch/wrong.toml"
                ;;
            keys) said keys; said keys nothing ;;
            meters) said meters; said meters true-rms; said meters clamp-hall; said meters --keys; said meters nothing ;;
            modules) said modules ;;
            proof)  # a source stands there as it was published
                "$program" proof --language "$language" | grep -v '^      ' > "$scratch/out"
                through "sunshaft proof" "$scratch/out"
                ;;
            analyse)
                "$program" run bench-rig --for 0.2 --signals drive.u:drive.v,drive.v:drive.w,drive.w:drive.u --out "$scratch/scope.csv" 2> "$scratch/log"
                said analyse "$scratch/scope.csv"
                said analyse hill-orchard --for 0.1
                said analyse terrace-pwm --set supply.kind=array --for 0.05
                said analyse "$scratch/scope.csv" --set sun.irradiance_W_m2=500
                drawn analyse "$scratch/scope.csv" --out "$scratch/spectra.pdf"
                ;;
            compare)
                "$program" run bench-rig --for 0.2 --signals drive.u:drive.v,around.u --out "$scratch/seen.csv" 2> "$scratch/log"
                said compare "$scratch/seen.csv" bench-rig
                said compare "$scratch/seen.csv" bench-rig --as CH9=around.u
                said compare "$scratch/days.csv" bench-rig
                drawn compare "$scratch/seen.csv" bench-rig --out "$scratch/over.pdf"
                ;;
            class)
                for word in merge prepare show export overrule; do said class $word --help; done
                rm -f "$scratch/stick.journal"
                "$program" callout new bench-rig --seed 3 --out "$scratch/a.toml" > "$scratch/log"
                printf 'look\nclamp u\nsay health\nleave\n' |
                    "$program" callout play "$scratch/a.toml" --who Ana --journal "$scratch/stick.journal" --language "$language" > "$scratch/log" 2>&1 || true
                said class merge "$scratch/stick.journal" --into "$scratch/class.sqlite"
                said class show "$scratch/class.sqlite"
                said class show "$scratch/nowhere.sqlite"
                said class export "$scratch/class.sqlite"
                drawn class export "$scratch/class.sqlite" --pdf "$scratch/class.pdf"
                drawn class export "$scratch/class.sqlite" --learner Ana --pdf "$scratch/ana.pdf"
                ;;
            bench) ;;  # the window: tests/gui, tests/views
            *) fail "$po calls $verb complete: say here how it is looked at" ;;
        esac
    done
done

# Another language is one file, put where the data lie.
mkdir -p "$scratch/data/assets/languages"
ln -s "$root/scenarios" "$scratch/data/scenarios"
ln -s "$root/assets/modules.csv" "$scratch/data/assets/modules.csv"
printf 'msgid ""\nmsgstr ""\n"X-Decimal: ;\\n"\n"X-Complete: tests\\n"\n\nmsgid "winding ohms"\nmsgstr "A"\n\nmsgid "dip meter"\nmsgstr ""\n\nmsgid "water level in the bore"\nmsgstr "B C"\n' \
    > "$scratch/data/assets/languages/xx.po"
SUNSHAFT_DATA="$scratch/data" "$program" tests stone-fold --language xx > "$scratch/out" 2>&1 || fail "a third language is not taken"
grep -q '  dip  *10 min  B C$' "$scratch/out" || fail "a third language is not spoken"
# What is typed in it is understood, whatever is spoken.
printf '\nmsgid "heard: no water"\nmsgstr "zzz|drup"\n' >> "$scratch/data/assets/languages/xx.po"
printf 'site = "stone-fold"\n' > "$scratch/third.toml"
SUNSHAFT_DATA="$scratch/data" "$program" case --file "$scratch/third.toml" add flow "zzz" > "$scratch/out" 2>&1 || fail "a case is not kept: $(cat "$scratch/out")"
grep -q '  flow: 0 ' "$scratch/out" || fail "a third language is not understood: $(cat "$scratch/out")"

# What is not complete speaks English, and says so; JSON is the same in every language; a figure's mark is the language's.
SUNSHAFT_DATA="$scratch/data" "$program" keys --language xx > "$scratch/out" 2> "$scratch/log"
grep -q 'in English' "$scratch/log" || fail "a verb that is not translated does not say so"
same() { cmp "$scratch/es.$1" "$scratch/en.$1" || fail "$2: another $1 in Spanish"; }
for words in "acts stone-fold" "check stone-fold" "keys drive" "meters true-rms" "day hill-orchard" "day hill-orchard --tests" \
    "fit hill-orchard" "analyse bench-rig --for 0.05" "proof"; do
    # shellcheck disable=SC2086
    "$program" $words --json --language es > "$scratch/es.json" || true
    # shellcheck disable=SC2086
    "$program" $words --json > "$scratch/en.json" || true
    same json "$words"
done
"$program" day hill-orchard --fault soiled-array --out "$scratch/es.csv" --language es > "$scratch/out"
"$program" day hill-orchard --fault soiled-array --out "$scratch/en.csv" > "$scratch/out"
same csv day
env -u LC_ALL LANGUAGE=es LANG= "$program" read bench-rig --red dc+ --black dc- > "$scratch/out" 2>&1
grep -q '313,7 a 326,3 V' "$scratch/out" || fail "LANGUAGE=es on a machine without locales: no decimal comma"
! "$program" read bench-rig --red dc+ --black dc- --language xx > "$scratch/out" 2>&1 || fail "a language nobody has is taken"
exit $status
