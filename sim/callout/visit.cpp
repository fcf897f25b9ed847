#include "callout/visit.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "bench/field_tests.hpp"
#include "bench/observe.hpp"
#include "callout/moment.hpp"
#include "drive/control.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::callout {
namespace {

constexpr double after_act_s = 2.0, to_read_s = 1.0;

meter::Spec spec_of(const std::string& meter, meter::Mode mode) {
    if (meter.empty()) return bench::usual_meter(mode);
    if (meter.ends_with(".toml")) return meter::load_spec(meter);
    std::string list;
    for (meter::Spec& s : meter::load_specs(meter::shipped_meters())) {
        const std::string stem = std::filesystem::path(s.file).stem().string();
        if (stem == meter || s.name == meter) return std::move(s);
        list += (list.empty() ? "" : " ") + stem;
    }
    throw site::BadInput(text::say("{}: no such meter in the van, expected one of {}", site::on_one_line(meter), list));
}

// As the call-out speaks: its order is "do", no option of a command line.
site::Act act_of(const std::string& kind, const std::string& place, const site::Works& works) {
    try {
        return site::parse_act(kind + "@" + place, works);
    } catch (const site::BadInput& why) {
        const std::string text = why.what();
        throw site::BadInput(text.starts_with("--do: ") ? text.substr(2) : text);
    }
}

// Points and joints that hang in the bore are shown in lessons alone.
void in_reach(const site::Works& works, const bench::Probes& probes) {
    for (const site::PointInfo& point : site::points(works))
        if (!point.reachable && !point.clamp && (point.name == probes.red || point.name == probes.black))
            throw site::BadInput(text::say("{}: out of reach, expected a point a hand can get at", point.name));
}

}  // namespace

std::vector<diagnose::Seen> told(const std::string& gauge, const std::string& says) {
    diagnose::Seen seen;
    std::vector<diagnose::Seen> all;
    if (gauge == "lamps") {
        for (const drive::Lamp& lamp : drive::lamps({}))
            if (says.find(lamp.name) != std::string::npos) all.emplace_back().lamp = lamp.name, all.back().shown = "on";
        if (all.empty()) all.emplace_back().look = says;
        return all;
    }
    if (gauge == "sound") seen.sound = says;
    else if (gauge == "outlet" && says == "no water") seen.gauge = "flow", seen.shown = says;
    else if (gauge == "outlet") seen.look = says;
    else if (gauge == "drive_stop") seen.message = says;
    else seen.gauge = gauge, seen.shown = says;
    return {seen};
}

Visit::Visit(const Scenario& scenario, const Callout& callout)
    : bench_(std::make_unique<bench::Bench>(scenario, edits(callout))),
      written_(scenario, edits(callout)),
      edits_(edits(callout)) {
    done_.site = callout.site;
    run(before_s);
}

void Visit::done(const site::Act& act) {
    bench::Edits with = edits_;
    with.acts.push_back(act);
    put(with);
    site::stands(standing_, act.kind, act.place);
}

void Visit::run(double seconds) {
    bench_->advance(seconds);
    written_.run_to(bench_->time());
}

void Visit::put(const bench::Edits& edits) {
    bench_->edit(edits);
    written_.put(edits);
    edits_ = edits;
    changed_ = bench_->time();
    live_seen_ = false;
}

void Visit::did(Deed deed) {
    deed.t = bench_->time();
    if (record_) record_->deed(deed);
    done_.deeds.push_back(std::move(deed));
}

void Visit::stopped(Deed deed) {
    if (!exam_) return;
    deed.stopped = true;
    did(std::move(deed));
}

void Visit::keep_in(Record& record) {
    for (const Deed& d : record.now().deeds) again(d);
    record_ = &record;
}

void Visit::again(const Deed& d) {
    done_.deeds.push_back(d);
    if (d.stopped) return;
    switch (d.kind) {
        case Deed::Kind::act: {
            const std::size_t at = d.act.find('@');
            done({d.act.substr(0, at), d.act.substr(at + 1), bench_->time()});
            run(after_act_s);
            break;
        }
        case Deed::Kind::undo:
            std::erase_if(edits_.acts, [&](const site::Act& a) { return a.kind + "@" + a.place == d.act; });
            std::erase(standing_, d.act);
            put(edits_);
            break;
        case Deed::Kind::read:
            if (d.seen.gauge == "water") dipped_ = bench_->gauge("water", false).value;
            if (!d.seen.red.empty() || !d.seen.around.empty()) run(to_read_s);
            break;
        case Deed::Kind::wait: run(d.seconds); break;
        case Deed::Kind::strike:
        case Deed::Kind::swap:
        case Deed::Kind::touch: break;
    }
}

bench::Scene Visit::scene() const {
    bench::Scene s = bench::scene(*bench_->site(), bench_->plant().look(bench_->state()));
    s.dipped = dipped_;
    return s;
}

bench::Scene Visit::as_written() const {
    bench::Scene s = written_.scene();
    s.dipped = dipped_;
    return s;
}

// Who has read volts knows more than what is written.
bench::Scene Visit::known() const { return live_seen_ ? scene() : as_written(); }

// Refused by what is known, unless somebody insists; or, unknown to all, by how the site really stands.
template <class... What>
bool Visit::unsafe(bool anyway, const What&... what) const {
    bench::Conduct conduct(anyway && !exam_), truly(true);
    if (dipped_) conduct.dipped(*dipped_), truly.dipped(*dipped_);
    try {
        conduct.before(known(), what...);
    } catch (const bench::Refused& why) {
        throw bench::Refused(why.act, bench::at_most(why.hazards, works()));
    }
    truly.before(scene(), what...);
    return !conduct.unsafe().empty() || !truly.unsafe().empty();
}

// Nobody has measured yet: this moment's volts are not told, of no site.
std::vector<std::string> Visit::said(std::vector<bench::Hazard> hazards) const {
    return bench::words(bench::at_most(std::move(hazards), works()));
}

std::vector<std::string> Visit::cautions(const bench::Probes& probes, meter::Mode mode,
                                         const std::string& meter) const {
    const meter::Spec spec = spec_of(meter, mode);
    return said(bench::needs(as_written(), probes, mode, &spec));
}

std::vector<std::string> Visit::cautions(const site::Act& act) const { return said(bench::needs(as_written(), act)); }

std::vector<std::string> Visit::cautions(const std::string& gauge) const {
    bench::Observation look;
    look.gauge = gauge;
    return said(bench::hazards({look}, bench::Station::running, written_.bench()));
}

std::string Visit::read(const bench::Probes& probes, meter::Mode mode, const std::string& meter, bool anyway) {
    in_reach(bench_->site()->works, probes);
    bench::Observation what;
    what.probes = probes;
    what.mode = mode;
    what.instrument = std::make_shared<const meter::Spec>(spec_of(meter, mode));
    Deed deed{Deed::Kind::read};
    diagnose::Seen& seen = deed.seen;
    seen.act = standing_;
    seen.red = probes.red;
    seen.black = probes.black;
    seen.around = probes.around;
    seen.mode = meter::mode_name(mode);
    seen.meter = meter;
    try {
        deed.unsafe = unsafe(anyway, probes, mode, what.instrument.get());
    } catch (const bench::Refused&) {
        stopped(deed);
        throw;
    }
    run(to_read_s);
    const meter::Reading r = bench::observe(*bench_, what);
    seen.shown = r.shown;
    live_seen_ = live_seen_ || shows_live(mode, seen.shown);
    date(seen, {edits_.acts, changed_, bench_->time()});
    did(deed);
    return seen.shown;
}

void Visit::act(const std::string& kind, const std::string& place, bool anyway) {
    const site::Act act = act_of(kind, place, bench_->site()->works);
    Deed deed{Deed::Kind::act};
    deed.act = act.kind + "@" + act.place;
    try {
        deed.unsafe = unsafe(anyway, std::vector{act});
    } catch (const bench::Refused&) {
        stopped(deed);
        throw;
    }
    done({act.kind, act.place, bench_->time()});
    did(std::move(deed));
    run(after_act_s);
}

std::string Visit::gauge(const std::string& name) {
    if (name == "joint_temp" && bench_->site()->works.water.pump.index() != 0)
        throw site::BadInput(text::tr("joint_temp: the joints hang in the bore, out of reach"));
    const bench::Bench::Gauge g = bench_->gauge(name, false);
    if (name == "water") dipped_ = g.value;
    for (diagnose::Seen& seen : told(name, g.shown())) {
        seen.act = standing_;
        date(seen, {edits_.acts, changed_, bench_->time()});
        Deed deed{Deed::Kind::read};
        deed.seen = std::move(seen);
        did(std::move(deed));
    }
    return g.shown();
}

void Visit::wait(double seconds) {
    if (!(seconds >= 0.0 && seconds <= 3600.0))
        throw site::BadInput(text::say("wait: {} s, expected 0 to 3600", seconds));
    run(seconds);
    live_seen_ = false;
    Deed deed{Deed::Kind::wait};
    deed.seconds = seconds;
    did(std::move(deed));
}

void Visit::strike(std::size_t reading) {
    const auto is_read = [](const Deed& d) { return d.kind == Deed::Kind::read; };
    if (reading >= static_cast<std::size_t>(std::ranges::count_if(done_.deeds, is_read)))
        throw site::BadInput(text::tr("strike: there is no such reading (notes)"));
    Deed deed{Deed::Kind::strike};
    deed.entry = reading;
    did(std::move(deed));
}

void Visit::swap() { did({Deed::Kind::swap}); }

}  // namespace sunshaft::callout
