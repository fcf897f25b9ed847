#include "diagnose/history.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>

#include "day/run.hpp"
#include "day/skies.hpp"
#include "site/keys.hpp"
#include "text/heard.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr double step_s = 600.0;
constexpr day::Date some_day{2026, 4, 21};  // between the longest day and the mean one
constexpr std::array skies{"clear", "changing"};
// How loosely people tell: hours of the clock, the logarithm of a count. Common practice, no source.
constexpr double clock_sd = 0.75, count_sd = 0.5;
// That somebody tells of it where it is not so: memory errs, and other days were other days.
constexpr double told_amiss = 0.02;
// That it is told of where something is wrong that nobody here knows.
constexpr double told_of_unknown = 0.1;
// And of what comes with rain but costs no water in a day's run.
constexpr double told_of_unseen = 0.2;

// Of the days before: what is listened for.
const text::Heard midday{"noon", "midday"}, stops{"stop", "quit", "cuts out", "goes off", "gives up", "no water"},
    not_midday{"afternoon", "before noon"}, full{"full"}, rain{"rain"},
    each_time{"only", "each time", "every time", "always", "whenever"}, start{"start"},
    daily{"a day", "per day", "each day", "every day", "daily"}, hour_from{"at", "by", "from", "around", "about"},
    hour_until{"by", "at", "around", "about", "before"};

struct Count {
    text::Heard name;
    double value;
};
const Count counts[] = {
    {{"one"}, 1},     {{"two"}, 2},     {{"three"}, 3},           {{"four"}, 4},     {{"five"}, 5},
    {{"six"}, 6},     {{"seven"}, 7},   {{"eight"}, 8},           {{"nine"}, 9},     {{"ten"}, 10},
    {{"eleven"}, 11}, {{"twelve"}, 12}, {{"noon", "midday"}, 12}, {{"fifteen"}, 15}, {{"twenty"}, 20},
    {{"thirty"}, 30}, {{"forty"}, 40},  {{"fifty"}, 50},          {{"hundred"}, 100}};

// Words and figures of a sentence, in small letters.
std::vector<std::string> words_of(const std::string& sentence) {
    std::vector<std::string> list;
    std::string word;
    for (const char c : text::folded(sentence) + " ") {
        const auto u = static_cast<unsigned char>(c);
        if (std::isalnum(u) || c == ':') word += c;
        else if (!word.empty()) list.push_back(std::move(word)), word.clear();
    }
    return list;
}

std::optional<double> number(const std::string& word) {
    for (const Count& c : counts)
        if (c.name.is(word)) return c.value;
    if (word.empty() || !std::isdigit(static_cast<unsigned char>(word[0]))) return {};
    try {
        std::size_t end = 0;
        double value = std::stod(word, &end);
        if (end < word.size() && word[end] == ':') value += std::stod(word.substr(end + 1)) / 60;
        else if (word.substr(end) == "pm" && value < 12) value += 12;
        else if (end < word.size() && word.substr(end) != "am" && word.substr(end) != "pm") return {};
        return value;
    } catch (const std::exception&) {
        return {};
    }
}

// Hours after the words given: a small figure is one of the afternoon.
std::vector<double> hours_after(const std::vector<std::string>& words, const text::Heard& before) {
    std::vector<double> list;
    for (std::size_t n = 0; n + 1 < words.size(); ++n) {
        if (!before.is(words[n])) continue;
        if (auto hour = number(words[n + 1])) list.push_back(*hour < 8 ? *hour + 12 : *hour);
    }
    return list;
}

double bell(double off, double sd) { return std::exp(-0.5 * off * off / (sd * sd)); }

// When the water of a day comes to so much; 24: not that day.
double reached(const DayShown& d, double m3) {
    const auto at = std::find_if(d.water_m3.begin(), d.water_m3.end(), [m3](double w) { return w >= m3; });
    return at == d.water_m3.end() ? 24.0 : static_cast<double>(at - d.water_m3.begin() + 1) * step_s / 3600;
}

DayShown shown(const day::Result& r, double midnight) {
    DayShown d;
    d.water_m3.assign(static_cast<std::size_t>(86400 / step_s), 0.0);
    // Tries that fail at dawn and dusk are no starts to who stands by.
    for (const day::Event& e : r.events) d.starts += e.cause == drive::Cause::ramp_done;
    for (std::size_t n = 0; n < r.marks.size(); ++n) {
        const day::Mark& m = r.marks[n];
        const double to = n + 1 < r.marks.size() ? r.marks[n + 1].t : m.t + step_s;
        const double from_h = (m.t - midnight) / 3600, to_h = (to - midnight) / 3600;
        const auto within = [&](double a, double b) { return std::max(0.0, std::min(to_h, b) - std::max(from_h, a)); };
        if (m.out > 1e-6) d.morning_h += within(7, 10), d.midday_h += within(11.5, 14.5);
        if (m.phase == drive::Phase::tank_hold) d.full_h = std::min(d.full_h, from_h);
        const auto k = static_cast<std::size_t>(std::clamp(from_h * 3600 / step_s, 0.0, 86400 / step_s - 1));
        d.water_m3[k] += m.out * (to - m.t);
    }
    for (std::size_t k = 1; k < d.water_m3.size(); ++k) d.water_m3[k] += d.water_m3[k - 1];
    return d;
}

// A day between two: of a severity between theirs.
DayShown between(const DayShown& a, const DayShown& b, double share) {
    const auto mix = [share](double x, double y) { return x + share * (y - x); };
    DayShown d{mix(a.morning_h, b.morning_h), mix(a.midday_h, b.midday_h), mix(a.starts, b.starts), a.water_m3,
               mix(a.full_h, b.full_h)};
    for (std::size_t k = 0; k < d.water_m3.size(); ++k) d.water_m3[k] = mix(a.water_m3[k], b.water_m3[k]);
    return d;
}

}  // namespace

double DayShown::by(double hour) const {
    const auto n = static_cast<std::size_t>(std::clamp(hour * 3600 / step_s, 0.0, 86400 / step_s));
    return n == 0 ? 0.0 : water_m3[n - 1];
}

std::optional<Told> told(const std::string& sentence) {
    const std::string said = text::folded(sentence);
    const auto words = words_of(sentence);
    Told t;
    t.said = sentence;
    if (midday.in(said) && stops.in(said) && !not_midday.in(said)) {
        t.what = Told::What::stops_midday;
        t.now = 15.0;
        for (const double hour : hours_after(words, hour_from))
            if (hour > 12.5) t.now = hour;
        return t;
    }
    if (full.in(said)) {
        const auto hours = hours_after(words, hour_until);
        if (hours.size() < 2) return {};  // since when it is so is what tells
        t.what = Told::What::full_by;
        // "by two last month, by four now": the later one is how it is.
        t.before = std::min(hours[0], hours[1]), t.now = std::max(hours[0], hours[1]);
        return t;
    }
    if (rain.in(said) && each_time.in(said)) {
        t.what = Told::What::after_rain;
        return t;
    }
    if (start.in(said) && daily.in(said)) {
        for (const std::string& w : words)
            if (const auto n = number(w)) t.now = std::max(t.now, *n);
        if (!(t.now > 0.0)) return {};
        t.what = Told::What::starts;
        return t;
    }
    return {};
}

History::History(const Scenario& scenario, const std::vector<std::string>& intake, const Priors* priors)
    : scenario_(scenario), priors_(priors) {
    for (const std::string& sentence : intake) {
        if (auto t = diagnose::told(sentence)) told_.push_back(std::move(*t));
        else rest_.push_back(sentence);
    }
    if (told_.empty()) return;
    try {
        day::check(scenario_);
        const day::Averager averager(scenario_, {});
        slow_ = !averager.averaged();
        healthy_ = days({});
    } catch (const site::BadInput&) {  // no day here: the priors' words must do
        told_.clear();
        rest_ = intake;
    }
}

std::vector<DayShown> History::days(const Change& change) const {
    Scenario s = scenario_;
    // A day has its own sun; where too little of it is what is supposed, it is a dull one.
    bool dull = false;
    std::vector<std::string> sets;
    for (const std::string& one : change.set) (one.starts_with("sun.") ? dull = true : (sets.push_back(one), true));
    site::set_keys(s, sets);
    const day::Array array(s);
    const double midnight = day::seconds_of(some_day) - 3600 * day::utc_offset_h(s);
    std::vector<DayShown> list;
    day::Averager averager(s, change.faults);
    for (const char* id : skies) {
        if (slow_ && !list.empty()) break;
        const day::NamedSky& sky = day::shipped_skies().sky(dull ? "overcast" : id);
        const auto moments = day::moments(day::under(sky, day::clear_sky(s, some_day, 1, step_s)), array, step_s);
        day::Options o;
        o.longest_step = step_s;
        o.marks = true;
        list.push_back(shown(day::run(averager, moments, o), midnight));
    }
    return list;
}

double History::likely(const Told& t, const std::string& fault, const DayShown& d, const DayShown& healthy) const {
    switch (t.what) {
        case Told::What::stops_midday: {
            // It pumps before and after; how much of midday it stands still is how surely it is told of.
            if (d.morning_h < 0.2 || d.by(18.0) - d.by(t.now) < 0.05) return told_amiss;
            const double still = 1.0 - d.midday_h / 3.0;
            return told_amiss + (0.8 - told_amiss) * std::clamp((still - 0.2) / 0.4, 0.0, 1.0);
        }
        case Told::What::full_by: {
            // As much as it took to fill it then: what was drawn meanwhile is the same.
            const double m3 = healthy.by(std::min(t.before, healthy.full_h));
            const double later = reached(d, 0.99 * m3) - reached(healthy, 0.99 * m3);
            return std::max(0.1 * told_amiss, bell(later - (t.now - t.before), clock_sd));
        }
        case Told::What::starts:
            return std::max(told_amiss, bell(std::log(t.now) - std::log(std::max(d.starts, 0.5)), count_sd));
        case Told::What::after_rain: {
            if (!priors_ || priors_->times(fault, {t.said}) <= 1.0) return told_amiss;
            // On the wet day less water comes, or it starts again and again. Nothing of both: what then stops it, as an
            // earth-fault device does, lies outside the day.
            const double water = healthy.by(24.0), lost = water > 0.0 ? 1.0 - d.by(24.0) / water : 0.0;
            const double more = std::log(std::max(d.starts, 0.5) / std::max(healthy.starts, 0.5));
            return std::max(told_of_unseen, 0.8 * std::clamp(std::max(lost / 0.3, more), 0.0, 1.0));
        }
    }
    return 1.0;
}

std::optional<double> History::likely(const Cause& cause) {
    // Written data have a key each; a fault's places are alike.
    const std::string key = cause.fault == "site-data" ? cause.fault + cause.places.front() : cause.fault;
    if (const auto at = known_.find(key); at != known_.end()) return at->second;
    try {
        std::vector<std::vector<DayShown>> points;  // by severity and sky
        for (std::size_t n = 0; n < cause.points.size(); ++n) {
            // Of a range the mild beginning looks as a healthy site does.
            const bool mild = cause.graded && n == 0 && cause.points.size() > 1;
            if (slow_ && cause.graded && !mild && n + 1 < cause.points.size()) continue;
            const Change& change = cause.points[n].change;
            if (!change.faults.empty() && !day::unseen(scenario_, change.faults).empty()) return known_[key] = {};
            points.push_back(mild ? healthy_ : days(change));
        }
        known_[key] = over(points, cause.fault, cause.graded);
    } catch (const std::exception&) {  // such a site has no day
        known_[key] = {};
    }
    return known_[key];
}

// The mean over severities and skies. What is told may fit one hour of the clock alone, and no two severities looked
// at need show it: those between them do.
double History::over(const std::vector<std::vector<DayShown>>& points, const std::string& fault, bool graded) const {
    constexpr int steps = 8;  // from one severity to the next
    double sum = 0.0;
    int count = 0;
    const auto add = [&](const DayShown& d, std::size_t sky) {
        double product = 1.0;
        for (const Told& t : told_) product *= likely(t, fault, d, healthy_[sky]);
        sum += product, ++count;
    };
    for (std::size_t n = 0; n < points.size(); ++n)
        for (std::size_t k = 0; k < points[n].size(); ++k) {
            add(points[n][k], k);
            if (!graded || n + 1 == points.size()) continue;
            for (int step = 1; step < steps; ++step)
                add(between(points[n][k], points[n + 1][k], static_cast<double>(step) / steps), k);
        }
    return sum / count;
}

void History::weigh(std::vector<Cause>& causes, const Priors& priors) {
    if (empty()) return;
    std::vector<std::string> said;
    for (const Told& t : told_) said.push_back(t.said);
    // Of what a day's run does not know: as a healthy site, times what the priors' words make of it.
    double healthy = 0.0;
    for (const DayShown& d : healthy_) {
        double product = 1.0;
        for (const Told& t : told_) product *= likely(t, "", d, d);
        healthy += product / static_cast<double>(healthy_.size());
    }
    double sum = 0.0;
    for (Cause& c : causes) {
        const auto known = likely(c);
        if (c.fault == "nothing-here-fits") c.prior *= told_of_unknown;
        else if (known) c.prior *= *known;
        else c.prior *= std::min(1.0, healthy * priors.times(c.fault, said));
        sum += c.prior;
    }
    for (Cause& c : causes) c.prior /= sum;
}

}  // namespace sunshaft::diagnose
