#include "model/wall.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "model/setup.hpp"

namespace sunshaft::view {
namespace {

constexpr std::string_view head = "# wall:";

}  // namespace

std::string wall_text(const Desk& desk, const WallState& state) {
    Session s;
    try {
        s = session_from(desk.session());
    } catch (const std::exception&) {
        return {};
    }
    std::erase_if(s.setup.edits.faults, [](const site::Fault& f) { return f.start > 0.0; });  // still to come
    s.marks_hidden = true;
    s.notes.clear();  // the instructor's
    return fmt::format("{} blank={:d} frozen={:d}\n{}", head, state.blank, state.frozen, to_toml(s));
}

std::string wall_site(const std::string& text) { return text.starts_with(head) ? Desk::scenario_of(text) : ""; }

bool take_wall(Desk& desk, const std::string& text, WallState& state, std::string& why) {
    if (!text.starts_with(head)) {
        why = "it is not what an instructor's window writes";
        return false;
    }
    const std::string line = text.substr(0, text.find('\n'));
    const WallState now{line.find("blank=1") != std::string::npos, line.find("frozen=1") != std::string::npos};
    state = now;
    why.clear();
    if (state.frozen) {
        if (desk.running()) desk.hold();
        return true;
    }
    return desk.restore(text, why);
}

}  // namespace sunshaft::view
