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

#include "bench/observe.hpp"
#include "diagnose/looking.hpp"
#include "files/fresh_file.hpp"
#include "files/input.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

namespace sunshaft::diagnose {
struct SightId {
    std::uint64_t a = 0, b = 0;
    friend bool operator==(const SightId&, const SightId&) = default;
};
struct SightHash {
    std::size_t operator()(const SightId& id) const { return id.a; }
};
// One answer as it is kept. kind 3: how the site behaves; 4: such a site cannot be.
struct SightRecord {
    SightId id;
    double value = 0.0, band = 0.0, step = 0.0;
    std::uint64_t kind = 0;
};

namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_records = 200000, most_files = 24;
constexpr std::string_view magic = "sunshaft sights 4\n";
constexpr const char* waits = " while it waits";  // behind the key of a look

// FNV-1a, and the same from another start.
SightId id_of(std::string_view text, SightId from = {14695981039346656037ull, 0x9ae16a3b2f90404full}) {
    for (const char c : text) {
        from.a = (from.a ^ static_cast<unsigned char>(c)) * 1099511628211ull;
        from.b = (from.b ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
        from.b ^= from.b >> 29;
    }
    return from;
}

constexpr std::uint64_t behaves = 3, cannot_be = 4;

double packed(const Behaviour& b) {
    return static_cast<double>(static_cast<int>(b.phase) + 64 * static_cast<int>(b.trip) + 4096 * (b.driven ? 1 : 0) +
                               8192 * (b.turns ? 1 : 0) + 16384 * std::min(b.trips, 60));
}
Behaviour unpacked(double value) {
    const int n = static_cast<int>(value);
    return {static_cast<drive::Phase>(n % 64), static_cast<drive::Cause>(n / 64 % 64), n / 16384, (n / 4096 & 1) != 0,
            (n / 8192 & 1) != 0};
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
    for (std::size_t n = 0; n < place.size(); ++n) {
        std::size_t end = n;
        if (moved[n] != place[n] && to.phases == 0) to.phases = (3 - (place[n] - 'u')) % 3;
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
    std::string file;
    SightId site;
    bool phases_alike = false, strings_alike = false;
    long computed = 0, added = 0;
    std::unordered_map<SightId, SightRecord, SightHash> known;
    std::vector<SightId> order;
    std::mutex lock;
    SightId id(const std::string& change, const State& state, std::string_view look) const {
        SightId at = id_of(change, site);
        at = id_of(state.key(), id_of("\n", at));
        return id_of(look, id_of("\n", at));
    }
    const SightRecord* find(const SightId& at) const {
        const auto found = known.find(at);
        return found == known.end() ? nullptr : &found->second;
    }
    Shown shown(const std::string& change, const State& state, const std::string& look) const {
        const SightRecord* r = find(id(change, state, look));
        if (!r) return {};
        const SightRecord* wait = find(id(change, state, look + waits));
        Shown s{static_cast<Shown::Kind>(r->kind), r->value, r->band, r->step};
        if (wait) s.waits = wait->value, s.waits_band = wait->band, s.waits_step = wait->step;
        return s;
    }
    void put(const SightRecord& r) {
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
    k.phases_alike = s.u_ohm == s.v_ohm && s.v_ohm == s.w_ohm && k.scenario.faults.empty() &&
                     k.scenario.drive.current_sensing != "two-shunts";
    k.strings_alike = k.scenario.faults.empty();
    if (folder.empty()) return;
    k.file = fmt::format("{}/{:016x}{:016x}", folder, k.site.a, k.site.b);
    try {
        const std::string text = files::read_whole(k.file, magic.size() + (most_records + 1) * sizeof(SightRecord));
        if (!text.starts_with(magic) || (text.size() - magic.size()) % sizeof(SightRecord)) return;
        for (std::size_t at = magic.size(); at < text.size(); at += sizeof(SightRecord)) {
            SightRecord r;
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
    // What is not known yet: each site once, with the states it is asked in, and each of these with all that is to be
    // looked at there.
    struct Part {
        State state;
        std::vector<Look> looks;
        Sight seen;
    };
    struct Job {
        Change change;
        std::string text;
        std::vector<Part> parts;
    };
    std::vector<Job> jobs;
    std::unordered_map<SightId, std::size_t, SightHash> job_at;
    std::vector<Turn> by(asked.size());
    for (std::size_t n = 0; n < asked.size(); ++n) {
        const Ask& a = asked[n];
        // A site whose phases are alike answers for v and w what it answers for u, one letter on; and so its strings.
        if (!a.change.faults.empty()) {
            by[n] = turn_to_first(a.change.faults.front().place);
            if (!k.phases_alike) by[n].phases = 0;
            if (!k.strings_alike) by[n].string = 1;
        }
        const std::string text = text_of(a.change, by[n]);
        const State state = turned(a.state, by[n]);
        const SightId at = k.id(text, state, "state");
        const SightRecord* whole = k.find(at);
        if (whole && whole->kind == cannot_be) continue;
        std::vector<Look> unknown;
        for (const Look& l : a.looks)
            if (Look there = turned(l, by[n]); !k.find(k.id(text, state, there.key())))
                unknown.push_back(std::move(there));
        if (whole && unknown.empty()) continue;
        const auto [job, new_site] = job_at.try_emplace(id_of(text), jobs.size());
        if (new_site) {
            Change change = a.change;
            for (site::Fault& f : change.faults) f.place = turned(f.place, by[n]);
            jobs.push_back({std::move(change), text, {}});
        }
        std::vector<Part>& parts = jobs[job->second].parts;
        auto part =
            std::find_if(parts.begin(), parts.end(), [&](const Part& p) { return p.state.key() == state.key(); });
        if (part == parts.end()) part = parts.insert(parts.end(), {state, {}, {}});
        for (Look& l : unknown)
            if (std::none_of(part->looks.begin(), part->looks.end(), [&](const Look& x) { return x.key() == l.key(); }))
                part->looks.push_back(std::move(l));
    }
    (void)bench::usual_meter(meter::Mode::dcv);  // read from their files once, before there are several
    tbb::task_group_context context;
    std::size_t done = 0;
    bool stopped = false;
    tbb::parallel_for(
        std::size_t{0}, jobs.size(),
        [&](std::size_t n) {
            Job& job = jobs[n];
            std::optional<Run> running;
            Waiting wait;
            const auto see_part = [&](Part& part) {
                const bool as_it_stands = part.state.running(),
                           from_running = as_it_stands || (std::isfinite(part.state.after_s) && !part.state.restarts());
                if (!running && from_running) running.emplace(k.runs.running(job.change)), wait = waiting(*running);
                const Run run =
                    as_it_stands ? *running : k.runs.after(job.change, part.state, running ? &*running : nullptr);
                const plant::State& s = run.bench.state();
                part.seen.behaviour = {s.control.phase, s.control.trip, s.control.trips, s.command.running,
                                       std::abs(s.x[plant::speed]) > 3.0};
                look_long_enough(run, part.looks, part.state, from_running ? wait : Waiting{}, part.seen);
            };
            for (Part& part : job.parts) {
                try {
                    see_part(part);
                } catch (const std::exception&) {
                    part.seen.possible = false;
                }
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
    for (const Job& job : jobs)
        for (const Part& part : job.parts) {
            ++k.computed;
            const SightId at = k.id(job.text, part.state, "state");
            if (!part.seen.possible) {
                k.put({at, 0.0, 0.0, 0.0, cannot_be});
                continue;
            }
            k.put({at, packed(part.seen.behaviour), 0.0, 0.0, behaves});
            for (std::size_t l = 0; l < part.looks.size(); ++l) {
                const Shown& s = part.seen.shown[l];
                k.put({k.id(job.text, part.state, part.looks[l].key()), s.value, s.band, s.step,
                       static_cast<std::uint64_t>(s.kind)});
                if (std::isfinite(s.waits))
                    k.put({k.id(job.text, part.state, part.looks[l].key() + waits), s.waits, s.waits_band, s.waits_step,
                           static_cast<std::uint64_t>(Shown::Kind::figure)});
            }
        }
    for (std::size_t n = 0; n < asked.size(); ++n) {
        const std::string text = text_of(asked[n].change, by[n]);
        const State state = turned(asked[n].state, by[n]);
        const SightRecord* whole = k.find(k.id(text, state, "state"));
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
            const SightRecord& r = k.known.at(k.order[n]);
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
