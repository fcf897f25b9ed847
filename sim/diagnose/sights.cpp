#include "diagnose/sights.hpp"

#include <fmt/format.h>
#include <sys/stat.h>

#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_group.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <map>
#include <mutex>
#include <unordered_map>

#include "bench/field_tests.hpp"
#include "files/fresh_file.hpp"
#include "files/input.hpp"
#include "plant/steady.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::diagnose {
namespace {

namespace fs = std::filesystem;

constexpr double ran_s = 8.0, longest_s = 60.0;
constexpr double window_s = 0.4, turns_alike_s = 0.1;  // that are looked at: in general, and where every turn is alike
constexpr std::size_t most_records = 200000, most_files = 24;
constexpr std::string_view magic = "sunshaft sights 1\n";

struct Id {
    std::uint64_t a = 0, b = 0;
    friend bool operator==(const Id&, const Id&) = default;
};
struct Hash {
    std::size_t operator()(const Id& id) const { return id.a; }
};
// FNV-1a, and the same from another start.
Id id_of(std::string_view text, Id from = {14695981039346656037ull, 0x9ae16a3b2f90404full}) {
    for (const char c : text) {
        from.a = (from.a ^ static_cast<unsigned char>(c)) * 1099511628211ull;
        from.b = (from.b ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
        from.b ^= from.b >> 29;
    }
    return from;
}

// One answer as it is kept. kind 3: how the site behaves; 4: such a site cannot be.
struct Record {
    Id id;
    double value = 0.0, band = 0.0, step = 0.0;
    std::uint64_t kind = 0;
};
constexpr std::uint64_t behaves = 3, impossible = 4;

double packed(const Behaviour& b) {
    return static_cast<double>(static_cast<int>(b.phase) + 64 * static_cast<int>(b.trip) + 4096 * (b.driven ? 1 : 0) +
                               8192 * (b.turns ? 1 : 0) + 16384 * std::min(b.trips, 60));
}
Behaviour unpacked(double value) {
    const int n = static_cast<int>(value);
    return {static_cast<drive::Phase>(n % 64), static_cast<drive::Cause>(n / 64 % 64), n / 16384, (n / 4096 & 1) != 0,
            (n / 8192 & 1) != 0};
}

// The names u, v, w in a text, each moved on by so many: "drive.u", "u-v", "splice.w", "v.upper".
std::string turned(const std::string& text, int by) {
    std::string out = text;
    const auto apart = [](char c) { return c == '.' || c == '-' || c == ',' || c == '@' || c == ':'; };
    if (text == "uvw") return text;
    for (std::size_t n = 0; n < out.size(); ++n) {
        if (out[n] < 'u' || out[n] > 'w') continue;
        if ((n > 0 && !apart(out[n - 1])) || (n + 1 < out.size() && !apart(out[n + 1]))) continue;
        out[n] = static_cast<char>('u' + (out[n] - 'u' + by) % 3);
    }
    return out;
}
// The phase a place names first: 0 u, 1 v, 2 w; -1: none.
int letter_in(const std::string& text) {
    const std::string there = turned(text, 1);
    for (std::size_t n = 0; n < text.size(); ++n)
        if (there[n] != text[n]) return text[n] - 'u';
    return -1;
}

std::string text_of(const Change& c, int by) {
    std::string text;
    for (const std::string& s : c.set) text += "set " + s + "\n";
    for (const site::Fault& f : c.faults)
        text += fmt::format("fault {}@{}={}@{}\n", f.kind, turned(f.place, by), f.severity, f.start);
    return text;
}
Look turned(Look l, int by) {
    l.probes = {turned(l.probes.red, by), turned(l.probes.black, by), turned(l.probes.around, by)};
    return l;
}
State turned(State s, int by) {
    for (site::Act& a : s.acts) a.place = turned(a.place, by);
    return s;
}

std::shared_ptr<const meter::Spec> spec_of(const Look& look) {
    static std::mutex lock;
    static std::unordered_map<std::string, std::shared_ptr<const meter::Spec>> read;
    const std::lock_guard hold(lock);
    auto& spec = read[look.meter];
    if (!spec) spec = std::make_shared<const meter::Spec>(meter::find_spec(look.meter));
    return spec;
}

Shown shown(const meter::Reading& r) {
    if (r.over_range) return {Shown::Kind::over, 0.0, 0.0, 0.0};
    if (!r.value || !std::isfinite(*r.value)) return {};
    const double band = r.low && r.high ? 0.5 * (*r.high - *r.low) : 0.01 * std::abs(*r.value);
    return {Shown::Kind::figure, *r.value, std::isfinite(band) ? band : 0.0, r.resolution};
}

bool cut_off(const std::vector<site::Act>& acts) {
    return std::any_of(acts.begin(), acts.end(), [](const site::Act& a) {
        return (a.kind == "open" && a.place == "isolator") || a.kind == "stop" || a.kind == "cover";
    });
}

// The site as it is written, running: whose state others that start alike take over.
struct Neighbour {
    bench::Bench bench;
    plant::Periodic periodic;
};

std::unique_ptr<const Neighbour> neighbour(const Scenario& scenario) {
    bench::Bench b(scenario);
    if (!b.settle(longest_s).settled) return {};
    plant::Periodic p = plant::periodic(b.plant(), b.state());
    if (!p.found) return {};
    return std::make_unique<const Neighbour>(Neighbour{std::move(b), std::move(p)});
}

// Where a site that differs little from its neighbour runs, without a start; false: nobody knows. window: of it to be
// looked at, s.
bool beside(const Neighbour& n, bench::Bench& b, double& window) {
    if (!plant::starts_alike(*n.bench.site(), *b.site())) return false;
    bench::Bench trial(b);
    plant::take_up(trial.plant(), trial.state(), *n.bench.site(), n.bench.state());
    const plant::State taken = trial.state();
    try {
        const bool alike = plant::periodic(trial.plant(), trial.state(), &n.periodic).found;
        window = alike ? turns_alike_s : window_s;
        if (alike || plant::runs_on(trial.plant(), trial.state())) {
            if (!b.site()->source.stiff && !plant::from_above(b.site()->source, trial.state().control.link_V))
                return false;
        } else if (!plant::hunting(trial.plant(), trial.state())) {
            return false;
        }
    } catch (const plant::SolverError&) {
        return false;
    }
    if (trial.state().control.trips != taken.control.trips) return false;
    b = std::move(trial);
    return true;
}

// As a start ends: at rest, hunting about the best point, or at the same place of a cycle that comes again and again
// where so much waiting would have ended.
void run_in(bench::Bench& b) {
    plant::Patience patience(*b.site(), b.state());
    const double from = b.time();
    b.settle(longest_s, [&](double fraction) { return patience(fraction); });
    if (patience.cycle == 0.0) return;
    const double left = from + longest_s - b.time();
    const double rest = left - patience.cycle * std::floor(left / patience.cycle);
    b.state().slow.held = true;
    if (rest > 0.0) b.advance(rest);
    b.state().slow.held = false;
}

bench::Bench in_state(const Scenario& scenario, const Change& change, const State& state, const Neighbour* near,
                      double& window) {
    window = window_s;
    bench::Edits edits{change.set, change.faults, {}};
    std::vector<site::Act> acts = state.acts;
    if (std::isfinite(state.after_s)) {
        bench::Bench b(scenario, edits);
        b.advance(ran_s);
        for (site::Act& a : acts) a.time = b.time();
        edits.acts = acts;
        b.edit(edits);
        b.advance(state.after_s);
        return b;
    }
    for (site::Act& a : acts) a.time = 0.0;
    edits.acts = acts;
    bench::Bench b(scenario, edits);
    if (cut_off(acts)) b.state().x = {};  // the link has been waited for
    else if (!near || !acts.empty() || !beside(*near, b, window)) {
        window = window_s;
        run_in(b);
    }
    return b;
}

void look_at(const bench::Bench& b, double window, const std::vector<Look>& looks, std::vector<Shown>& out) {
    std::vector<bench::Observation> what;
    for (const Look& l : looks) {
        bench::Observation o{l.probes, l.mode, l.gauge, {}, {}};
        if (l.gauge.empty() && !l.meter.empty()) o.instrument = spec_of(l);
        o.set.relative = l.zeroed;
        what.push_back(std::move(o));
    }
    const auto read = [&](const std::vector<bench::Observation>& some, std::size_t from) {
        const auto seen = bench::observe(b, some, window);
        for (std::size_t n = 0; n < seen.size(); ++n) {
            if (seen[n].gauge) out[from + n] = {Shown::Kind::figure, seen[n].gauge->value, 0.0, 0.0};
            else if (seen[n].reading) out[from + n] = shown(*seen[n].reading);
        }
    };
    out.assign(looks.size(), {});
    try {
        read(what, 0);
    } catch (const std::exception&) {  // one of them has no place here, or no answer: the others by themselves
        for (std::size_t n = 0; n < what.size(); ++n) {
            try {
                read({what[n]}, n);
            } catch (const std::exception&) {
                out[n] = {};
            }
        }
    }
}

}  // namespace

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
    std::string file;
    Id site;
    bool alike = false;  // the three phases
    long computed = 0, added = 0;
    std::unordered_map<Id, Record, Hash> known;
    std::vector<Id> order;
    std::mutex lock;
    std::unique_ptr<const Neighbour> near;  // none: each site starts by itself
    bool met = false;

    void meet_neighbour() {
        if (std::exchange(met, true)) return;
        try {
            near = neighbour(scenario);
        } catch (const std::exception&) {
        }
    }

    Id id(const std::string& change, const State& state, std::string_view look) const {
        Id at = id_of(change, site);
        at = id_of(state.key(), id_of("\n", at));
        return id_of(look, id_of("\n", at));
    }
    const Record* find(const Id& at) const {
        const auto found = known.find(at);
        return found == known.end() ? nullptr : &found->second;
    }
    void put(const Record& r) {
        if (known.emplace(r.id, r).second) order.push_back(r.id), ++added;
    }
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
    k.alike = s.u_ohm == s.v_ohm && s.v_ohm == s.w_ohm && k.scenario.faults.empty();
    if (folder.empty()) return;
    k.file = fmt::format("{}/{:016x}{:016x}", folder, k.site.a, k.site.b);
    try {
        const std::string text = files::read_whole(k.file, magic.size() + (most_records + 1) * sizeof(Record));
        if (!text.starts_with(magic) || (text.size() - magic.size()) % sizeof(Record)) return;
        for (std::size_t at = magic.size(); at < text.size(); at += sizeof(Record)) {
            Record r;
            std::memcpy(&r, text.data() + at, sizeof r);
            k.put(r);
        }
        k.added = 0;
    } catch (const files::Unreadable&) {
    }
}

Sights::~Sights() = default;
const Scenario& Sights::scenario() const { return kept_->scenario; }
long Sights::computed() const { return kept_->computed; }

std::vector<Sight> Sights::see(const std::vector<Ask>& asked, const std::function<bool(double)>& progress) {
    Kept& k = *kept_;
    std::vector<Sight> answers(asked.size());
    // What is not known yet: each site and state once, with all that is to be looked at there.
    struct Job {
        Change change;
        State state;
        std::vector<Look> looks;
        std::string text;
        Sight seen;
    };
    std::vector<Job> jobs;
    std::unordered_map<Id, std::size_t, Hash> job_at;
    std::vector<int> by(asked.size(), 0);
    for (std::size_t n = 0; n < asked.size(); ++n) {
        const Ask& a = asked[n];
        // A site whose phases are alike answers for v and w what it answers for u, one letter on.
        if (k.alike && !a.change.faults.empty())
            if (const int letter = letter_in(a.change.faults.front().place); letter > 0) by[n] = 3 - letter;
        const std::string text = text_of(a.change, by[n]);
        const State state = turned(a.state, by[n]);
        const Id at = k.id(text, state, "state");
        const auto take = [&](const Look& l) {
            auto [where, fresh] = job_at.try_emplace(at, jobs.size());
            if (fresh) {
                Change change = a.change;
                for (site::Fault& f : change.faults) f.place = turned(f.place, by[n]);
                jobs.push_back({std::move(change), state, {}, text, {}});
            }
            auto& looks = jobs[where->second].looks;
            const std::string key = l.key();
            if (std::none_of(looks.begin(), looks.end(), [&](const Look& x) { return x.key() == key; }))
                looks.push_back(l);
        };
        const Record* whole = k.find(at);
        if (whole && whole->kind == impossible) continue;
        if (!whole) {
            auto [where, fresh] = job_at.try_emplace(at, jobs.size());
            if (fresh) {
                Change change = a.change;
                for (site::Fault& f : change.faults) f.place = turned(f.place, by[n]);
                jobs.push_back({std::move(change), state, {}, text, {}});
            }
        }
        for (const Look& l : a.looks)
            if (const Look there = turned(l, by[n]); !k.find(k.id(text, state, there.key()))) take(there);
    }
    (void)bench::usual_meter(meter::Mode::dcv);  // read from their files once, before there are several
    if (std::any_of(jobs.begin(), jobs.end(), [](const Job& j) { return j.state.running(); })) k.meet_neighbour();
    tbb::task_group_context context;
    std::size_t done = 0;
    bool stopped = false;
    tbb::parallel_for(
        std::size_t{0}, jobs.size(),
        [&](std::size_t n) {
            Job& job = jobs[n];
            try {
                double window = 0.0;
                bench::Bench b = in_state(k.scenario, job.change, job.state, k.near.get(), window);
                const auto& control = b.state().control;
                job.seen.behaviour = {control.phase, control.trip, control.trips, b.state().command.running,
                                      std::abs(b.state().x[plant::speed]) > 3.0};
                look_at(b, window, job.looks, job.seen.shown);
            } catch (const std::exception&) {
                job.seen.possible = false;
            }
            const std::lock_guard hold(k.lock);
            ++done;
            if (progress && !stopped && !progress(static_cast<double>(done) / static_cast<double>(jobs.size()))) {
                stopped = true;
                context.cancel_group_execution();
            }
        },
        context);
    if (stopped) throw Stopped();
    for (const Job& job : jobs) {
        ++k.computed;
        const Id at = k.id(job.text, job.state, "state");
        if (!job.seen.possible) {
            k.put({at, 0.0, 0.0, 0.0, impossible});
            continue;
        }
        k.put({at, packed(job.seen.behaviour), 0.0, 0.0, behaves});
        for (std::size_t l = 0; l < job.looks.size(); ++l) {
            const Shown& s = job.seen.shown[l];
            k.put({k.id(job.text, job.state, job.looks[l].key()), s.value, s.band, s.step,
                   static_cast<std::uint64_t>(s.kind)});
        }
    }
    for (std::size_t n = 0; n < asked.size(); ++n) {
        const std::string text = text_of(asked[n].change, by[n]);
        const State state = turned(asked[n].state, by[n]);
        const Record* whole = k.find(k.id(text, state, "state"));
        answers[n].shown.resize(asked[n].looks.size());
        if (!whole || whole->kind == impossible) {
            answers[n].possible = false;
            continue;
        }
        answers[n].behaviour = unpacked(whole->value);
        for (std::size_t l = 0; l < asked[n].looks.size(); ++l)
            if (const Record* r = k.find(k.id(text, state, turned(asked[n].looks[l], by[n]).key())))
                answers[n].shown[l] = {static_cast<Shown::Kind>(r->kind), r->value, r->band, r->step};
    }
    return answers;
}

void Sights::keep() const {
    const Kept& k = *kept_;
    if (k.file.empty() || k.added == 0) return;
    try {
        const fs::path folder = fs::path(k.file).parent_path();
        std::error_code none;
        fs::create_directories(folder, none);
        std::string text(magic);
        const std::size_t from = k.order.size() > most_records ? k.order.size() - most_records : 0;
        for (std::size_t n = from; n < k.order.size(); ++n) {
            const Record& r = k.known.at(k.order[n]);
            text.append(reinterpret_cast<const char*>(&r), sizeof r);
        }
        files::FreshFile file(k.file);
        file.write(text);
        file.finish();
        std::vector<std::pair<fs::file_time_type, fs::path>> all;
        for (const auto& entry : fs::directory_iterator(folder, none))
            if (entry.is_regular_file(none)) all.emplace_back(entry.last_write_time(none), entry.path());
        std::sort(all.begin(), all.end());
        for (std::size_t n = 0; n + most_files < all.size(); ++n) fs::remove(all[n].second, none);
    } catch (const std::exception&) {
        // A full or a locked disk costs time the next time, nothing else.
    }
}

std::string cache_folder() {
    if (const char* own = std::getenv("SUNSHAFT_CACHE")) return own;
    if (const char* cache = std::getenv("XDG_CACHE_HOME"); cache && *cache == '/')
        return std::string(cache) + "/sunshaft";
    if (const char* home = std::getenv("HOME"); home && *home == '/') return std::string(home) + "/.cache/sunshaft";
    return "";
}

}  // namespace sunshaft::diagnose
