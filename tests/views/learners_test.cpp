// Scripted learners play the same call-out in plain lines and in the window's view-model: they read what is shown,
// never the truth, and are marked alike.
#include <fmt/format.h>

#include <sstream>

#include "bad_splice.hpp"
#include "callout/spoken.hpp"
#include "desk_support.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

struct Learner {
    const char* name;
    std::vector<std::string> does;
    callout::Named says;
};

// What somebody who knows the trade does, and those who do not.
std::vector<Learner> learners() {
    const std::vector<std::string> clamps{"clamp u aca clamp-hall", "clamp v aca clamp-hall", "clamp w aca clamp-hall"};
    std::vector<std::string> dead{"do stop@drive", "do open@isolator", "wait 120", "do pull@pump"};
    for (const char* pair : {"lead.u lead.v", "lead.v lead.w", "lead.w lead.u"})
        for (const char* meter : {"true-rms", "average"}) dead.push_back(fmt::format("read {} ohm {}", pair, meter));
    std::vector<std::string> right = clamps, unsafe = clamps;
    right.insert(right.end(), dead.begin(), dead.end());
    unsafe.push_back("do pull@pump !");
    std::vector<std::string> live = clamps;
    live.push_back("read drive.u drive.v cap true-rms !");  // which the other meter has not
    return {{"right", right, {"high-resistance-splice", "v"}},
            {"wrong", clamps, {"seized", "motor"}},
            {"unsafe", unsafe, {"high-resistance-splice", "v"}},
            {"impatient", {"clamp v aca clamp-hall"}, {"lost-phase", "splice.v"}},
            {"own source on live terminals", live, {"high-resistance-splice", "v"}},
            {"random",
             {"clamp w aca clamp-hall", "gauge drive_V", "clamp w aca clamp-hall", "gauge sound"},
             {"winding-partly-shorted", "w"}}};
}

callout::Account in_lines(const Learner& who) {
    const callout::Callout c = bad_splice();
    callout::Visit visit(site_named("bench-rig"), c);
    callout::Spoken play(visit, {}, {});
    for (const std::string& line : who.does) {
        for (const std::string& answer : play.line(line)) {
            INFO(who.name << ": " << line << ": " << answer);
            CHECK(answer.find("expected") == std::string::npos);
        }
    }
    callout::Conducted done = visit.conducted(who.says);
    return callout::judge(c, done, diagnose::load_priors(diagnose::shipped_priors()), diagnose::cache_folder());
}

callout::Account in_the_window(const Learner& who) {
    Desk desk(site_named("bench-rig"), false);
    desk.bring_call(bad_splice());
    desk.work(12.0);
    for (const std::string& line : who.does) {
        std::istringstream in(line);
        std::string verb, a, b, mode, meter, insists;
        in >> verb >> a >> b >> mode >> meter >> insists;
        if (verb == "clamp") {
            desk.place({"", "", a});
            desk.work(1.0);
            desk.note();
        } else if (verb == "gauge") {
            desk.look(a);
            desk.work(0.1);
            desk.keep_call();
        } else if (verb == "wait") {
            desk.work(120.0);
        } else if (verb == "do") {
            const std::string kind = a.substr(0, a.find('@')), place = a.substr(a.find('@') + 1);
            if (b == "!") desk.act_anyway(kind, place);
            else desk.act(kind, place);
            desk.work(2.0);
        } else if (verb == "read" && meter == "true-rms") {  // both meters lie on the leads
            desk.measure({a, b, ""}, *meter::mode_from(mode));
            if (insists == "!") desk.touch_anyway();
            desk.work(1.0);
            desk.note();
        }
        CHECK(desk.last_error().empty());
    }
    desk.say(who.says);
    const auto s = desk.call();
    REQUIRE(s->accounts.size() == 1);
    return *s->accounts[0];
}

void compare(const Learner& who) {
    const callout::Account lines = in_lines(who), window = in_the_window(who);
    std::string both;
    for (const callout::Account* a : {&lines, &window})
        for (const std::string& line : callout::words(*a)) both += line + "\n";
    INFO(who.name << "\n" << both);
    CHECK(lines.mark == window.mark);
    CHECK(lines.right == window.right);
    CHECK(lines.unsafe == window.unsafe);
    CHECK(lines.minutes == window.minutes);
}

}  // namespace

TEST_CASE("an impatient learner is marked alike in plain lines and in the window") { compare(learners()[3]); }

TEST_CASE("who lays a meter's own source on live terminals is marked alike, by the same row") {
    compare(learners()[4]);
}

TEST_CASE("learners right, wrong, unsafe and random are marked alike in plain lines and in the window", "[.soak]") {
    double right = 0.0;
    for (const Learner& who : learners()) {
        if (who.name == std::string_view("impatient")) continue;
        compare(who);
        const double mark = in_lines(who).mark;
        if (who.name == std::string_view("right")) right = mark;
        else CHECK(mark < right - 20.0);
    }
    CHECK(right >= 85.0);
}
