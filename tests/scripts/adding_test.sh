#!/bin/sh
# What DEVELOPERS.md says under "How to add", done: each thing is added where it says, in a copy, and has to work at once.
# A row of data is added in a copy of scenarios/. Code is added in copies of its files. They lie in an overlay that is
# looked through before sim/. Rooms are compiled some files at a time: the units that hold a changed file are compiled
# with it, and linked before the house's own libraries, so that nothing else is touched.
#   adding_test.sh TREE BUILD-FOLDER
set -eu
tree=$1 build=$2
program=$build/sim/sunshaft
# In the build folder, always the same: a compiler cache then knows what was added the last time.
scratch=$build/adding
rm -rf "$scratch"
mkdir "$scratch"
trap 'rm -rf "$scratch"' EXIT
export SUNSHAFT_CACHE="$scratch/cache"
failed=0
cached=$(command -v ccache || true)

fail() { echo "$*"; failed=1; }
# says WHAT PATTERN COMMAND...: the command's output has a line like the pattern.
says() {
    what=$1 pattern=$2
    shift 2
    "$@" > "$scratch/said" 2>&1 || true
    grep -q -- "$pattern" "$scratch/said" || { fail "$what: expected \"$pattern\" of: $*"; tail -n 5 "$scratch/said" | cut -c 1-300; }
}

# --- code: how it is added
over='' objects=''  # the overlay, what was compiled of it
overlay() { over=$scratch/$1 objects=''; mkdir -p "$over"; }
# A file of the overlay; as it stands in the tree, until it is changed.
changed() {
    mkdir -p "$over/$(dirname "$1")"
    [ -f "$over/$1" ] || cp "$tree/sim/$1" "$over/$1"
}
# after FILE PATTERN LINE: puts a line in after the first one that has the pattern.
after() {
    changed "$1"
    awk -v pattern="$2" -v line="$3" '{ print } !done && index($0, pattern) { print line; done = 1 }
                                      END { exit !done }' "$over/$1" > "$scratch/awked" || fail "$1: has no line with: $2"
    mv "$scratch/awked" "$over/$1"
}
# instead FILE SED-SCRIPT: has to change something.
instead() {
    changed "$1"
    sed "$2" "$over/$1" > "$scratch/sedded"
    ! cmp -s "$scratch/sedded" "$over/$1" || fail "$1: nothing is like $2"
    mv "$scratch/sedded" "$over/$1"
}
# unit FILE: what the house compiles the file in: a unit of its room, or itself.
unit() { grep -ls "\"$tree/sim/$1\"" "$build/sim/CMakeFiles/sunshaft_${1%%/*}.dir/Unity/"*.cxx || echo "$tree/sim/$1"; }
# how OBJECT: the house's command for it.
how() { ninja -C "$build" -t commands "$1" | grep -- " -o $1 " | tail -n 1; }
# units MAIN FILE...: compiles the units that hold these files, with what the overlay has in the place of theirs; MAIN, if
# any, with the first of them. Units of different rooms are compiled as one, which costs their headers once: names are
# told apart within a room. Without optimising, and so without the house's read headers.
units() {
    main=$1 flags=''
    shift
    for file in "$@"; do unit "$file"; done | sort -u > "$over/units"
    while read -r source; do
        room=${source#"$build/sim/CMakeFiles/sunshaft_"}
        case $source in
            "$build"/*) room=${room%%.dir/*} object=${source#"$build/"}.o ;;
            *) room=${source#"$tree/sim/"} object=sim/CMakeFiles/sunshaft_${room%%/*}.dir/$room.o room=${room%%/*} ;;
        esac
        flags="$flags $(how "$object" | grep -oE -- ' (-D[^ ]+|-I[^ ]+|-isystem [^ ]+|-std=[^ ]+|-f[^ ]+|-pthread)' | tr '\n' ' ')"
        case $source in "$build"/*) cat "$source" ;; *) echo "#include \"$source\"" ;; esac > "$over/lines"
        n=0
        while grep -qs "^// $room$" "$over/together_$n.cpp"; do n=$((n + 1)); done
        { echo "// $room"; cat "$over/lines"; } >> "$over/together_$n.cpp"
    done < "$over/units"
    [ -z "$main" ] || echo "#include \"$main\"" >> "$over/together_0.cpp"
    flags=$(echo "$flags" | grep -oE -- '(-isystem )?[^ ]+' | awk '!had[$0]++' | tr '\n' ' ')
    for file in $(cd "$over" && find . -name '*.cpp' -path './*/*' | sed 's#^\./##'); do
        sed -i "s#\"$tree/sim/$file\"#\"$over/$file\"#" "$over"/together_*.cpp
    done
    for source in "$over"/together_*.cpp; do
        # shellcheck disable=SC2086
        (cd "$build" && $cached c++ -I"$over" $flags -w -O0 -o "${source%.cpp}.o" -c "$source") 2> "$scratch/said" ||
            { fail "$source: does not compile"; head -n 8 "$scratch/said" | cut -c 1-300; }
        objects="$objects ${source%.cpp}.o"
    done
}
# compile TARGET SOURCE: a file of a program, as the house compiles that program's.
compile() {
    out=$scratch/$(basename "$2").o
    command=$(ninja -C "$build" -t commands "$1" | grep -- " -o [^ ]*CMakeFiles/$1\.dir/" | grep -v cmake_pch.hxx.gch | tail -n 1 |
        sed "s# -MD # #; s# -MT [^ ]*##; s# -MF [^ ]*##; s# -o [^ ]* -c .*# -o $out -c $2#")
    [ -n "$command" ] || fail "$1: is not built by this house"
    (cd "$build" && sh -c "$command") || fail "$2: does not compile"
    objects="$objects $out"
}
# link TARGET FUNCTION OUT: as the house links it, the new objects first. Of its own objects the one that has the function
# makes way: of what both have the new one counts.
link() {
    command=$(ninja -C "$build" -t commands "$1" | tail -n 1 | sed "s# -o [^ ]*/$1 # -o $3 $objects #")
    for own in $(echo "$command" | grep -oE "[^ ]*CMakeFiles/$1\.dir/[^ ]*\.o"); do
        nm -C --defined-only "$build/$own" | grep -q " T $2" || continue
        objcopy --weaken "$build/$own" "$scratch/$(basename "$own")"
        command=$(echo "$command" | sed "s# $own # $scratch/$(basename "$own") #")
    done
    (cd "$build" && sh -c "$command") || fail "$1: does not link with what was added"
}

# --- data
cp -r "$tree/scenarios" "$tree/assets" "$scratch/"
data() { SUNSHAFT_DATA=$scratch "$program" "$@"; }

sed 's/^name = .*/name = "an added meter"/' "$tree/scenarios/meters/true-rms.toml" > "$scratch/scenarios/meters/added.toml"
says "a meter" "added  *an added meter" data meters
says "a meter" "an added meter" data read bench-rig --red drive.u --black drive.v --meter added

sed 's/^name = .*/name = "Added Farm"/' "$tree/scenarios/hill-orchard.toml" > "$scratch/scenarios/added-farm.toml"
says "a site" "Added Farm is in order" data check added-farm

cat >> "$scratch/scenarios/lessons/beliefs.toml" << 'END'
[[belief]]
id = "added-belief"
says = "A bad path passes most of it on."
predicts = "0.8 * array"
refuted = "What passes depends on the meter that looks."
lesson = "added-lesson"
END
sed 's/"meter-divides"\]/"meter-divides", "added-belief"]/; s/^believes = \[/&"added-belief", /' \
    "$tree/scenarios/lessons/half-reading.toml" > "$scratch/scenarios/lessons/added-lesson.toml"
says "a lesson" "added-lesson" data lesson list
data lesson check "$scratch/scenarios/lessons/added-lesson.toml" > "$scratch/said" 2>&1 ||
    { fail "a lesson, a belief: it does not pass its check"; tail -n 5 "$scratch/said" | cut -c 1-300; }
sed -i '/^id = "added-belief"/,$s/^refuted.*//' "$scratch/scenarios/lessons/beliefs.toml"
! data lesson check "$scratch/scenarios/lessons/added-lesson.toml" > "$scratch/said" 2>&1 ||
    fail "a belief: one that nothing refutes passes"

# --- a sentence: said in a source file, looked at by the test of words
mkdir "$scratch/words"
(cd "$tree" && cp -r sim gui tests README.md DEVELOPERS.md scenarios "$scratch/words/")
echo 'inline const char* added() { return "The controler is simply bad."; }' >> "$scratch/words/sim/text/words.hpp"
sh "$tree/tests/scripts/words_test.sh" "$scratch/words" > "$scratch/looked" 2>&1 || true
says "a sentence" 'words.hpp:[0-9]*: " simply ": leave it out' cat "$scratch/looked"
! command -v hunspell > /dev/null || says "a sentence" '"controler" is not in en_GB' cat "$scratch/looked"

# --- a motor: its header, its name among the motors, its keys; the driver and the kinds of motor.kind follow
overlay machine
sed 's/SynchronousReluctance/Added/g; s/"synchronous-reluctance"/"added-motor"/' \
    "$tree/sim/motor/synchronous_reluctance.hpp" > "$scratch/added.hpp"
mkdir "$over/motor"
mv "$scratch/added.hpp" "$over/motor/added.hpp"
instead site/works.hpp 's/^using Motor = std::variant<.*motor::SynchronousReluctance/&, motor::Added/
                        s/#include "motor\/synchronous_reluctance.hpp"/&\n#include "motor\/added.hpp"/'
after site/works.cpp 'void read(const MotorKeys& m, motor::SynchronousReluctance& machine) {' '    machine.Ld = m.d_inductance_H;
    machine.Lq = m.q_inductance_H;
}
void read(const MotorKeys& m, motor::Added& machine) {'

# --- a key: its member and its row; loading, --set and the list follow
instead site/scenario.hpp 's/^\( *\)double use_m3_h = /\1double added_m = 3.0;\n&/'
after site/keys_table.cpp '{KEY(tank.fill)' '        {KEY(tank.added_m), "m", from(0, 9), "an added key"},'

cat > "$over/main.cpp" << 'END'
#include <cstdio>
#include "plant/run.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "text/figure.hpp"
int main(int, char** argv) {
    namespace site = sunshaft::site;
    try {
        for (const site::Key& key : site::keys())
            if (key.path == "tank.added_m") std::printf("%s\n", std::string(key.meaning).c_str());
        sunshaft::Scenario s = site::load_scenario(argv[1]);
        std::printf("loaded %g\n", s.tank.added_m);
        for (char** set = argv + 2; *set; ++set) site::set_key(s, *set);
        std::printf("set %g\n", s.tank.added_m);
        sunshaft::plant::Plant plant(site::compile_site(s));
        sunshaft::plant::State state = plant.start();
        plant.advance(state, 3.0);
        const sunshaft::plant::Means m = plant.average(state, 0.2);
        const auto amps = [&](int k) { return sunshaft::text::column(m.current_rms[k], "A", m.current_rms[0]); };
        std::printf("%s %s %s A, %s\n", amps(0).c_str(), amps(1).c_str(), amps(2).c_str(),
                    sunshaft::text::quantity(m.speed * 30 / 3.14159265358979, "rpm").c_str());
    } catch (const site::BadInput& why) {
        std::printf("%s\n", why.what());
    }
}
END
# Every file that knows a scenario or works on the way to a run: other layouts than the house's objects.
# shellcheck disable=SC2046
units "$over/main.cpp" $(cd "$tree/sim" && find site plant -name '*.cpp' ! -name 'advance_*' ! -name steady.cpp)
command=$(ninja -C "$build" -t commands sunshaft | tail -n 1 |
    sed -E "s# [^ ]*CMakeFiles/sunshaft\.dir/[^ ]*\.o##g; s# -o [^ ]*/sunshaft # -o $scratch/machine/run $objects #")
(cd "$build" && sh -c "$command") || fail "a motor, a key: does not link"
sed '/^\[tank\]/d; $a [tank]\nadded_m = 5' "$tree/scenarios/bench-rig.toml" > "$over/site.toml"
says "a key" "^an added key" "$over/run" "$over/site.toml"
says "a key" "^loaded 5" "$over/run" "$over/site.toml"
says "a key" "^set 7" "$over/run" "$over/site.toml" tank.added_m=7
says "a key" "is 10, expected a number from 0 to 9 m" "$over/run" "$over/site.toml" tank.added_m=10
# It turns as the one does that it is a copy of, in the house's own program.
set -- drive.modulation=ideal-sine drive.control=v-f drive.minimum_frequency_Hz=1 drive.ramp_Hz_per_s=20 drive.boost_V=4 \
    motor.stator_resistance_ohm=1.5 motor.d_inductance_H=0.15 motor.q_inductance_H=0.03 motor.inertia_kg_m2=4e-4
says "a motor" ", 1500 rpm" "$over/run" "$over/site.toml" motor.kind=added-motor "$@"
turns=$(tail -n 1 "$scratch/said")
# shellcheck disable=SC2046
says "a motor" "$turns" env SUNSHAFT_DATA="$tree" "$program" run bench-rig --for 3 \
    --set motor.kind=synchronous-reluctance $(printf -- '--set %s ' "$@")

# --- code of one file each, all in one program
overlay code
after site/faults_cable.cpp 'return {' '        {"added-fault", "cable and splice", "an added fault", "ohm added", 0, 1e4, 2, phase_places,
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).splice.ohm += ohm; },
         "It was added.", "Nothing.", "Leave it.", lift_caution},'
after site/acts.cpp 'std::vector<ActRow> rows = {' '        {"tap", "tap on the drive", [](const Works&) { return Places{"drive"}; },
         [](Works& w, Name) { w.drive.motor_A *= 1.5; }, [](Name) -> std::string { return "Tap on the drive"; }, "tapped",
         [](const Works&, Name) { return true; }},'
# A hazard: a kind of its own, where its severity puts it; its name, its words, and when it is there.
instead bench/hazards.hpp 's/^    authorised  *\(\/\/.*\)$/    authorised,  \1\n    added_danger/'
instead bench/hazard_words.cpp 's/"authorised"}/"authorised", "added-danger"}/; s/Danger::authorised) + 1/Danger::added_danger) + 1/
                                s/^        case Danger::tank:/        case Danger::added_danger: return "It was added to what can hurt.";\n&/'
after bench/hazards.cpp 'if (kind == "cover")' '    if (kind == "tap") add({.kind = Danger::added_danger});'
after bench/field_tests.cpp 'std::vector<FieldTest> tests = {' '        {"added-test", "an added test", "DC volts at the input of the drive, again", "again", running, 3,
         true, 0.01, 0, [](const Works&) { return List{between(Mode::dcv, "dc+", "dc-")}; }},'
instead bench/gauges.cpp 's/"outlet", */&"taste", /'
after bench/senses.cpp 'Bench::Gauge Bench::sense(' '    if (name == "taste") return {0.0, "", "by tongue", std::string("tastes of nothing")};'
after day/fit.cpp 'const double cold = bench::highest_V(w);' '    rows.add("an added margin", 2.0, 1.0, "", false, "an added rule", "common practice, no source", 0.0);'
after proof/field.cpp 'const char* star =' '    add("an added figure", "closed form", 2.0, 1e-9, [] { return 2.0; });'
units "" site/faults_cable.cpp site/acts.cpp bench/hazards.cpp bench/hazard_words.cpp bench/field_tests.cpp bench/gauges.cpp \
    bench/senses.cpp day/fit.cpp proof/field.cpp
mkdir "$over/cli"
cat > "$over/cli/added.cpp" << 'END'
#include "cli/verb.hpp"
namespace sunshaft::cli {
Run add_added(CLI::App& app);
Run add_added(CLI::App& app) {
    app.footer("Example: sunshaft added");
    return [] { return std::puts("an added verb") < 0; };
}
}  // namespace sunshaft::cli
END
instead cli/main.cpp 's/^namespace sunshaft::cli {/&\nRun add_added(CLI::App\&);/'
after cli/main.cpp 'constexpr Verb verbs' '    {"added", "An added verb", add_added},'
compile sunshaft "$over/cli/main.cpp"
compile sunshaft "$over/cli/added.cpp"
added=$scratch/sunshaft
link sunshaft main "$added"
export SUNSHAFT_DATA="$tree"
says "a fault" "added-fault  *an added fault" "$added" faults
says "a fault" "shows  *[0-9.]* A" "$added" read hill-orchard --around u --fault added-fault@u=5
grep 'shows' "$scratch/said" > "$scratch/with" || true
says "a fault" "shows  *[0-9.]* A" "$program" read hill-orchard --around u
grep 'shows' "$scratch/said" | cmp -s - "$scratch/with" && fail "a fault: no reading follows it"
says "an act" "^tap  *tap on the drive" "$added" acts hill-orchard
says "a hazard" "It was added to what can hurt" sh -c "'$added' acts hill-orchard | grep -A 3 '^tap'"
says "an act" "shows" "$added" read hill-orchard --around u --do tap@drive
says "a field test" "added-test" "$added" tests hill-orchard
says "a field test" "[0-9] V" "$added" read hill-orchard --test added-test
says "a sense" "tastes of nothing" "$added" read hill-orchard --red taste
says "a margin" "an added margin" "$added" fit hill-orchard
says "a published figure" "an added figure" "$added" proof
says "a verb" "^  added  *An added verb" "$added" --help
says "a verb" "^an added verb" "$added" added

# --- a panel: its file and a line; the window has a tab of it
if [ -x "$build/gui/sunshaft-bench" ] && command -v Xvfb > /dev/null; then
    overlay window
    cat > "$over/added.cpp" << 'END'
#include "panels/panels.hpp"
namespace sunshaft::panels {
class Added : public shell::Panel {
  public:
    shell::Place place() const override { return shell::Place::strip; }
    const char* title() const override { return "Added"; }
    void draw(shell::PanelContext& x) override {
        x.canvas().text({x.box.x + 16, x.box.y + 28}, "an added panel", {.colour = x.palette().ink});
        if (x.targets) x.target("added panel", x.box);
    }
};
std::unique_ptr<shell::Panel> added();
std::unique_ptr<shell::Panel> added() { return std::make_unique<Added>(); }
}  // namespace sunshaft::panels
END
    sed 's/^namespace sunshaft::panels {/&\nstd::unique_ptr<shell::Panel> added();/
         s/^    all.push_back(notebook());/&\n    all.push_back(added());/' "$tree/gui/panels/make_panels.cpp" \
        > "$over/make_panels.cpp"
    compile sunshaft-bench "$over/make_panels.cpp"
    compile sunshaft-bench "$over/added.cpp"
    link sunshaft-bench 'sunshaft::panels::make_panels' "$scratch/sunshaft-bench"
    printf 'wait 0.2\nfold open\ntab Added\nframes 3\ncheck %s panel\nframes 3\nquit\n' "$scratch/check" > "$scratch/script"
    number=$((90 + $$ % 400))
    Xvfb :$number -screen 0 1280x720x24 > /dev/null 2>&1 &
    server=$!
    sleep 2
    DISPLAY=:$number "$scratch/sunshaft-bench" hill-orchard --forget --size 1280x720 --script "$scratch/script" \
        > "$scratch/said" 2>&1 || { fail "a panel: the window does not open on it"; cat "$scratch/said"; }
    kill $server
    says "a panel" '"added panel":\[[0-9]' cat "$scratch/check"
fi
exit $failed
