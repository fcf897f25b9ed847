#include "classroom/matched.hpp"

#include <fmt/format.h>
#include <oneapi/tbb/parallel_for.h>

#include <algorithm>
#include <atomic>
#include <limits>
#include <map>
#include <mutex>
#include <optional>
#include <set>

#include "bench/field_tests.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::classroom {
namespace {

using text::say, text::tr;

// Live contact, dead work, nothing but looking: what one is exposed to, not how often.
std::set<std::string> exposures(const callout::Path& path) {
    std::set<std::string> all;
    for (const callout::Leg& leg : path.legs) {
        const bench::FieldTest* test = bench::find_test(leg.test);
        if (!test || !test->electrical) continue;
        using bench::Station;
        const auto is = [&](std::initializer_list<Station> some) {
            return std::find(some.begin(), some.end(), test->station) != some.end();
        };
        const bool runs =
            bench::row_of(test->station).runs && !is({Station::bled, Station::warm, Station::rolled, Station::renewed});
        const bool clamp = std::string_view(test->id).find("clamp") != std::string_view::npos;
        const bool lit = test->station == bench::Station::lit || test->station == bench::Station::shorted;
        all.insert(runs && clamp ? text::id("clamp") : runs || lit ? text::id("live contact") : text::id("isolating"));
    }
    return all;
}

}  // namespace

std::string hazard_words(const callout::Path& path) {
    std::string words;
    for (const std::string& e : exposures(path)) words += (words.empty() ? "" : ", ") + std::string(tr(e));
    return words.empty() ? tr("looking") : words;
}

bool alike(const std::vector<Handed>& calls) {
    if (calls.empty()) return false;
    const auto minutes = [](const Handed& h) { return h.path.minutes; };
    const auto group = [](const Handed& h) { return h.path.group; };
    const auto [low, high] = std::ranges::minmax(calls, {}, minutes);
    const auto [small, large] = std::ranges::minmax(calls, {}, group);
    return high.path.minutes <= (1.0 + minutes_apart) * low.path.minutes &&
           large.path.group <= small.path.group + group_apart &&
           std::ranges::all_of(calls, [&](const Handed& h) { return exposures(h.path) == exposures(calls[0].path); });
}

std::string closeness_words(const std::vector<Handed>& calls) {
    const auto [low, high] = std::ranges::minmax(calls, {}, [](const Handed& h) { return h.path.minutes; });
    const auto [small, large] = std::ranges::minmax(calls, {}, [](const Handed& h) { return h.path.group; });
    std::set<std::string> hazards;
    for (const Handed& h : calls) hazards.insert(hazard_words(h.path));
    std::string all;
    for (const std::string& h : hazards) all += (all.empty() ? "" : "; ") + h;
    return text::sentences(
        {say("{:.0f} to {:.0f} minutes: {:.0f} % apart, {:.0f} % allowed.", low.path.minutes, high.path.minutes,
             100.0 * (high.path.minutes / low.path.minutes - 1.0), 100.0 * minutes_apart),
         say("Groups of {} to {}: {} apart is allowed.", small.path.group, large.path.group, group_apart),
         say("They take one to: {}.", all)});
}

namespace {

using List = std::vector<const Handed*>;

// Of these one fault after the other in turn, as many as are wanted, those that were weighed first; none: no fault may
// be for so many.
List by_turns(const List& list, std::size_t count) {
    std::map<std::string, List> faults;
    for (const bool supposed : {false, true})
        for (const Handed* h : list) {
            if (h->supposed != supposed) continue;
            List& same = faults[h->call.truth.fault];
            const std::size_t most = site::find_fault(h->call.truth.fault) ? (count + 2) / 3 : (count + 4) / 5;
            if (same.size() < most) same.push_back(h);
        }
    List out;
    for (const bool supposed : {false, true})
        for (std::size_t turn = 0; turn < list.size(); ++turn)
            for (const auto& [fault, same] : faults)
                if (turn < same.size() && same[turn]->supposed == supposed && out.size() < count)
                    out.push_back(same[turn]);
    return out.size() == count ? out : List{};
}

// How many are supposed, and how far apart their minutes lie.
std::pair<std::ptrdiff_t, double> worth_of(const List& some) {
    const auto [low, high] = std::ranges::minmax(some, {}, [](const Handed* h) { return h->path.minutes; });
    return {std::ranges::count_if(some, &Handed::supposed), high->path.minutes / low->path.minutes};
}
void take_better(List& best, List some) {
    if (!some.empty() && (best.empty() || worth_of(some) < worth_of(best))) best = std::move(some);
}

// The best of what lies within `at_most`, out of windows over all of them by minutes.
List nearest(List list, std::size_t count, double at_most) {
    std::ranges::stable_sort(list, {}, [](const Handed* h) { return h->path.minutes; });
    List best;
    for (auto from = list.begin(); from != list.end(); ++from) {
        const auto end = std::find_if(
            from, list.end(), [&](const Handed* h) { return h->path.minutes > at_most * (*from)->path.minutes; });
        List some = by_turns({from, end}, count);
        if (some.empty()) continue;
        // Of those that were weighed the narrowest that is wide enough.
        for (auto to = from + static_cast<std::ptrdiff_t>(count); worth_of(some).first == 0 && to <= end; ++to)
            if (List few = by_turns({from, to}, count); !few.empty()) {
                some = std::move(few);
                break;
            }
        take_better(best, std::move(some));
    }
    return best;
}

}  // namespace

std::vector<Handed> most_alike(const std::vector<Handed>& all, std::size_t count) {
    std::map<std::set<std::string>, List> hazards;
    for (const Handed& h : all) hazards[exposures(h.path)].push_back(&h);
    List best;
    for (const auto& [same, list] : hazards) {
        std::set<int> groups;
        for (const Handed* h : list) groups.insert(h->path.group);
        for (const int smallest : groups) {
            List some;
            std::ranges::copy_if(list, std::back_inserter(some), [&](const Handed* h) {
                return h->path.group >= smallest && h->path.group <= smallest + group_apart;
            });
            take_better(best, nearest(std::move(some), count, 1.0 + minutes_apart));
        }
    }
    std::vector<Handed> out;
    for (const Handed* h : best) out.push_back(*h);
    std::ranges::stable_sort(out, {}, &Handed::seed);
    return out;
}

namespace {

constexpr int drawn_for_each = 12, batches = 8;

struct Drawn {
    Handed handed;
    std::string signs, kind;  // what shows from outside; with the fault that it is
    bool weighed = false;
};

std::string signs_of(const callout::Callout& c) {
    callout::Complaint shows = c.owner;
    shows.since = 0;  // the seed alone chooses it
    return callout::words(shows);
}
std::string kind_of(const callout::Callout& c) {
    return fmt::format("{}|{}|{}", signs_of(c), c.truth.fault, c.second ? c.second->fault : "");
}

class Matching {
  public:
    Matching(const Scenario& scenario, const std::string& site, const diagnose::Priors& priors,
             const std::string& cache, const Wanted& wanted, const Progress& progress)
        : scenario_(scenario), site_(site), priors_(priors), cache_(cache), wanted_(wanted), progress_(progress) {}

    Handout run() {
        for (int batch = 0; batch < batches && out_.weighed < wanted_.most; ++batch) {
            draw_some();
            if (weigh_some()) return out_;
        }
        // The nearest there are, as many as there are.
        std::vector<Handed> all = weighed_and_supposed(false);
        List list;
        for (const Handed& h : all) list.push_back(&h);
        List near = nearest(list, count(), std::numeric_limits<double>::infinity());
        if (near.empty()) near = std::move(list), near.resize(std::min(near.size(), count()));
        for (const Handed* h : near) out_.calls.push_back(*h);
        return out_;
    }

  private:
    std::size_t count() const { return static_cast<std::size_t>(std::max(1, wanted_.count)); }
    void draw_some();
    bool weigh_some();
    void weigh(Drawn& d);
    Drawn* unknown_kind();
    std::vector<Handed> weighed_and_supposed(bool supposed) const;

    const Scenario& scenario_;
    const std::string& site_;
    const diagnose::Priors& priors_;
    const std::string& cache_;
    const Wanted& wanted_;
    const Progress& progress_;
    Handout out_;
    double usual_ = 0.0;  // callout::healthy_output() of the site
    std::vector<Drawn> pool_;
    std::map<std::string, std::optional<callout::Path>> kinds_;  // the way through the last that was weighed of each
    std::size_t alike_ = 0;                                      // of those weighed, when it last looked
};

void Matching::draw_some() {
    const int more = std::max(4 * drawn_for_each, drawn_for_each * wanted_.count);
    const std::string doing = say("drawing {} call-outs", more);
    const std::size_t from = pool_.size();
    pool_.resize(from + static_cast<std::size_t>(more));
    tbb::task_group_context context;
    std::mutex lock;
    int done = 0;
    std::atomic<bool> stopped = false;
    const auto tell = [&] {
        if (progress_ && !stopped && !progress_(static_cast<double>(done) / more, doing)) {
            stopped = true;
            context.cancel_group_execution();
        }
    };
    tell();
    if (!(usual_ > 0.0)) usual_ = callout::healthy_output(scenario_);
    tbb::parallel_for(
        from, pool_.size(),
        [&](std::size_t n) {
            Drawn& d = pool_[n];
            d.handed.seed = wanted_.first + n;
            try {
                d.handed.call = callout::draw(scenario_, priors_, {d.handed.seed, wanted_.level, usual_},
                                              [&](double) { return !stopped.load(); });
            } catch (const diagnose::Stopped&) {
                return;  // told below
            }
            d.handed.call.site = site_;
            d.signs = signs_of(d.handed.call);
            d.kind = kind_of(d.handed.call);
            const std::lock_guard hold(lock);
            ++done;
            tell();
        },
        context);
    if (stopped) throw diagnose::Stopped();
    out_.drawn += more;
}

void Matching::weigh(Drawn& d) {
    const std::string doing = say("weighing call-out {} of at most {}: {} of {} are alike so far", out_.weighed + 1,
                                  wanted_.most, alike_, wanted_.count);
    d.handed.path = callout::best_path(d.handed.call, priors_, cache_, [&](double f) {
        if (progress_ && !progress_(f, doing)) throw diagnose::Stopped();
        return true;
    });
    d.weighed = true;
    ++out_.weighed;
    // Nobody could say what it is, or everybody at a glance.
    const bool useful = d.handed.path.suffices && !exposures(d.handed.path).empty();
    kinds_[d.kind] = useful ? std::optional(d.handed.path) : std::nullopt;
}

// One of the signs that the most could be handed out of.
Drawn* Matching::unknown_kind() {
    std::map<std::string, std::map<std::string, std::size_t>> crowd;
    for (const Drawn& d : pool_) {
        const auto known = kinds_.find(d.kind);
        if (known != kinds_.end() && !known->second) continue;
        std::size_t& n = crowd[d.signs][d.kind];
        n = std::min(n + 1, (count() + 2) / 3);
    }
    const auto worth = [&](const Drawn& d) {
        std::size_t all = 0;
        for (const auto& [kind, n] : crowd[d.signs]) all += n;
        return std::pair(all, crowd[d.signs][d.kind]);
    };
    Drawn* best = nullptr;
    for (Drawn& d : pool_)
        if (!kinds_.contains(d.kind) && (!best || worth(d) > worth(*best))) best = &d;
    return best;
}

// supposed: those that were not weighed as the last of their kind.
std::vector<Handed> Matching::weighed_and_supposed(bool supposed) const {
    std::vector<Handed> all;
    for (const Drawn& d : pool_) {
        const auto known = kinds_.find(d.kind);
        if (d.weighed) {
            if (d.handed.path.suffices && !exposures(d.handed.path).empty()) all.push_back(d.handed);
        } else if (supposed && known != kinds_.end() && known->second) {
            all.push_back(d.handed);
            all.back().path = *known->second;
            all.back().supposed = true;
        }
    }
    return all;
}

bool Matching::weigh_some() {
    while (out_.weighed < wanted_.most) {
        std::vector<Handed> some = most_alike(weighed_and_supposed(true), count());
        const auto drawn = [&](const Handed& h) -> Drawn& { return pool_[h.seed - wanted_.first]; };
        alike_ =
            static_cast<std::size_t>(std::ranges::count_if(some, [&](const Handed& h) { return drawn(h).weighed; }));
        if (some.empty()) {  // not even by what is supposed: how many of those weighed
            const std::vector<Handed> weighed = weighed_and_supposed(false);
            for (alike_ = count() - 1; alike_ > 0 && most_alike(weighed, alike_).empty();) --alike_;
        }
        if (!some.empty() && alike_ == some.size()) {
            out_.calls = std::move(some);
            return out_.matched = true;
        }
        const auto next = std::ranges::find_if(some, [&](const Handed& h) { return !drawn(h).weighed; });
        Drawn* which = next == some.end() ? unknown_kind() : &drawn(*next);
        if (!which) break;
        weigh(*which);
    }
    return false;
}

}  // namespace

Handout match(const Scenario& scenario, const std::string& site, const diagnose::Priors& priors,
              const std::string& cache, const Wanted& wanted, const Progress& progress) {
    return Matching(scenario, site, priors, cache, wanted, progress).run();
}

}  // namespace sunshaft::classroom
