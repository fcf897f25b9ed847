#include "model/wall.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "model/session_store.hpp"
#include "model/setup.hpp"
#include "site/load.hpp"

namespace sunshaft::view {
namespace {

using nlohmann::json;

constexpr std::string_view head = "# wall:", lesson_head = "# lesson: ";

// One line, a comment to whoever reads the session below it.
std::string lesson_line(const Desk& desk) {
    const auto s = desk.lesson();
    if (!s || !s->of_class) return {};
    const json told{{"file", s->lesson->file}, {"seed", s->seed}, {"said", s->said}};
    return fmt::format("{}{}\n", lesson_head, told.dump(-1, ' ', true, json::error_handler_t::replace));
}

// False: it has not come as far.
bool follow(Desk& desk, const std::string& text) {
    const std::size_t from = text.find('\n') + 1;
    if (text.compare(from, lesson_head.size(), lesson_head) != 0) {
        if (desk.lesson()) desk.leave_lesson();
        return true;
    }
    const std::size_t begin = from + lesson_head.size();
    const json told = json::parse(text.substr(begin, text.find('\n', begin) - begin));
    return desk.follow_lesson(told.at("file").get<std::string>(), told.at("seed").get<std::uint64_t>(),
                              told.at("said").get<std::vector<std::string>>());
}

void stand_on(Desk& desk, const std::string& text) {
    const std::string file = site::find_scenario(Desk::scenario_of(text));
    if (session_site(file) != session_site(desk.truth()->site->scenario.file)) desk.open(site::load_scenario(file));
}

}  // namespace

std::string wall_text(const Desk& desk, const WallState& state) {
    const std::string lesson = lesson_line(desk);
    Session s;
    try {
        s = session_from(lesson.empty() ? desk.session() : desk.standing());
    } catch (const std::exception&) {
        return {};
    }
    std::erase_if(s.setup.edits.faults, [](const site::Fault& f) { return f.start > 0.0; });  // still to come
    s.marks_hidden = true;
    s.notes.clear();  // the instructor's
    return fmt::format("{} blank={:d} frozen={:d}\n{}{}", head, state.blank, state.frozen, lesson, to_toml(s));
}

std::string wall_site(const std::string& text) { return text.starts_with(head) ? Desk::scenario_of(text) : ""; }

bool take_wall(Desk& desk, const std::string& text, WallState& state, std::string& why) {
    if (!text.starts_with(head)) {
        why = "it is not what an instructor's window writes";
        return false;
    }
    const std::string line = text.substr(0, text.find('\n'));
    state = {line.find("blank=1") != std::string::npos, line.find("frozen=1") != std::string::npos};
    why.clear();
    if (state.frozen) {
        if (desk.running()) desk.hold();
        return true;
    }
    try {
        if (!follow(desk, text)) return false;
        if (!desk.lesson()) stand_on(desk, text);
    } catch (const std::exception& e) {
        why = e.what();
        return false;
    }
    return desk.restore(text, why);
}

}  // namespace sunshaft::view
