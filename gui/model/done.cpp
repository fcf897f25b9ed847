#include "model/done.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <tuple>

#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

class Sentence {
  public:
    void add(std::string words) { text_ += (text_.empty() ? "" : "; ") + std::move(words); }
    std::string text() && {
        if (!text_.empty()) text_[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text_[0])));
        return std::move(text_);
    }

  private:
    std::string text_;
};

// The head of its title: "lost phase, splice.u".
std::string named(const site::Fault& f) {
    const site::FaultRow* row = site::find_fault(f.kind);
    const std::string title = row ? text::tr(row->title) : f.kind;
    return fmt::format("{}, {}", title.substr(0, title.find(':')), f.place);
}

const site::Fault* same_in(const std::vector<site::Fault>& list, const site::Fault& f) {
    const auto at = std::ranges::find_if(
        list, [&](const site::Fault& other) { return other.kind == f.kind && other.place == f.place; });
    return at == list.end() ? nullptr : &*at;
}

void faults(const std::vector<site::Fault>& before, const std::vector<site::Fault>& after, Sentence& out) {
    for (const site::Fault& f : after) {
        const site::Fault* old = same_in(before, f);
        if (!old) out.add(text::say("planted: {}", named(f)));
        else if (old->severity != f.severity)
            if (const site::FaultRow* row = site::find_fault(f.kind))
                out.add(fmt::format("{}: {}", named(f), site::severity_text(*row, f.severity)));
    }
    for (const site::Fault& f : before)
        if (!same_in(after, f)) out.add(text::say("healed: {}", named(f)));
}

// An act is one of a list to which the latest was added.
void acts(const std::vector<site::Act>& before, const std::vector<site::Act>& after, Sentence& out) {
    const auto stands_in = [](const std::vector<site::Act>& list, const site::Act& act) {
        return std::ranges::any_of(list,
                                   [&](const site::Act& a) { return a.kind == act.kind && a.place == act.place; });
    };
    const bool moved = before.size() == after.size() && !after.empty() &&
                       std::tie(before.back().kind, before.back().place, before.back().time) !=
                           std::tie(after.back().kind, after.back().place, after.back().time);
    for (const site::Act& a : after)
        if (!stands_in(before, a) || (moved && &a == &after.back()))
            if (const site::ActRow* row = site::find_act(a.kind)) out.add(row->says(a.place));
}

void keys(const std::vector<std::string>& before, const std::vector<std::string>& after, Sentence& out) {
    for (const std::string& assignment : after)
        if (std::ranges::find(before, assignment) == before.end()) out.add(text::say("set {}", assignment));
}

void leads(const bench::Probes& before, const bench::Probes& after, Sentence& out) {
    const auto lead = [&](const char* away, const char* on, const std::string& from, const std::string& to) {
        if (from != to) out.add(to.empty() ? text::tr(away) : text::say_of(on, to));
    };
    lead(text::id("red lead taken away"), text::id("red lead on {}"), before.red, after.red);
    lead(text::id("black lead taken away"), text::id("black lead on {}"), before.black, after.black);
    lead(text::id("clamp taken away"), text::id("clamp on {}"), before.around, after.around);
}

}  // namespace

std::string change_words(const Bearing& before, const Bearing& after, bool faults_hidden) {
    Sentence out;
    if (!faults_hidden) faults(before.edits.faults, after.edits.faults, out);
    acts(before.edits.acts, after.edits.acts, out);
    keys(before.edits.set, after.edits.set, out);
    leads(before.probes, after.probes, out);
    if (before.meters != after.meters) out.add(text::tr("a meter's chain changed"));
    return std::move(out).text();
}

}  // namespace sunshaft::view
