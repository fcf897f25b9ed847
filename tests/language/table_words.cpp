// The sentences that stand in tables, as a GNU gettext template: what xgettext cannot know of, because a table's rows
// are plain literals. Run by tests/scripts/catalogue.sh.
#include <fmt/format.h>

#include <cerrno>
#include <cstring>
#include <set>
#include <string>

#include "bench/field_tests.hpp"
#include "bench/sound.hpp"
#include "day/skies.hpp"
#include "diagnose/case.hpp"
#include "diagnose/facts.hpp"
#include "diagnose/history.hpp"
#include "diagnose/priors.hpp"
#include "diagnose/typed.hpp"
#include "drive/control.hpp"
#include "meter/meter.hpp"
#include "meter/settings.hpp"
#include "plant/state.hpp"
#include "proof/proof.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "teach/guided.hpp"
#include "teach/lesson.hpp"
#include "teach/own_meter.hpp"
#include "text/heard.hpp"

namespace {

using namespace sunshaft;

std::string quoted(const std::string& words) {
    std::string out;
    for (const char c : words)
        if (c == '\n') out += "\\n";
        else if (c == '"' || c == '\\') out += std::string("\\") + c;
        else out += c;
    return out;
}

// Each once; `of` tells a translator where it is said.
void word(const std::string& english, const std::string& of) {
    static std::set<std::string> told;
    if (!english.empty() && told.insert(english).second)
        fmt::print("#. {}\nmsgid \"{}\"\nmsgstr \"\"\n\n", of, quoted(english));
}

void faults() {
    for (const site::FaultRow& f : site::fault_catalogue()) {
        word(f.group, "a group of faults");
        word(f.title, fmt::format("fault {}: title", f.kind));
        word(f.unit, fmt::format("fault {}: what the severity counts; an SI unit stays in front", f.kind));
        word(f.what, fmt::format("fault {}: what it is", f.kind));
        word(f.owner_sees, fmt::format("fault {}: what the owner notices", f.kind));
        for (const char* sentence : f.caution.sentences)
            if (sentence) word(sentence, fmt::format("fault {}: a sentence of its caution", f.kind));
        word(f.to_do, fmt::format("fault {}: to do", f.kind));
    }
    for (const char* step : {site::says::isolate, site::says::cover}) word(step, "a step before an act");
}

void acts() {
    for (const site::ActRow& a : site::act_catalogue()) {
        word(a.what, fmt::format("act {}", a.kind));
        word(a.done, fmt::format("act {}: told afterwards of its place", a.kind));
    }
}

void tests() {
    for (const bench::FieldTest& t : bench::field_tests()) {
        word(t.name, fmt::format("field test {}: name", t.id));
        word(t.how, fmt::format("field test {}: how", t.id));
        word(t.short_, fmt::format("field test {}: heading of a narrow column", t.id));
    }
}

void drive_words() {
    for (int n = 0; n <= static_cast<int>(drive::Phase::latched); ++n)
        word(drive::phase_words(static_cast<drive::Phase>(n)), "what the drive does");
    for (int n = 0; n <= static_cast<int>(drive::Cause::rotor_found); ++n)
        word(drive::stop_words(static_cast<drive::Cause>(n)), "why the drive stopped last, on its display");
    for (const drive::Lamp& lamp : drive::lamps({})) word(lamp.name, "a lamp on the drive's front");
}

void energies() {
    for (const char* name : plant::energy_name) word(name, "where the energy goes");
    for (const char* name : plant::state_name) word(name, "what the solver follows");
}

// What an outlet and a shaft look and sound like stands in bench/senses.cpp, marked there.
void sites() {
    for (const char* name : {"bench-rig", "hill-orchard", "river-meadow", "stone-fold", "terrace-pwm"})
        word(site::load_scenario(site::find_scenario(name)).site.description, fmt::format("site {}", name));
    for (const char* path : {"drive.modulation", "motor.kind", "pump.kind"})
        for (const std::string_view kind : std::get<site::Words>(site::find_key(path)->domain).list)
            word(std::string(kind), fmt::format("key {}, as said on paper", path));
}

void meters() {
    for (const meter::Spec& spec : meter::load_specs(meter::shipped_meters())) {
        word(spec.name, "a meter's name");
        word(spec.description, fmt::format("meter {}: description", spec.name));
    }
    for (const meter::KeyLine& key : meter::spec_keys()) {
        word(key.meaning, fmt::format("key {} of a meter's file: meaning", key.key));
        if (key.domain == "text" || key.domain == "rising numbers" || key.domain.starts_with("list of"))
            word(key.domain, "what may stand there");
    }
}

void keys() {
    for (const site::Key& key : site::keys()) word(std::string(key.meaning), fmt::format("key {}: meaning", key.path));
}

void published() {
    for (const proof::Row& row : proof::rows()) {
        word(row.what, "published figure");
        word(row.field, "a field of published figures");
    }
}

// What the system says when it does not open or take a file.
void errors() {
    for (const int error : {ENOENT, EACCES, EPERM, ENOSPC, EROFS, EISDIR, ENOTDIR, ENAMETOOLONG, EIO, EMFILE, ENFILE,
                            EBUSY, ELOOP, EDQUOT, EFBIG, EPIPE, ETXTBSY, EINVAL, ENOMEM})
        word(std::strerror(error), "what the system says of a file");
}

void skies() {
    for (const day::NamedSky& sky : day::shipped_skies().skies) word(sky.title, "a sky, named by eye");
    for (const day::SunSource& source : day::shipped_skies().sources) {
        word(source.id, "where the figure of the light comes from");
        word(source.caution, "what that says nothing about");
    }
}

// Lessons are read in English here: no language is spoken.
void lessons() {
    for (const teach::Lesson& l : teach::shipped_lessons()) {
        word(l.title, fmt::format("lesson {}: title", l.id));
        word(l.aim, fmt::format("lesson {}: aim", l.id));
        for (const teach::Step& step : l.steps) word(step.say, fmt::format("lesson {}: said in a step", l.id));
    }
    for (const auto& [id, belief] : teach::load_beliefs()) {
        word(belief.says, fmt::format("belief {}: as a learner says it", id));
        word(belief.refuted, fmt::format("belief {}: what shows that it does not hold", id));
    }
    for (const teach::CaseRow& row : teach::load_cases()) word(row.said, "a case with help: what the owner says");
    for (const std::string_view ear : bench::ear_names) word(std::string(ear), "where somebody listens");
    word(teach::own_meter_caution, "before a lead touches the plug");
}

// Phrases that are listened for: those in code by what holds them, those of the priors.
void heard() {
    (void)diagnose::typed("1", "V");
    (void)diagnose::told("");
    (void)diagnose::Tried{}.what();
    (void)diagnose::lamp_on({}, "");
    for (const std::string& phrase : text::Heard::phrases())
        word("heard: " + phrase, "what people type; several ways are parted by |, accents do not count");
    for (const std::string& phrase : diagnose::listened_for(diagnose::shipped_priors()))
        word("heard: " + phrase, "part of what is said; see scenarios/priors.toml");
}

}  // namespace

int main() {
    fmt::print("msgid \"\"\nmsgstr \"Content-Type: text/plain; charset=UTF-8\\n\"\n\n");
    faults();
    acts();
    tests();
    drive_words();
    energies();
    sites();
    meters();
    keys();
    published();
    errors();
    skies();
    lessons();
    heard();
}
