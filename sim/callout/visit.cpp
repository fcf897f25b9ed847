#include "callout/visit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "bench/observe.hpp"
#include "site/keys.hpp"

namespace sunshaft::callout {
namespace {

constexpr double before_s = 12.0, after_act_s = 2.0, to_read_s = 1.0;

meter::Spec spec_of(const std::string& meter, meter::Mode mode) {
    return meter.empty() ? bench::usual_meter(mode) : meter::find_spec(meter);
}

}  // namespace

void stands(std::vector<std::string>& standing, const std::string& kind, const std::string& place) {
    constexpr std::array<std::array<const char*, 2>, 7> pairs{{{"open", "close"},
                                                               {"pull", "restore"},
                                                               {"cover", "uncover"},
                                                               {"short", "unshort"},
                                                               {"jumper", "unjumper"},
                                                               {"shut", "reopen"},
                                                               {"stop", "start"}}};
    const auto pair = std::ranges::find_if(pairs, [&](const auto& p) { return kind == p[1]; });
    if (pair != pairs.end()) {
        std::erase(standing, std::string((*pair)[0]) + "@" + place);
    } else if (const std::string act = kind + "@" + place; std::ranges::find(standing, act) == standing.end()) {
        standing.push_back(act);
    }
}

Visit::Visit(const Scenario& scenario, const Callout& callout)
    : bench_(std::make_unique<bench::Bench>(scenario, edits(callout))), edits_(edits(callout)) {
    notes_.site = callout.site;
    bench_->advance(before_s);
}

bench::Scene Visit::scene() const {
    bench::Scene s = bench::scene(*bench_->site(), bench_->plant().look(bench_->state()));
    s.dipped = dipped_;
    return s;
}

std::vector<std::string> Visit::cautions(const bench::Probes& probes, meter::Mode mode,
                                         const std::string& meter) const {
    const meter::Spec spec = spec_of(meter, mode);
    return bench::words(bench::needs(scene(), probes, mode, &spec));
}

std::vector<std::string> Visit::cautions(const site::Act& act) const {
    return bench::words(bench::needs(scene(), act));
}

void Visit::insist(bench::Conduct& conduct) {
    for (const auto& u : conduct.unsafe()) unsafe_.push_back(u.act);
}

std::string Visit::read(const bench::Probes& probes, meter::Mode mode, const std::string& meter, bool anyway) {
    bench::Observation what;
    what.probes = probes;
    what.mode = mode;
    what.instrument = std::make_shared<const meter::Spec>(spec_of(meter, mode));
    bench::Conduct conduct(anyway);
    conduct.before(scene(), probes, mode, what.instrument.get());
    insist(conduct);
    bench_->advance(to_read_s);
    const meter::Reading reading = bench::observe(*bench_, what);
    diagnose::Seen seen;
    seen.act = standing_;
    seen.red = probes.red;
    seen.black = probes.black;
    seen.around = probes.around;
    seen.mode = meter::mode_name(mode);
    seen.meter = meter;
    seen.shown = reading.shown;
    notes_.seen.push_back(std::move(seen));
    return reading.shown;
}

void Visit::act(const std::string& kind, const std::string& place, bool anyway) {
    const site::Act act = site::parse_act(kind + "@" + place, bench_->site()->works);
    bench::Conduct conduct(anyway);
    if (dipped_) conduct.dipped(*dipped_);
    conduct.before(scene(), {act});
    bench::Edits with = edits_;
    with.acts.push_back({act.kind, act.place, bench_->time()});
    bench_->edit(with);
    edits_ = std::move(with);
    insist(conduct);
    stands(standing_, act.kind, act.place);
    bench_->advance(after_act_s);
}

std::string Visit::gauge(const std::string& name) {
    const bench::Bench::Gauge g = bench_->gauge(name, false);
    if (name == "water") dipped_ = g.value;
    diagnose::Seen seen;
    seen.act = standing_;
    if (name == "sound") seen.sound = g.shown();
    else if (name == "outlet") seen.look = g.shown();
    else seen.gauge = name, seen.shown = g.shown();
    notes_.seen.push_back(std::move(seen));
    return g.shown();
}

void Visit::wait(double seconds) {
    if (!(seconds >= 0.0 && seconds <= 3600.0))
        throw site::BadInput(fmt::format("wait: {} s, expected 0 to 3600", seconds));
    bench_->advance(seconds);
}

}  // namespace sunshaft::callout
