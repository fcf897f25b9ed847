// Statements of the Experience API 1.0.x, Part Two (adlnet/xAPI-Spec, xAPI-Data.md): written, and judged as a store
// must.
#include <fmt/format.h>
#include <sodium.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <regex>
#include <set>

#include "classroom/overview.hpp"

namespace sunshaft::classroom {
namespace {

using nlohmann::json;

constexpr const char* home = "https://sunshaft.example.org";  // a domain that is nobody's (RFC 2606)

// A name-based id of the same form a random one has: the same line of a book is the same statement every time.
std::string uuid_of(const std::string& text) {
    if (sodium_init() < 0) throw std::runtime_error("no source of random numbers");
    std::array<unsigned char, 16> b{};
    crypto_generichash(b.data(), b.size(), reinterpret_cast<const unsigned char*>(text.data()), text.size(), nullptr,
                       0);
    b[6] = static_cast<unsigned char>((b[6] & 0x0fU) | 0x80U);  // version 8: of one's own making (RFC 9562)
    b[8] = static_cast<unsigned char>((b[8] & 0x3fU) | 0x80U);
    std::string out;
    for (std::size_t n = 0; n < b.size(); ++n) {
        if (n == 4 || n == 6 || n == 8 || n == 10) out += '-';
        out += fmt::format("{:02x}", b[n]);
    }
    return out;
}

bool is_iri(const json& j) {
    static const std::regex form("[A-Za-z][A-Za-z0-9+.-]*:[^\\s]+");
    return j.is_string() && std::regex_match(j.get<std::string>(), form);
}

std::string only(const json& j, const std::set<std::string>& keys, const char* where) {
    if (!j.is_object()) return fmt::format("{}: is no object", where);
    for (const auto& [key, value] : j.items()) {
        if (!keys.contains(key)) return fmt::format("{}: {}: is no property of it", where, key);
        if (value.is_null()) return fmt::format("{}: {}: is null", where, key);
    }
    return "";
}

std::string agent(const json& a) {
    if (const auto why = only(a, {"objectType", "name", "mbox", "mbox_sha1sum", "openid", "account"}, "actor");
        !why.empty())
        return why;
    int identifiers = 0;
    for (const char* key : {"mbox", "mbox_sha1sum", "openid", "account"}) identifiers += a.contains(key) ? 1 : 0;
    if (identifiers != 1) return "actor: expected exactly one of mbox, mbox_sha1sum, openid, account";
    static const std::regex mail("mailto:[^@\\s]+@[^@\\s]+"), sha1("[0-9a-fA-F]{40}");
    const auto fits = [&](const char* key, const std::regex& form) {
        return !a.contains(key) || (a[key].is_string() && std::regex_match(a[key].get<std::string>(), form));
    };
    if (!fits("mbox", mail)) return "actor: mbox: is no mailto address";
    if (!fits("mbox_sha1sum", sha1)) return "actor: mbox_sha1sum: is no SHA-1";
    if (a.contains("openid") && !is_iri(a["openid"])) return "actor: openid: is no IRI";
    if (a.contains("account")) {
        if (const auto why = only(a["account"], {"homePage", "name"}, "account"); !why.empty()) return why;
        if (!a["account"].contains("homePage") || !is_iri(a["account"]["homePage"]))
            return "account: homePage: is no IRI";
        if (!a["account"].contains("name") || !a["account"]["name"].is_string()) return "account: name: is missing";
    }
    if (a.contains("objectType") && a["objectType"] != "Agent") return "actor: objectType: is not Agent";
    return "";
}

std::string result(const json& r) {
    if (const auto why = only(r, {"score", "success", "completion", "response", "duration", "extensions"}, "result");
        !why.empty())
        return why;
    for (const char* key : {"success", "completion"})
        if (r.contains(key) && !r[key].is_boolean()) return fmt::format("result: {}: is neither true nor false", key);
    if (r.contains("response") && !r["response"].is_string()) return "result: response: is no text";
    static const std::regex duration(
        "P(?!$)(\\d+Y)?(\\d+M)?(\\d+W)?(\\d+D)?(T(?=\\d)(\\d+H)?(\\d+M)?(\\d+(\\.\\d+)?S)?)?");
    if (r.contains("duration") &&
        (!r["duration"].is_string() || !std::regex_match(r["duration"].get<std::string>(), duration)))
        return "result: duration: is no ISO 8601 duration";
    if (r.contains("extensions"))
        for (const auto& [key, value] : r["extensions"].items())
            if (!is_iri(json(key))) return "result: extensions: a key is no IRI";
    if (!r.contains("score")) return "";
    const json& s = r["score"];
    if (const auto why = only(s, {"scaled", "raw", "min", "max"}, "score"); !why.empty()) return why;
    for (const auto& [key, value] : s.items())
        if (!value.is_number()) return fmt::format("score: {}: is no number", key);
    const auto number = [&](const char* key) { return s[key].get<double>(); };
    if (s.contains("scaled") && std::abs(number("scaled")) > 1.0) return "score: scaled: is beyond -1 to 1";
    if (s.contains("min") && s.contains("max") && number("min") >= number("max")) return "score: min: is not below max";
    if (s.contains("raw") && s.contains("min") && number("raw") < number("min")) return "score: raw: is below min";
    if (s.contains("raw") && s.contains("max") && number("raw") > number("max")) return "score: raw: is above max";
    return "";
}

}  // namespace

std::string why_rejected(const std::string& text) {
    // The parser keeps the last of two equal keys; a store must refuse them.
    std::vector<std::set<std::string>> open;
    bool twice = false;
    const json s = json::parse(
        text,
        [&](int, json::parse_event_t event, json& parsed) {
            if (event == json::parse_event_t::object_start) open.emplace_back();
            if (event == json::parse_event_t::object_end) open.pop_back();
            if (event == json::parse_event_t::key && !open.back().insert(parsed.get<std::string>()).second)
                twice = true;
            return true;
        },
        false);
    if (s.is_discarded()) return "is no JSON";
    if (twice) return "a property stands twice";
    if (const auto why = only(s,
                              {"id", "actor", "verb", "object", "result", "context", "timestamp", "stored", "authority",
                               "version", "attachments"},
                              "statement");
        !why.empty())
        return why;
    for (const char* key : {"actor", "verb", "object"})
        if (!s.contains(key)) return fmt::format("statement: {}: is missing", key);
    if (const auto why = agent(s["actor"]); !why.empty()) return why;
    if (const auto why = only(s["verb"], {"id", "display"}, "verb"); !why.empty()) return why;
    if (!s["verb"].contains("id") || !is_iri(s["verb"]["id"])) return "verb: id: is no IRI";
    if (const auto why = only(s["object"], {"objectType", "id", "definition"}, "object"); !why.empty()) return why;
    if (!s["object"].contains("id") || !is_iri(s["object"]["id"])) return "object: id: is no IRI";
    static const std::regex uuid("[0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}");
    if (s.contains("id") && (!s["id"].is_string() || !std::regex_match(s["id"].get<std::string>(), uuid)))
        return "statement: id: is no UUID";
    if (s.contains("version") && (!s["version"].is_string() || !s["version"].get<std::string>().starts_with("1.0")))
        return "statement: version: does not begin with 1.0";
    static const std::regex time("\\d{4}-\\d{2}-\\d{2}T\\d{2}:\\d{2}:\\d{2}(\\.\\d+)?(Z|[+-]\\d{2}:\\d{2})");
    if (s.contains("timestamp") &&
        (!s["timestamp"].is_string() || !std::regex_match(s["timestamp"].get<std::string>(), time)))
        return "statement: timestamp: is no ISO 8601 time";
    return s.contains("result") ? result(s["result"]) : "";
}

namespace {

// Who completed what: the part all statements share.
json completed(const std::string& line, const std::string& who, std::string id, const json& name, json result) {
    // An id of an activity is an IRI: no blanks.
    std::ranges::replace(id, ' ', '-');
    return {
        {"id", uuid_of(line)},
        {"actor", {{"objectType", "Agent"}, {"account", {{"homePage", home}, {"name", who}}}}},
        {"verb",
         {{"id", "http://adlnet.gov/expapi/verbs/completed"}, {"display", {{"en", "completed"}, {"es", "completó"}}}}},
        {"object",
         {{"objectType", "Activity"}, {"id", fmt::format("{}/{}", home, id)}, {"definition", {{"name", name}}}}},
        {"result", std::move(result)}};
}
json statement(const Row& r) {
    const callout::Marked& m = r.marked;
    json result{{"success", m.right && m.borne},
                {"completion", true},
                {"response", m.named},
                {"score", {{"scaled", r.mark() / 100.0}, {"raw", r.mark()}, {"min", 0}, {"max", 100}}},
                {"duration", fmt::format("PT{:.0f}M", m.minutes)},
                {"extensions",
                 {{fmt::format("{}/x/unsafe-acts", home), m.unsafe.size()}, {fmt::format("{}/x/exam", home), r.exam}}}};
    if (const std::string cap = r.cap_words(); !cap.empty()) result["extensions"][fmt::format("{}/x/cap", home)] = cap;
    return completed(fmt::format("{}:{}:{}", r.journal, r.entry, r.number), r.who, "call-outs/" + r.site,
                     {{"en", fmt::format("Call-out, {}", r.site)}, {"es", fmt::format("Aviso, {}", r.site)}},
                     std::move(result));
}
// "Got it" or "not yet": a lesson has no score.
json statement(const LessonDone& d) {
    json result{{"success", d.of > 0 && d.got == d.of},
                {"completion", true},
                {"extensions",
                 {{fmt::format("{}/x/exercises", home), d.of},
                  {fmt::format("{}/x/exercises-got", home), d.got},
                  {fmt::format("{}/x/beliefs-held", home), d.missed}}}};
    return completed(fmt::format("{}:{}:{}", d.journal, d.n, d.who), d.who, "lessons/" + d.lesson, {{"und", d.title}},
                     std::move(result));
}

}  // namespace

std::string xapi(const Overview& o, std::int64_t now) {
    std::string out = "[";
    const auto add = [&](json s, const std::string& at, const std::string& doubt) {
        // A time that lies ahead must not stand there: whose clock is wrong has none.
        if (const auto t = journal::time_from(at); t && *t <= now && doubt.empty()) s["timestamp"] = at;
        const std::string text = s.dump(-1, ' ', false, json::error_handler_t::replace);
        if (const std::string why = why_rejected(text); !why.empty())
            throw std::logic_error(fmt::format("a statement that must be rejected: {}", why));
        out += (out.size() > 1 ? ",\n " : "\n ") + text;
    };
    for (const Row& r : o.rows)
        if (r.over) add(statement(r), r.at, r.doubt);
    for (const LessonDone& d : o.lessons) add(statement(d), d.at, d.doubt);
    return out + "\n]\n";
}

}  // namespace sunshaft::classroom
