#include "teach/progress.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <filesystem>
#include <optional>

#include "files/folders.hpp"
#include "files/fresh_file.hpp"
#include "files/input.hpp"
#include "files/text.hpp"
#include "site/keys.hpp"
#include "teach/draw.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

constexpr std::size_t intervals[] = {1, 3, 7};  // sessions
constexpr std::size_t most_sessions = 2000;     // older ones are forgotten

// Where a lesson asks about a belief.
std::optional<std::size_t> exercise_about(const Lesson& lesson, const std::string& belief) {
    for (std::size_t e = 0; e < lesson.exercises.size(); ++e) {
        const auto& why = lesson.exercises[e].why;
        if (std::find(why.begin(), why.end(), belief) != why.end()) return e;
    }
    return {};
}

const Lesson* find(const std::vector<Lesson>& lessons, const std::string& id) {
    const auto at = std::find_if(lessons.begin(), lessons.end(), [&](const Lesson& l) { return l.id == id; });
    return at == lessons.end() || at->exercises.empty() ? nullptr : &*at;
}

std::vector<std::string> ids(const toml::table& row, std::string_view key) {
    std::vector<std::string> list;
    if (const toml::array* all = row[key].as_array())
        for (const toml::node& one : *all)
            if (const auto id = one.value<std::string>(); id && files::is_plain(*id)) list.push_back(*id);
    return list;
}

std::string quoted(const std::vector<std::string>& list) {
    std::string out = "[";
    for (const std::string& one : list) out.append(out.size() > 1 ? ", \"" : "\"").append(one).append(1, '"');
    return out.append(1, ']');
}

}  // namespace

std::map<std::string, std::size_t> due(const Progress& progress) {
    struct Wait {
        std::size_t stage, at;
    };
    std::map<std::string, Wait> waits;
    for (std::size_t n = 0; n < progress.sessions.size(); ++n) {
        const Session& s = progress.sessions[n];
        for (const std::string& id : s.right) {
            const auto at = waits.find(id);
            if (at == waits.end()) continue;
            if (++at->second.stage == std::size(intervals)) waits.erase(at);
            else at->second.at = n + intervals[at->second.stage];
        }
        for (const std::string& id : s.missed) waits[id] = {0, n + intervals[0]};
    }
    std::map<std::string, std::size_t> all;
    for (const auto& [id, wait] : waits) all[id] = wait.at;
    return all;
}

std::vector<Recall> recall(const Progress& progress, const std::vector<Lesson>& lessons, const Beliefs& beliefs) {
    std::vector<Recall> list;
    const std::size_t now = progress.sessions.size();
    if (now == 0) return list;
    const auto take = [&](const Lesson* lesson, std::size_t exercise, const std::string& about) {
        if (!lesson) return;
        const auto same = [&](const Recall& r) { return r.lesson->id == lesson->id && r.exercise == exercise; };
        if (std::any_of(list.begin(), list.end(), same)) return;
        // New values each time: the session's own seed.
        list.push_back({std::make_shared<const Lesson>(*lesson), exercise, 1000 + now, about});
    };
    // The belief that is due longest comes first in the choice, so that no other question takes its place.
    const auto waiting = due(progress);
    std::vector<std::pair<std::size_t, std::string>> order;
    for (const auto& [id, at] : waiting)
        if (at <= now) order.emplace_back(at, id);
    std::sort(order.begin(), order.end());
    for (const auto& [at, id] : order) {
        // Where it is treated, else wherever it was met.
        const Lesson* lesson = beliefs.contains(id) ? find(lessons, beliefs.at(id).lesson) : nullptr;
        if (lesson && !exercise_about(*lesson, id)) lesson = nullptr;
        for (auto s = progress.sessions.rbegin(); !lesson && s != progress.sessions.rend(); ++s)
            if (const Lesson* met = find(lessons, s->lesson); met && exercise_about(*met, id)) lesson = met;
        if (!lesson) continue;
        take(lesson, *exercise_about(*lesson, id), id);
        break;
    }
    take(find(lessons, progress.sessions.back().lesson), 0, "");
    // An older one: another each time.
    Draw draw(now, "older");
    std::vector<std::string> older;
    for (const Session& s : progress.sessions)
        if (s.lesson != progress.sessions.back().lesson &&
            std::find(older.begin(), older.end(), s.lesson) == older.end())
            older.push_back(s.lesson);
    draw.shuffle(older);
    for (const std::string& id : older)
        if (list.size() < 3) take(find(lessons, id), 0, "");
    return list;
}

Session session_of(const Lesson& lesson, const Outcome& outcome) {
    Session s;
    s.lesson = lesson.id;
    s.got = !outcome.got.empty() && std::all_of(outcome.got.begin(), outcome.got.end(), [](bool g) { return g; });
    const auto add = [](std::vector<std::string>& list, const std::string& id) {
        if (!id.empty() && std::find(list.begin(), list.end(), id) == list.end()) list.push_back(id);
    };
    for (const Committed& c : outcome.committed) {
        for (const std::string& id : c.missed()) add(s.missed, id);
        if (c.recall && c.reason_right && c.value_right) add(s.right, c.about);
    }
    for (const std::string& id : s.missed) std::erase(s.right, id);
    return s;
}

Progress read_progress(const std::string& file) {
    Progress p;
    std::error_code error;
    if (file.empty() || !std::filesystem::exists(file, error)) return p;
    try {
        const std::string text = files::read_whole(file, files::most_settings);
        if (const auto trouble = files::toml_trouble(text))
            throw site::BadInput(fmt::format("{}:{}:{}: {}", site::on_one_line(file, 400), trouble->line,
                                             trouble->column, trouble->words));
        const toml::table all = toml::parse(text);
        const toml::array* rows = all["session"].as_array();
        if (!rows) return p;
        for (const toml::node& row : *rows) {
            const toml::table* t = row.as_table();
            const auto lesson = t ? (*t)["lesson"].value<std::string>() : std::nullopt;
            if (!lesson || !files::is_plain(*lesson)) continue;
            p.sessions.push_back({*lesson, (*t)["got"].value_or(false), ids(*t, "missed"), ids(*t, "right")});
        }
    } catch (const files::Unreadable& why) {
        throw site::BadInput(fmt::format("{}:0:0: {}", site::on_one_line(file, 400), why.what()));
    } catch (const toml::parse_error& e) {
        throw site::BadInput(fmt::format("{}:{}:{}: {}", site::on_one_line(file, 400), e.source().begin.line,
                                         e.source().begin.column,
                                         site::on_one_line(text::parser_says(e.description()), 200)));
    }
    return p;
}

void write_progress(const std::string& file, const Progress& progress) {
    std::string text = "# What was learnt with Sunshaft, one session after the other. Delete it to begin again.\n";
    const std::size_t all = progress.sessions.size();
    for (std::size_t n = all > most_sessions ? all - most_sessions : 0; n < all; ++n) {
        const Session& s = progress.sessions[n];
        text.append(fmt::format("[[session]]\nlesson = \"{}\"\ngot = {}\nmissed = {}\nright = {}\n", s.lesson, s.got,
                                quoted(s.missed), quoted(s.right)));
    }
    try {
        std::error_code error;
        const std::filesystem::path path(file);
        if (path.has_parent_path()) std::filesystem::create_directories(path.parent_path(), error);
        files::FreshFile fresh(file);
        fresh.write(text);
        fresh.finish();
    } catch (const std::exception& e) {
        throw site::BadInput(fmt::format("{}: {}", site::on_one_line(file, 400), e.what()));
    }
}

std::string progress_file() {
    const auto folder = files::data_folder();
    return folder.empty() ? std::string() : (folder / "progress.toml").string();
}

}  // namespace sunshaft::teach
