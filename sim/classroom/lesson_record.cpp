#include "classroom/lesson_record.hpp"

#include <algorithm>

namespace sunshaft::classroom {
namespace {

constexpr const char* kind = "lesson";

std::vector<std::string> held(const teach::Outcome& outcome, int person, const teach::Beliefs& beliefs) {
    std::vector<std::string> list;
    for (const teach::Committed& c : outcome.committed) {
        if (c.person != person) continue;
        for (const std::string& id : c.missed()) {
            const auto at = beliefs.find(id);
            const std::string says = at == beliefs.end() ? id : at->second.says;
            if (std::ranges::find(list, says) == list.end()) list.push_back(says);
        }
    }
    return list;
}

}  // namespace

void keep_lesson(const std::string& file, const std::vector<std::string>& who, const teach::Lesson& lesson,
                 const std::string& site, const teach::Outcome& outcome, const teach::Beliefs& beliefs) {
    journal::Journal journal(file);
    for (std::size_t n = 0; n < who.size(); ++n) {
        const std::vector<bool>& got = n == 0 ? outcome.got : outcome.got_other;
        const bool recalled = std::ranges::any_of(outcome.committed, [](const auto& c) { return c.recall; });
        journal.append(kind, {{"who", who[n]},
                              {"lesson", lesson.id},
                              {"title", lesson.title},
                              {"site", site.empty() ? lesson.site : site},
                              {"got", std::count(got.begin(), got.end(), true)},
                              {"of", got.size()},
                              {"recalled", recalled},
                              {"missed", held(outcome, static_cast<int>(n), beliefs)}});
    }
}

std::vector<LessonDone> lessons_done(const journal::Contents& contents) {
    std::vector<LessonDone> list;
    for (const journal::Entry& e : contents.entries) {
        if (e.kind != kind) continue;
        try {
            LessonDone d;
            d.journal = contents.id;
            d.at = e.at;
            d.n = e.n;
            d.who = e.what.value("who", "");
            d.lesson = e.what.value("lesson", "");
            d.title = e.what.value("title", "");
            d.site = e.what.value("site", "");
            d.got = e.what.value("got", 0);
            d.of = e.what.value("of", 0);
            d.recalled = e.what.value("recalled", false);
            d.missed = e.what.value("missed", std::vector<std::string>{});
            list.push_back(std::move(d));
        } catch (const nlohmann::json::exception&) {
            // a key of another kind than ours: of a later program
        }
    }
    return list;
}

}  // namespace sunshaft::classroom
