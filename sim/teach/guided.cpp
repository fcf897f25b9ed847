#include "teach/guided.hpp"

#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <numeric>

#include "files/input.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"
#include "teach/draw.hpp"
#include "teach/words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

constexpr int needless_costs = 5;  // a test that could rule nothing out any more

// Two halves of a site, as one says them: what brings the power, and what uses it.
const char* half_of(const bench::FieldTest& test) {
    for (const char* id : {"array-insulation", "open-circuit-volts", "module-volts", "poles-to-earth",
                           "short-circuit-current", "link-volts", "drops", "string-clamps", "input-ohms",
                           "running-to-earth", "connector-heat", "cell-heat", "bleed-lamps", "bleed-down"})
        if (std::string_view(test.id) == id) return text::id("the half that brings the power: array, isolator, link");
    return text::id("the half that uses the power: output, cable, motor, water");
}

bench::Edits with(const std::string& fault, const site::Works& works) {
    bench::Edits edits;
    if (fault != "none") edits.faults.push_back(site::parse_fault(fault, works));
    return edits;
}

std::string count(std::size_t n) { return n == 1 ? text::tr("one is left") : text::say("{} are left", n); }

}  // namespace

std::vector<CaseRow> load_cases() {
    const std::string file = shipped_lessons_folder() + "/cases.toml";
    std::vector<CaseRow> list;
    try {
        const toml::table all = toml::parse(files::read_whole(file, files::most_settings));
        const auto texts = [](const toml::table& t, std::string_view key) {
            std::vector<std::string> words;
            if (const toml::array* many = t[key].as_array())
                for (const toml::node& one : *many) words.push_back(one.value_or<std::string>(""));
            return words;
        };
        if (const toml::array* rows = all["case"].as_array())
            for (const toml::node& node : *rows) {
                const toml::table& t = *node.as_table();
                CaseRow row;
                row.mark = {file, node.source().begin.line, node.source().begin.column};
                row.block = t["block"].value_or(0);
                row.site = t["site"].value_or<std::string>("");
                const std::string said = t["said"].value_or<std::string>("");
                row.said = text::tr(said);
                row.set = texts(t, "set");
                row.suspects = texts(t, "suspects");
                row.tests = texts(t, "tests");
                if (row.suspects.size() < 3 || row.tests.size() < 3)
                    throw site::BadInput(
                        text::say("{}: case: expected three suspects and three tests at least", row.mark.at()));
                for (const std::string& id : row.tests)
                    if (!bench::find_test(id))
                        throw site::BadInput(text::say("{}: tests: {} is no field test", row.mark.at(), id));
                list.push_back(std::move(row));
            }
    } catch (const files::Unreadable& why) {
        throw site::BadInput(fmt::format("{}:0:0: {}", file, why.what()));
    } catch (const toml::parse_error& e) {
        throw site::BadInput(fmt::format("{}:{}:{}: {}", file, e.source().begin.line, e.source().begin.column,
                                         site::on_one_line(text::parser_says(e.description()), 200)));
    }
    return list;
}

CaseTable::CaseTable(const CaseRow& row) : row_(row) {
    Scenario scenario = site::load_scenario(site::find_scenario(row.site));
    site::set_keys(scenario, row.set);
    const site::Works works = site::set_up(scenario);
    read_.assign(tests(), std::vector<std::vector<One>>(suspects()));
    cautions_.resize(tests());
    for (std::size_t s = 0; s < suspects(); ++s) {
        std::map<bench::Station, bench::Bench> benches;
        for (std::size_t t = 0; t < tests(); ++t) {
            const bench::FieldTest& row_of = test(t);
            auto at = benches.find(row_of.station);
            if (at == benches.end())
                at = benches
                         .emplace(row_of.station,
                                  bench::at_station(scenario, with(row.suspects[s], works), row_of.station))
                         .first;
            const bench::Bench& there = at->second;
            if (s == 0) cautions_[t] = bench::words(bench::hazards(row_of, there));
            for (const bench::Seen& seen : bench::observe(there, row_of.observations(there.site()->works))) {
                One one;
                one.where = seen.what.where();
                if (seen.gauge) {
                    one.shown = seen.gauge->shown();
                    if (seen.gauge->says.empty()) one.value = seen.gauge->value;
                    one.open = row_of.share * std::abs(seen.gauge->value) + row_of.least;
                } else if (seen.reading) {
                    one.shown = seen.reading->shown;
                    one.value = seen.reading->over_range ? std::nullopt : seen.reading->value;
                    if (one.value) {
                        const double low = seen.reading->low.value_or(*one.value),
                                     high = seen.reading->high.value_or(*one.value);
                        one.open = std::max(high - *one.value, *one.value - low) + row_of.share * std::abs(*one.value) +
                                   row_of.least;
                    }
                } else {
                    one.shown = text::tr("live: not measured");
                }
                read_[t][s].push_back(std::move(one));
            }
        }
    }
}

std::string CaseTable::name(std::size_t suspect) const {
    const std::string& text = row_.suspects[suspect];
    if (text == "none") return text::tr("nothing is wrong with it");
    const auto at = text.find('@'), is = text.find('=');
    const site::FaultRow* row = site::find_fault(text.substr(0, at));
    return text::say("{}, at {}", row ? text::tr(row->title) : text.substr(0, at).c_str(),
                     text.substr(at + 1, is - at - 1));
}

std::vector<std::string> CaseTable::shown(std::size_t test, std::size_t suspect) const {
    std::vector<std::string> list;
    for (const One& one : read_[test][suspect]) list.push_back(fmt::format("{}: {}", one.where, one.shown));
    return list;
}

std::vector<std::string> CaseTable::cautions(std::size_t test) const { return cautions_[test]; }

bool CaseTable::alike(std::size_t test, std::size_t a, std::size_t b) const {
    const auto &mine = read_[test][a], &theirs = read_[test][b];
    for (std::size_t n = 0; n < std::min(mine.size(), theirs.size()); ++n) {
        const One &p = mine[n], &q = theirs[n];
        if (p.value.has_value() != q.value.has_value()) return false;
        if (!p.value ? p.shown != q.shown : std::abs(*p.value - *q.value) > p.open + q.open) return false;
    }
    return mine.size() == theirs.size();
}

std::vector<std::size_t> CaseTable::left_after(std::size_t test, std::size_t truth,
                                               const std::vector<std::size_t>& left) const {
    std::vector<std::size_t> list;
    for (const std::size_t s : left)
        if (alike(test, truth, s)) list.push_back(s);
    return list;
}

double CaseTable::rules_out(std::size_t test, const std::vector<std::size_t>& left) const {
    double sum = 0.0;
    for (const std::size_t truth : left) sum += static_cast<double>(left.size() - left_after(test, truth, left).size());
    return left.empty() ? 0.0 : sum / static_cast<double>(left.size());
}

std::size_t CaseTable::best(const std::vector<std::size_t>& left, const std::vector<std::size_t>& done) const {
    std::size_t best = tests();
    double most = 0.0;
    for (std::size_t t = 0; t < tests(); ++t) {
        if (std::find(done.begin(), done.end(), t) != done.end()) continue;
        const double worth = rules_out(t, left) / test(t).minutes;
        if (worth > most) most = worth, best = t;
    }
    return best;
}

Guided::Guided(const CaseTable& table, Level level, std::uint64_t seed)
    : table_(table),
      level_(level),
      truth_(
          Draw(seed, fmt::format("case {} {}", table.row().block, static_cast<int>(level))).below(table.suspects())) {
    left_.resize(table.suspects());
    std::iota(left_.begin(), left_.end(), 0);
    lines_.push_back(text::say("The owner says: \"{}\"", table.row().said));
    lines_.push_back(text::tr("It can be:"));
    for (std::size_t s = 0; s < table.suspects(); ++s) lines_.push_back(fmt::format("  - {}", table.name(s)));
    // The expert's way through this case, as far as this level shows it.
    std::vector<std::size_t> way, left = left_;
    for (std::size_t t = table.best(left, way); t < table.tests(); t = table.best(left, way)) {
        way.push_back(t);
        left = table.left_after(t, truth_, left);
    }
    const auto shown = static_cast<std::size_t>(std::ceil(aids(level).shown * static_cast<double>(way.size())));
    for (std::size_t n = 0; n < shown; ++n) do_test(way[n], true);
    if (aids(level).shown >= 1.0) {
        lines_.push_back(left_.size() == 1 ? text::say("Only this is left: {}.", table.name(left_.front()))
                                           : text::tr("No test at hand parts what is left. Each of these fits:"));
        if (left_.size() > 1)
            for (const std::size_t s : left_) lines_.push_back("  - " + table.name(s));
        found_ = over_ = true;
        return;
    }
    offer();
}

// Cautions, what is done, what it shows; of the expert also why this one.
void Guided::do_test(std::size_t test, bool expert) {
    const bench::FieldTest& row = table_.test(test);
    const double out = table_.rules_out(test, left_);
    if (expert) {
        lines_.push_back(text::say("The expert takes: {}. It rules out {} of {} on average, in {:.0f} min.",
                                   text::tr(row.name), text::fixed(out, 1), left_.size(), row.minutes));
        std::size_t next = table_.tests();
        double most = 0.0;
        for (std::size_t t = 0; t < table_.tests(); ++t)
            if (const double worth = table_.rules_out(t, left_) / table_.test(t).minutes;
                t != test && worth > most && std::find(done_.begin(), done_.end(), t) == done_.end())
                most = worth, next = t;
        if (next < table_.tests())
            lines_.push_back(text::say("The next best would be {}: {} in {:.0f} min.", text::tr(table_.test(next).name),
                                       text::fixed(table_.rules_out(next, left_), 1), table_.test(next).minutes));
    }
    for (const std::string& line : table_.cautions(test)) lines_.push_back(text::say("before you touch: {}", line));
    lines_.push_back(fmt::format("{}: {}", text::tr(row.name), text::tr(row.how)));
    for (const std::string& line : table_.shown(test, truth_)) lines_.push_back("  " + line);
    if (!expert && out == 0.0) {
        points_ = std::max(0, points_ - needless_costs);
        lines_.push_back(text::say("Nothing of what was left could be told apart by it: {} points.", -needless_costs));
    }
    left_ = table_.left_after(test, truth_, left_);
    done_.push_back(test);
    hints_here_ = 0;
    if (expert) {
        lines_.push_back(text::say("Of what it could be, {}.", count(left_.size())));
        for (const std::size_t s : left_) lines_.push_back("  - " + table_.name(s));
    }
}

void Guided::offer() {
    choices_.clear();
    offered_.clear();
    for (std::size_t t = 0; t < table_.tests(); ++t) {
        if (std::find(done_.begin(), done_.end(), t) != done_.end()) continue;
        offered_.push_back(t);
        choices_.push_back(text::say("{}, {:.0f} min", text::tr(table_.test(t).name), table_.test(t).minutes));
    }
    choices_.push_back(text::tr("Say what it is"));
    lines_.push_back(aids(level_).hints ? text::tr("What next? (\"hint\" costs points.)") : text::tr("What next?"));
}

void Guided::hint() {
    const std::size_t t = table_.best(left_, done_);
    if (t == table_.tests()) {
        lines_.push_back(text::tr("No test at hand tells more. Say what it is."));
        return;
    }
    if (hints_here_ == 0) {
        points_ = std::max(0, points_ - half_costs);
        lines_.push_back(text::say("Hint, {} points: look at {}.", -half_costs, text::tr(half_of(table_.test(t)))));
    } else {
        points_ = std::max(0, points_ - test_costs);
        lines_.push_back(
            text::say("Hint, {} points: {} tells most in its time now.", -test_costs, text::tr(table_.test(t).name)));
    }
    hints_here_ = std::min(hints_here_ + 1, 1);
}

void Guided::end(std::size_t named) {
    over_ = true;
    // Who names one of those that no test at hand would part from what is so is right, when the readings bear it.
    const bool borne = std::all_of(left_.begin(), left_.end(), [&](std::size_t s) {
        for (std::size_t t = 0; t < table_.tests(); ++t)
            if (!table_.alike(t, s, truth_)) return false;
        return true;
    });
    const bool fits = std::find(left_.begin(), left_.end(), named) != left_.end();
    found_ = borne && fits;
    if (!found_) points_ = 0;
    if (found_) lines_.push_back(text::say("Found. {} points of 100.", points_));
    else if (!fits) lines_.push_back(text::tr("Not found: a reading speaks against it. 0 points."));
    else lines_.push_back(text::say("Not found: your readings leave {} of them. 0 points.", left_.size()));
    lines_.push_back(text::say("It is: {}.", table_.name(truth_)));
}

void Guided::answer(const std::string& said) {
    if (over_) return;
    lines_.clear();
    if (said == "hint" && !naming_) {
        if (aids(level_).hints) hint();
        else lines_.push_back(text::tr("There are no hints at this level."));
        return offer();
    }
    std::size_t n = 0;
    const auto [rest, error] = std::from_chars(said.data(), said.data() + said.size(), n);
    if (error != std::errc() || rest != said.data() + said.size() || n < 1 || n > choices_.size()) {
        lines_.push_back(text::say("Choose one by its number, 1 to {}.", choices_.size()));
        return;
    }
    if (naming_) return end(n - 1);
    if (n == choices_.size()) {
        naming_ = true;
        choices_.clear();
        for (std::size_t s = 0; s < table_.suspects(); ++s) choices_.push_back(table_.name(s));
        lines_.push_back(text::tr("What is it?"));
        return;
    }
    do_test(offered_[n - 1], false);
    offer();
}

}  // namespace sunshaft::teach
