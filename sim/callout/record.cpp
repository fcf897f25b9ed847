#include "callout/record.hpp"

#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>

#include "callout/seal.hpp"
#include "text/language.hpp"

namespace sunshaft::callout {
namespace {

using nlohmann::json;

constexpr std::array<const char*, 7> kinds{"act", "undo", "read", "strike", "wait", "swap", "touch"};

// The keys of a reading, each with its place in it; what is empty is left out.
constexpr std::array<std::pair<const char*, std::string diagnose::Seen::*>, 12> texts{
    {{"red", &diagnose::Seen::red},
     {"black", &diagnose::Seen::black},
     {"around", &diagnose::Seen::around},
     {"mode", &diagnose::Seen::mode},
     {"meter", &diagnose::Seen::meter},
     {"shown", &diagnose::Seen::shown},
     {"gauge", &diagnose::Seen::gauge},
     {"lamp", &diagnose::Seen::lamp},
     {"sound", &diagnose::Seen::sound},
     {"look", &diagnose::Seen::look},
     {"message", &diagnose::Seen::message},
     {"moment", &diagnose::Seen::moment}}};

json of(const Deed& d) {
    json j{{"t", d.t}};
    if (!d.act.empty()) j["act"] = d.act;
    if (d.unsafe) j["unsafe"] = true;
    if (d.stopped) j["stopped"] = true;
    if (d.kind == Deed::Kind::read || d.kind == Deed::Kind::touch) {
        j["state"] = d.seen.act;
        for (const auto& [key, member] : texts)
            if (!(d.seen.*member).empty()) j[key] = d.seen.*member;
        if (std::isfinite(d.seen.after_s)) j["after_s"] = d.seen.after_s;
    }
    if (d.kind == Deed::Kind::strike) j["entry"] = d.entry;
    if (d.kind == Deed::Kind::wait) j["s"] = d.seconds;
    return j;
}

Deed deed_of(Deed::Kind kind, const journal::Entry& e) {
    Deed d;
    d.kind = kind;
    d.n = e.n;
    d.t = e.what.value("t", 0.0);
    d.act = e.what.value("act", "");
    d.unsafe = e.what.value("unsafe", false);
    d.stopped = e.what.value("stopped", false);
    d.entry = e.what.value("entry", std::size_t{0});
    d.seconds = e.what.value("s", 0.0);
    d.seen.act = e.what.value("state", std::vector<std::string>{});
    d.seen.after_s = e.what.value("after_s", not_given);
    for (const auto& [key, member] : texts) d.seen.*member = e.what.value(key, "");
    return d;
}

json of(const Marked& m) {
    json lines = json::array();
    for (const Marked::Line& l : m.lines)
        lines.push_back({{"rule", l.rule}, {"why", l.why}, {"points", l.points}, {"of", l.of}});
    return {{"who", m.who},         {"truth", m.truth},       {"named", m.named},   {"fault", m.fault},
            {"said", m.kind},       {"right", m.right},       {"borne", m.borne},   {"mark", m.mark},
            {"minutes", m.minutes}, {"best", m.best_minutes}, {"unsafe", m.unsafe}, {"misled", m.misled},
            {"lines", lines},       {"well", m.well},         {"change", m.change}};
}

Marked marked_of(const json& j) {
    Marked m;
    m.who = j.value("who", "");
    m.truth = j.value("truth", "");
    m.named = j.value("named", "");
    m.fault = j.value("fault", "");
    m.kind = j.value("said", "");
    m.right = j.value("right", false);
    m.borne = j.value("borne", false);
    m.mark = j.value("mark", 0.0);
    m.minutes = j.value("minutes", 0.0);
    m.best_minutes = j.value("best", 0.0);
    m.unsafe = j.value("unsafe", std::vector<std::string>{});
    m.misled = j.value("misled", std::vector<std::string>{});
    if (const auto lines = j.find("lines"); lines != j.end() && lines->is_array())
        for (const json& l : *lines)
            m.lines.push_back({l.value("rule", ""), l.value("why", ""), l.value("points", 0.0), l.value("of", 0.0)});
    m.well = j.value("well", "");
    m.change = j.value("change", "");
    return m;
}

// What an entry adds; the first of an attempt makes it. Entries of kinds this program does not know are passed over.
void take(std::vector<Attempt>& list, const std::string& journal, const journal::Entry& e) {
    const json& j = e.what;
    if (e.kind == "start") {
        Attempt a;
        a.journal = journal;
        a.n = e.n;
        a.at = e.at;
        a.call = j.value("call", "");
        a.site = j.value("site", "");
        a.sealed = j.value("sealed", "");
        a.who = j.value("who", std::vector<std::string>{});
        a.terms = {j.value("exam", false), j.value("asked", 90.0), j.value("extra", 1.0)};
        a.starts = 1;
        list.push_back(std::move(a));
        return;
    }
    if (list.empty()) return;
    // Taken up again: it is the newest from now on.
    if (e.kind == "resume") {
        const auto at = std::ranges::find_if(list, [&](const Attempt& a) { return a.n == j.value("of", 0L); });
        if (at != list.end()) std::rotate(at, at + 1, list.end()), ++list.back().starts;
        return;
    }
    Attempt& now = list.back();
    const auto kind = std::ranges::find(kinds, e.kind);
    if (kind != kinds.end()) now.deeds.push_back(deed_of(static_cast<Deed::Kind>(kind - kinds.begin()), e));
    else if (e.kind == "account") now.marked.push_back(marked_of(j));
    else if (e.kind == "leave") now.left = true;
}

}  // namespace

diagnose::Case Attempt::notes() const {
    std::vector<std::pair<const diagnose::Seen*, bool>> all;
    for (const Deed& d : deeds) {
        if (d.stopped) continue;
        if (d.kind == Deed::Kind::read) all.emplace_back(&d.seen, true);
        else if (d.kind == Deed::Kind::strike && d.entry < all.size()) all[d.entry].second = !all[d.entry].second;
    }
    diagnose::Case c;
    c.site = site;
    for (const auto& [seen, counts] : all)
        if (counts) c.seen.push_back(*seen);
    return c;
}

std::vector<std::string> Attempt::unsafe() const {
    std::vector<std::string> list;
    for (const Deed& d : deeds)
        if (d.unsafe || d.stopped) list.push_back(!d.act.empty() ? d.act : d.seen.what());
    return list;
}

std::string id_of(const std::string& sealed) {
    if (sodium_init() < 0) throw std::runtime_error(text::tr("no source of random numbers"));
    std::array<unsigned char, 8> out{};
    static_assert(out.size() <= crypto_generichash_BYTES_MAX);
    std::array<unsigned char, crypto_generichash_BYTES_MIN> all{};
    crypto_generichash(all.data(), all.size(), reinterpret_cast<const unsigned char*>(sealed.data()), sealed.size(),
                       nullptr, 0);
    std::string id;
    for (std::size_t n = 0; n < out.size(); ++n) id += fmt::format("{:02x}", all[n]);
    return id;
}

std::vector<Attempt> attempts(const journal::Contents& contents) {
    std::vector<Attempt> list;
    for (const journal::Entry& e : contents.entries) try {
            take(list, contents.id, e);
        } catch (const json::exception&) {
            // a key of another kind than ours: of a later program
        }
    return list;
}

std::string usual_journal(const std::vector<std::string>& who) {
    const std::string folder = journal::usual_folder();
    if (folder.empty()) return {};
    std::string name;
    for (const std::string& w : who) {
        if (!name.empty()) name += '+';
        for (const char c : w)
            name += std::isalnum(static_cast<unsigned char>(c)) || c == '-' || static_cast<unsigned char>(c) >= 0x80
                        ? c
                        : '_';
    }
    if (name.empty()) name = "learner";
    return folder + "/" + name.substr(0, 120) + ".journal";
}

Record::Record(const std::string& file, journal::Journal::Clock clock) : journal_(file, std::move(clock)) {}

const Attempt& Record::begin(const Callout& call, const std::vector<std::string>& who, const Terms& terms) {
    const std::string text = call.sealed.empty() ? sealed(call) : call.sealed, id = id_of(text);
    now_ = {};
    for (Attempt& a : attempts(journal_.contents()))
        if (a.call == id && a.who == who && !a.over()) now_ = std::move(a);
    if (now_.call == id) {
        journal_.append("resume", {{"of", now_.n}});
        ++now_.starts;
        return now_;
    }
    now_.call = id;
    now_.site = call.site;
    now_.sealed = text;
    now_.who = who;
    now_.terms = terms;
    now_.starts = 1;
    const journal::Entry& e = journal_.append("start", {{"call", id},
                                                        {"site", call.site},
                                                        {"sealed", text},
                                                        {"who", who},
                                                        {"exam", terms.exam},
                                                        {"asked", terms.minutes},
                                                        {"extra", terms.extra}});
    now_.n = e.n;
    now_.at = e.at;
    now_.journal = journal_.contents().id;
    return now_;
}

void Record::deed(const Deed& deed) {
    const journal::Entry& e = journal_.append(kinds[static_cast<std::size_t>(deed.kind)], of(deed));
    now_.deeds.push_back(deed);
    now_.deeds.back().n = e.n;
}

void Record::marked(const std::string& who, const Callout& call, const Named& named, const Account& a) {
    Marked m;
    m.who = who;
    m.truth = a.truth;
    m.named = a.named;
    m.fault = call.truth.fault;
    m.kind = named.fault;
    m.right = a.right;
    m.borne = a.borne;
    m.mark = a.mark;
    m.minutes = a.minutes;
    m.best_minutes = a.best.minutes;
    for (const Step& s : a.steps)
        if (s.misled) m.misled.push_back(s.what);
    m.unsafe = now_.unsafe();
    for (const Point& p : a.points) m.lines.push_back({p.rule, p.why, p.points, p.of});
    m.well = a.well;
    m.change = a.change;
    journal_.append("account", of(m));
    now_.marked.push_back(std::move(m));
}

void Record::leave() {
    journal_.append("leave", {});
    now_.left = true;
}

std::optional<Attempt> unfinished(const std::string& file) {
    std::error_code none;
    if (file.empty() || !std::filesystem::exists(file, none)) return std::nullopt;
    std::vector<Attempt> all = attempts(journal::read(file));
    for (auto a = all.rbegin(); a != all.rend(); ++a)
        if (!a->over()) return std::move(*a);
    return std::nullopt;
}

}  // namespace sunshaft::callout
