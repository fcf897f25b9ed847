#include "diagnose/sights.hpp"

#include <fmt/format.h>
#include <sys/stat.h>

#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_group.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <map>
#include <mutex>
#include <optional>

#include "bench/observe.hpp"
#include "diagnose/kept.hpp"
#include "diagnose/looking.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::diagnose {
namespace {

constexpr const char* waits = " while it waits";  // behind the key of a look

constexpr std::uint64_t behaves = 3, cannot_be = 4;

double packed(const Behaviour& b) {
    return static_cast<double>(static_cast<int>(b.phase) + 64 * static_cast<int>(b.trip) + 4096 * (b.driven ? 1 : 0) +
                               8192 * (b.turns ? 1 : 0) + 16384 * std::min(b.trips, 60) +
                               1048576 * static_cast<int>(b.or_trip));
}
Behaviour unpacked(double value) {
    const int n = static_cast<int>(value);
    return {static_cast<drive::Phase>(n % 64),
            static_cast<drive::Cause>(n / 64 % 64),
            n / 16384 % 64,
            (n / 4096 & 1) != 0,
            (n / 8192 & 1) != 0,
            static_cast<drive::Cause>(n / 1048576)};
}

// How a site is laid over one that shows the same: its phases moved on by so many, one string changed with the first.
struct Turn {
    int phases = 0, string = 1;
};
bool apart(char c) { return c == '.' || c == '-' || c == '+' || c == ',' || c == '@' || c == ':'; }
// Where a name begins at n, the number of the string it is; 0: none. end: behind it.
int string_at(const std::string& text, std::size_t n, std::size_t& end) {
    if (text[n] != 's' || (n > 0 && !apart(text[n - 1]))) return 0;
    for (end = n + 1; end < text.size() && text[end] >= '0' && text[end] <= '9';) ++end;
    if (end == n + 1 || end > n + 4 || (end < text.size() && !apart(text[end]))) return 0;
    return std::stoi(text.substr(n + 1, end - n - 1));
}
// The names u, v, w and s1, s2 ... in a text as they are after the turn: "drive.u", "u-v", "s2.m3+", "fuse.s1".
std::string turned(const std::string& text, const Turn& by) {
    if (text == "uvw") return text;
    std::string out;
    for (std::size_t n = 0; n < text.size();) {
        std::size_t end = n + 1;
        const bool alone = (n == 0 || apart(text[n - 1])) && (n + 1 == text.size() || apart(text[n + 1]));
        if (alone && text[n] >= 'u' && text[n] <= 'w') {
            out += static_cast<char>('u' + (text[n] - 'u' + by.phases) % 3);
        } else if (const int string = string_at(text, n, end); string && by.string != 1) {
            out += fmt::format("s{}", string == by.string ? 1 : string == 1 ? by.string : string);
        } else {
            end = n + 1;
            out += text[n];
        }
        n = end;
    }
    return out;
}
// What lays a place over its like that is named first.
Turn turn_to_first(const std::string& place) {
    Turn to;
    const std::string moved = turned(place, {1, 1});
    bool named = false;  // a phase: the first one decides
    for (std::size_t n = 0; n < place.size(); ++n) {
        std::size_t end = n;
        if (moved[n] != place[n] && !named) to.phases = (3 - (place[n] - 'u')) % 3, named = true;
        if (const int string = string_at(place, n, end)) to.string = string;
    }
    return to;
}

std::string text_of(const Change& c, const Turn& by) {
    std::string text;
    for (const std::string& s : c.set) text += "set " + s + "\n";
    for (const site::Fault& f : c.faults)
        text += fmt::format("fault {}@{}={}@{}\n", f.kind, turned(f.place, by), f.severity, f.start);
    return text;
}
Look turned(Look l, const Turn& by) {
    l.probes = {turned(l.probes.red, by), turned(l.probes.black, by), turned(l.probes.around, by)};
    l.gauge = turned(l.gauge, by);
    return l;
}
State turned(State s, const Turn& by) {
    for (site::Act& a : s.acts) a.place = turned(a.place, by);
    return s;
}

// A site to be worked out, in the states it is asked in.
struct Part {
    State state;
    std::vector<Look> looks;
    Sight seen;
};
struct Job {
    Change change;
    std::string text;
    std::vector<Part> parts;
    std::optional<Standing> standing;  // where it was not known
};

}  // namespace

bool State::restarts() const {
    return std::isfinite(after_s) &&
           std::any_of(acts.begin(), acts.end(), [](const site::Act& a) { return a.kind == "restart"; });
}

std::string State::key() const {
    std::string text;
    for (const site::Act& a : acts) text += fmt::format("{}@{} ", a.kind, a.place);
    if (std::isfinite(after_s)) text += fmt::format("after {}", after_s);
    return text;
}

std::string Look::key() const {
    if (!gauge.empty()) return "gauge " + gauge;
    return fmt::format("{} {} {} {} {}{}", meter::mode_name(mode), probes.red, probes.black, probes.around, meter,
                       zeroed ? " zeroed" : "");
}

struct Sights::Kept {
    Scenario scenario;
    Runs runs{scenario};
    ContentId site;
    bool phases_alike = false, strings_alike = false;
    long computed = 0;
    KeptSights answers;

    ContentId id(const std::string& change, const State& state, std::string_view look) const {
        ContentId at = id_of(change, site);
        at = id_of(state.key(), id_of("\n", at));
        return id_of(look, id_of("\n", at));
    }
    ContentId standing_id(const std::string& change) const { return id_of("\nstands", id_of(change, site)); }
    Shown shown(const std::string& change, const State& state, const std::string& look) const {
        const SightRecord* r = answers.find(id(change, state, look));
        if (!r) return {};
        const SightRecord* wait = answers.find(id(change, state, look + waits));
        Shown s{static_cast<Shown::Kind>(r->kind), r->value, r->band, r->step};
        if (wait) s.waits = wait->value, s.waits_band = wait->band, s.waits_step = wait->step;
        return s;
    }
    Turn turn_of(const Ask& ask) const;
    std::vector<Job> unknown(const std::vector<Ask>& asked, const std::vector<Turn>& by) const;
    void work_out(Job& job) const;
    void put(const Job& job);
};

Sights::Sights(Scenario scenario, const std::string& folder) : kept_(std::make_unique<Kept>()) {
    Kept& k = *kept_;
    k.scenario = std::move(scenario);
    // Another program computes other figures: its size and date are part of the question.
    struct stat program {};
    const bool there = stat("/proc/self/exe", &program) == 0;
    k.site = id_of(fmt::format("{} {} {}\n", there ? program.st_size : 0, there ? program.st_mtim.tv_sec : 0,
                               there ? program.st_mtim.tv_nsec : 0));
    k.site = id_of(site::to_toml(k.scenario, site::Write::all), k.site);
    for (const PlantedFault& f : k.scenario.faults)
        k.site = id_of(fmt::format("{}@{}={}", f.kind, f.place, f.severity), k.site);
    const auto& s = k.scenario.splice;
    k.phases_alike = s.u_ohm == s.v_ohm && s.v_ohm == s.w_ohm && k.scenario.faults.empty() &&
                     k.scenario.drive.current_sensing != "two-shunts";
    k.strings_alike = k.scenario.faults.empty();
    if (!folder.empty()) k.answers.open(fmt::format("{}/{:016x}{:016x}", folder, k.site.a, k.site.b));
}

Sights::~Sights() = default;
const Scenario& Sights::scenario() const { return kept_->scenario; }
long Sights::computed() const { return kept_->computed; }

// A site whose phases are alike answers for v and w what it answers for u, one letter on; and so its strings.
Turn Sights::Kept::turn_of(const Ask& ask) const {
    if (ask.change.faults.empty()) return {};
    Turn by = turn_to_first(ask.change.faults.front().place);
    if (!phases_alike) by.phases = 0;
    if (!strings_alike) by.string = 1;
    return by;
}

// What is not known yet: each site once, with the states it is asked in, and each of these with all that is to be
// looked at there.
std::vector<Job> Sights::Kept::unknown(const std::vector<Ask>& asked, const std::vector<Turn>& by) const {
    std::vector<Job> jobs;
    std::map<std::string, std::size_t> job_at;
    for (std::size_t n = 0; n < asked.size(); ++n) {
        const Ask& a = asked[n];
        const std::string text = text_of(a.change, by[n]);
        const State state = turned(a.state, by[n]);
        const SightRecord* whole = answers.find(id(text, state, "state"));
        if (whole && whole->kind == cannot_be) continue;
        std::vector<Look> looks;
        for (const Look& l : a.looks)
            if (Look there = turned(l, by[n]); !answers.find(id(text, state, there.key())))
                looks.push_back(std::move(there));
        if (whole && looks.empty()) continue;
        const auto [job, new_site] = job_at.try_emplace(text, jobs.size());
        if (new_site) {
            Change change = a.change;
            for (site::Fault& f : change.faults) f.place = turned(f.place, by[n]);
            jobs.push_back({std::move(change), text, {}, {}});
        }
        std::vector<Part>& parts = jobs[job->second].parts;
        auto part =
            std::find_if(parts.begin(), parts.end(), [&](const Part& p) { return p.state.key() == state.key(); });
        if (part == parts.end()) part = parts.insert(parts.end(), {state, {}, {}});
        for (Look& l : looks)
            if (std::none_of(part->looks.begin(), part->looks.end(), [&](const Look& x) { return x.key() == l.key(); }))
                part->looks.push_back(std::move(l));
    }
    return jobs;
}

void Sights::Kept::work_out(Job& job) const {
    std::optional<Run> running;
    const auto see_part = [&](Part& part) {
        if (!running && Runs::from_running(part.state)) {
            // Taken up from what is kept of it, whether it was known or not: the same figures either way.
            const bench::Bench at_rest = runs.at_rest(job.change);
            const Standing* known = answers.standing(standing_id(job.text));
            if (!known) known = &job.standing.emplace(runs.standing(job.change, at_rest));
            running.emplace(Runs::taken_up(at_rest, *known));
        }
        const bool as_it_stands = part.state.running();
        std::optional<Run> after;
        if (!as_it_stands) after.emplace(runs.after(job.change, part.state, running ? &*running : nullptr));
        const Run& run = as_it_stands ? *running : *after;
        const plant::State& s = run.bench.state();
        part.seen.behaviour = {s.control.phase, s.control.trip, s.control.trips, s.command.running,
                               std::abs(s.x[plant::speed]) > 3.0};
        look_long_enough(run, part.looks, as_it_stands, part.seen);
    };
    for (Part& part : job.parts) {
        try {
            see_part(part);
        } catch (const std::exception&) {
            part.seen.possible = false;
        }
    }
}

void Sights::Kept::put(const Job& job) {
    if (job.standing) answers.put(standing_id(job.text), *job.standing);
    for (const Part& part : job.parts) {
        ++computed;
        const ContentId at = id(job.text, part.state, "state");
        if (!part.seen.possible) {
            answers.put({at, 0.0, 0.0, 0.0, cannot_be});
            continue;
        }
        answers.put({at, packed(part.seen.behaviour), 0.0, 0.0, behaves});
        for (std::size_t l = 0; l < part.looks.size(); ++l) {
            const Shown& s = part.seen.shown[l];
            const std::string look = part.looks[l].key();
            answers.put({id(job.text, part.state, look), s.value, s.band, s.step, static_cast<std::uint64_t>(s.kind)});
            if (std::isfinite(s.waits))
                answers.put({id(job.text, part.state, look + waits), s.waits, s.waits_band, s.waits_step,
                             static_cast<std::uint64_t>(Shown::Kind::figure)});
        }
    }
}

std::vector<Sight> Sights::see(const std::vector<Ask>& asked, const std::function<bool(double)>& progress) {
    Kept& k = *kept_;
    std::vector<Turn> by;
    for (const Ask& a : asked) by.push_back(k.turn_of(a));
    std::vector<Job> jobs = k.unknown(asked, by);
    (void)bench::usual_meter(meter::Mode::dcv);  // read from their files once, before there are several
    tbb::task_group_context context;
    std::mutex lock;
    std::size_t done = 0;
    bool stopped = false;
    tbb::parallel_for(
        std::size_t{0}, jobs.size(),
        [&](std::size_t n) {
            k.work_out(jobs[n]);
            const std::lock_guard hold(lock);
            ++done;
            if (progress && !stopped && !progress(static_cast<double>(done) / static_cast<double>(jobs.size()))) {
                stopped = true;
                context.cancel_group_execution();
            }
        },
        context);
    if (stopped) throw Stopped();
    for (const Job& job : jobs) k.put(job);
    std::vector<Sight> answers(asked.size());
    for (std::size_t n = 0; n < asked.size(); ++n) {
        const std::string text = text_of(asked[n].change, by[n]);
        const State state = turned(asked[n].state, by[n]);
        const SightRecord* whole = k.answers.find(k.id(text, state, "state"));
        answers[n].shown.resize(asked[n].looks.size());
        if (!whole || whole->kind == cannot_be) {
            answers[n].possible = false;
            continue;
        }
        answers[n].behaviour = unpacked(whole->value);
        for (std::size_t l = 0; l < asked[n].looks.size(); ++l)
            answers[n].shown[l] = k.shown(text, state, turned(asked[n].looks[l], by[n]).key());
    }
    return answers;
}

void Sights::keep() const { kept_->answers.keep(); }

std::string cache_folder() {
    if (const char* own = std::getenv("SUNSHAFT_CACHE")) return own;
    if (const char* cache = std::getenv("XDG_CACHE_HOME"); cache && *cache == '/')
        return std::string(cache) + "/sunshaft";
    if (const char* home = std::getenv("HOME"); home && *home == '/') return std::string(home) + "/.cache/sunshaft";
    return "";
}

}  // namespace sunshaft::diagnose
