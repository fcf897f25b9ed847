#!/bin/sh
# What DEVELOPERS.md says under "How to add", done: each thing is added where it says, in a copy, and has to work at once.
# A row of data is added in a copy of scenarios/. Code is added in a copy of its one file, compiled as the house compiles
# it and linked before the house's own libraries, so that nothing else is touched.
#   adding_test.sh TREE BUILD-FOLDER
set -eu
tree=$1 build=$2
program=$build/sim/sunshaft
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
export SUNSHAFT_CACHE="$scratch/cache"
failed=0

fail() { echo "$*"; failed=1; }
# says WHAT PATTERN COMMAND...: the command's output has a line like the pattern.
says() {
    what=$1 pattern=$2
    shift 2
    "$@" > "$scratch/said" 2>&1 || true
    grep -q -- "$pattern" "$scratch/said" || { fail "$what: expected \"$pattern\" of: $*"; tail -n 5 "$scratch/said" | cut -c 1-300; }
}
# after PATTERN LINE FILE: the file with a line put in after the first one like the pattern.
after() {
    awk -v pattern="$1" -v line="$2" '{ print } !done && index($0, pattern) { print line; done = 1 }
                                      END { exit !done }' "$tree/$3" || fail "$3: has no line with: $1"
}
# compile OBJECT SOURCE: as the house compiles OBJECT (a path in the build folder), into the scratch folder.
compile() {
    out=$scratch/$(basename "$2").o
    how=$(ninja -C "$build" -t commands "$1" | grep -- " -o $1 " | tail -n 1 |
        sed "s# -MD # #; s# -MT [^ ]*##; s# -MF [^ ]*##; s# -o [^ ]* -c .*# -o $out -c $2#")
    [ -n "$how" ] || fail "$1: is not built by this house"
    (cd "$build" && sh -c "$how") || fail "$2: does not compile"
    objects="$objects $out"
    [ "$(basename "$1")" != "$(basename "$out")" ] || replaced="$replaced $1"
}
# link TARGET OUT: as the house links it, the new objects first, and in place of its own of the same file.
link() {
    how=$(ninja -C "$build" -t commands "$1" | tail -n 1 | sed "s# -o [^ ]*/$1 # -o $2 $objects #")
    for own in $replaced; do how=$(echo "$how" | sed "s# $own # #"); done
    (cd "$build" && sh -c "$how") || fail "$1: does not link with what was added"
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

# --- a motor: its header, its name among the motors, its keys; the drivers and the kinds of motor.kind follow
mkdir -p "$scratch/motor/motor" "$scratch/motor/site"
sed 's/SynchronousReluctance/Added/g; s/"synchronous-reluctance"/"added-motor"/' \
    "$tree/sim/motor/synchronous_reluctance.hpp" > "$scratch/motor/motor/added.hpp"
sed 's/^using Motor = std::variant<.*motor::SynchronousReluctance/&, motor::Added/
     s/#include "motor\/synchronous_reluctance.hpp"/&\n#include "motor\/added.hpp"/' \
    "$tree/sim/site/works.hpp" > "$scratch/motor/site/works.hpp"
grep -q 'motor::Added' "$scratch/motor/site/works.hpp" || fail "a motor: works.hpp has no list of motors"
after 'void read(const MotorKeys& m, motor::SynchronousReluctance& machine) {' '    machine.pole_pairs = m.pole_pairs;
}
void read(const MotorKeys& m, motor::Added& machine) {' sim/site/works.cpp > "$scratch/motor/works.cpp"
for file in site/keys_table.cpp site/works.cpp plant/run.cpp; do
    from=$tree/sim/$file
    [ $file != site/works.cpp ] || from=$scratch/motor/works.cpp
    object=sim/CMakeFiles/sunshaft_${file%%/*}.dir/$file.o
    how=$(ninja -C "$build" -t commands "$object" | grep -- " -o $object " | tail -n 1 |
        sed "s# -MD # #; s# -MT [^ ]*##; s# -MF [^ ]*##; s# -O3 # -O0 #; s# -I# -I$scratch/motor&#
             s# -o [^ ]* -c .*# -o $scratch/motor/$(basename "$file").o -c $from#")
    (cd "$build" && sh -c "$how") || fail "a motor: $file has to be changed for it"
done
for part in 'keys_table.cpp.o added-motor' 'run.cpp.o Driver.*motor::Added'; do
    nm -C "$scratch/motor/${part%% *}" > "$scratch/said" 2> /dev/null || true
    strings -n 6 "$scratch/motor/${part%% *}" >> "$scratch/said"
    grep -q -- "${part#* }" "$scratch/said" || fail "a motor: it is not met in ${part%% *}"
done

# --- a key: its member and its row; loading, --set and the list follow
mkdir -p "$scratch/key/site"
sed 's/^\( *\)double use_m3_h = /\1double added_m = 3.0;\n&/' "$tree/sim/site/scenario.hpp" > "$scratch/key/site/scenario.hpp"
grep -q added_m "$scratch/key/site/scenario.hpp" || fail "a key: scenario.hpp has no use of a tank"
after '{KEY(tank.fill)' '        {KEY(tank.added_m), "m", from(0, 9), "an added key"},' sim/site/keys_table.cpp \
    > "$scratch/key/keys_table.cpp"
cat > "$scratch/key/main.cpp" << 'END'
#include <cstdio>
#include "site/keys.hpp"
#include "site/load.hpp"
int main(int, char** argv) {
    for (const sunshaft::site::Key& key : sunshaft::site::keys())
        if (key.path == "tank.added_m") std::printf("%s\n", std::string(key.meaning).c_str());
    sunshaft::Scenario s = sunshaft::site::load_scenario(argv[1]);
    std::printf("loaded %g\n", s.tank.added_m);
    sunshaft::site::set_key(s, "tank.added_m=7");
    std::printf("set %g\n", s.tank.added_m);
    try {
        sunshaft::site::set_key(s, "tank.added_m=10");
    } catch (const sunshaft::site::BadInput& why) {
        std::printf("%s\n", why.what());
    }
}
END
sed 's/^\[tank\]/&\nadded_m = 5/' "$tree/scenarios/hill-orchard.toml" > "$scratch/key/site.toml"
# shellcheck disable=SC2046
c++ -std=c++20 -O0 -w -I"$scratch/key" -I"$tree/sim" $(pkg-config --cflags eigen3) -DTOML_HEADER_ONLY=0 -DTOML_SHARED_LIB=1 \
    "$scratch/key/main.cpp" "$scratch/key/keys_table.cpp" "$tree/sim/site/keys.cpp" "$tree/sim/site/keys_conflict.cpp" \
    "$tree/sim/site/load.cpp" "$tree"/sim/files/*.cpp "$tree"/sim/text/*.cpp -o "$scratch/key/key" -lfmt -ltomlplusplus ||
    fail "a key: does not compile"
says "a key" "^an added key" "$scratch/key/key" "$scratch/key/site.toml"
says "a key" "^loaded 5" "$scratch/key/key" "$scratch/key/site.toml"
says "a key" "^set 7" "$scratch/key/key" "$scratch/key/site.toml"
says "a key" "is 10, expected a number from 0 to 9 m" "$scratch/key/key" "$scratch/key/site.toml"

# --- code of one file each, all in one program
objects= replaced=
room() { compile "sim/CMakeFiles/sunshaft_${1%%/*}.dir/$1.o" "$scratch/code/$1"; }
mkdir -p "$scratch/code/site" "$scratch/code/bench" "$scratch/code/day" "$scratch/code/proof" "$scratch/code/cli"
after 'return {' '        {"added-fault", "cable and splice", "an added fault", "ohm added", 0, 1e4, 2, phase_places,
         [](Works& w, const std::string& place, double ohm) { phase_at(w, place).splice.ohm += ohm; },
         "It was added.", "Nothing.", "Leave it.", lift_caution},' sim/site/faults_cable.cpp > "$scratch/code/site/faults_cable.cpp"
after 'std::vector<ActRow> rows = {' '        {"tap", "tap on the drive", [](const Works&) { return Places{"drive"}; },
         [](Works& w, Name) { w.drive.motor_A *= 1.5; }, [](Name) -> std::string { return "Tap on the drive"; }, "tapped",
         [](const Works&, Name) { return true; }},' sim/site/acts.cpp > "$scratch/code/site/acts.cpp"
after 'if (kind == "cover")' '    if (kind == "tap") add({.kind = Danger::overflow});' sim/bench/hazards.cpp \
    > "$scratch/code/bench/hazards.cpp"
after 'std::vector<FieldTest> tests = {' '        {"added-test", "an added test", "DC volts at the input of the drive, again", "again", running, 3,
         true, 0.01, 0, [](const Works&) { return List{between(Mode::dcv, "dc+", "dc-")}; }},' sim/bench/field_tests.cpp \
    > "$scratch/code/bench/field_tests.cpp"
sed 's/"outlet", */&"taste", /' "$tree/sim/bench/gauges.cpp" > "$scratch/code/bench/gauges.cpp"
after 'Bench::Gauge Bench::sense(' '    if (name == "taste") return {0.0, "", "by tongue", std::string("tastes of nothing")};' sim/bench/senses.cpp \
    > "$scratch/code/bench/senses.cpp"
after '    // Array and drive.' '    rows.add("an added margin", 2.0, 1.0, "", false, "an added rule", "common practice, no source", 0.0);' \
    sim/day/fit.cpp > "$scratch/code/day/fit.cpp"
after 'const char* star =' '    add("an added figure", "closed form", 2.0, 1e-9, [] { return 2.0; });' sim/proof/field.cpp \
    > "$scratch/code/proof/field.cpp"
for file in site/faults_cable.cpp site/acts.cpp bench/hazards.cpp bench/field_tests.cpp bench/gauges.cpp bench/senses.cpp \
    day/fit.cpp proof/field.cpp; do room $file; done
cat > "$scratch/code/cli/added.cpp" << 'END'
#include "cli/verb.hpp"
namespace sunshaft::cli {
Run add_added(CLI::App& app);
Run add_added(CLI::App& app) {
    app.footer("Example: sunshaft added");
    return [] { return std::puts("an added verb") < 0; };
}
}  // namespace sunshaft::cli
END
sed 's/^namespace sunshaft::cli {/&\nRun add_added(CLI::App\&);/' "$tree/sim/cli/main.cpp" |
    awk '{ print } /^constexpr Verb verbs/ { print "    {\"added\", \"An added verb\", add_added}," }' > "$scratch/code/cli/main.cpp"
compile sim/CMakeFiles/sunshaft.dir/cli/main.cpp.o "$scratch/code/cli/main.cpp"
compile sim/CMakeFiles/sunshaft.dir/cli/acts.cpp.o "$scratch/code/cli/added.cpp"
added=$scratch/sunshaft
link sunshaft "$added"
export SUNSHAFT_DATA="$tree"
says "a fault" "added-fault  *an added fault" "$added" faults
says "a fault" "shows  *[0-9.]* A" "$added" read hill-orchard --around u --fault added-fault@u=5
grep 'shows' "$scratch/said" > "$scratch/with" || true
says "a fault" "shows  *[0-9.]* A" "$program" read hill-orchard --around u
grep 'shows' "$scratch/said" | cmp -s - "$scratch/with" && fail "a fault: no reading follows it"
says "an act" "^tap  *tap on the drive" "$added" acts hill-orchard
says "a hazard" "tank runs over" sh -c "'$added' acts hill-orchard | grep -A 3 '^tap'"
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
    objects= replaced=
    mkdir -p "$scratch/code/panels"
    cat > "$scratch/code/panels/added.cpp" << 'END'
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
        > "$scratch/code/panels/make_panels.cpp"
    panels=gui/CMakeFiles/sunshaft-bench.dir/panels
    compile $panels/make_panels.cpp.o "$scratch/code/panels/make_panels.cpp"
    compile $panels/drive_log.cpp.o "$scratch/code/panels/added.cpp"
    link sunshaft-bench "$scratch/sunshaft-bench"
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
