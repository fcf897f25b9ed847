#include "model/ladder.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/format.hpp"
#include "text/language.hpp"

namespace sunshaft::view {
namespace {

site::Pattern pattern_of(const drive::Legs& legs) {
    site::Pattern p{};
    for (std::size_t k = 0; k < 3; ++k)
        p[k] = legs[k] == drive::Leg::blocked                                 ? site::LegDrive::floating
               : legs[k] == drive::Leg::upper || legs[k] == drive::Leg::lower ? site::LegDrive::device
                                                                              : site::LegDrive::diode;
    return p;
}

bool phase_floats(const site::Site& site, const Moment& m, const std::string& point) {
    static constexpr std::pair<std::string_view, int> stems[] = {{"drive.", site::PhaseNode::drive},
                                                                 {"lead.", site::PhaseNode::lead},
                                                                 {"cable.", site::PhaseNode::cable},
                                                                 {"motor.", site::PhaseNode::motor}};
    const auto phase = std::string_view("uvw").find(point.back());
    if (phase == std::string_view::npos) return false;
    for (const auto& [stem, node] : stems)
        if (point.starts_with(stem) && point.size() == stem.size() + 1)
            return site.phases[pattern_of(m.legs)].island[static_cast<std::size_t>(node) + phase] >= 0;
    return false;
}

const Rung* with(const std::vector<Rung>& rungs, bool Rung::*lead) {
    const auto at = std::find_if(rungs.begin(), rungs.end(), [&](const Rung& r) { return r.*lead; });
    return at == rungs.end() ? nullptr : &*at;
}

std::string volts(double v) { return figure(std::abs(v) < 0.05 ? 0.0 : std::abs(v), "V", 3).text(); }

}  // namespace

std::vector<Rung> ladder(const site::Site& site, const Moment& m, const bench::Probes& probes) {
    std::vector<Rung> rungs;
    const auto infos = site::points(site.works);
    const auto add = [&](const std::string& point, bool essential) {
        if (point.empty() || std::any_of(rungs.begin(), rungs.end(), [&](const Rung& r) { return r.point == point; }))
            return;
        const auto info = std::find_if(infos.begin(), infos.end(),
                                       [&](const site::PointInfo& i) { return i.name == point && !i.clamp; });
        if (info == infos.end()) return;
        Rung r;
        r.point = point;
        r.reachable = info->reachable;
        r.essential = essential;
        const auto part = site::part_of(point);
        r.metal = part == site::Part::metal;
        r.unearthed = site.works.supply.kind == site::Supply::Kind::array &&
                      (site::on_array_side(part) || site::on_link_side(part) || site::on_output(part));
        r.red = point == probes.red, r.black = point == probes.black;
        const auto v = m.volts(point);
        r.known = v.has_value();
        r.volts = v.value_or(0.0);
        const int column = site.source.column(point);
        r.apart = column >= 0 && site.source.island(column) != 0;
        r.floats = !r.known || r.apart || phase_floats(site, m, point);
        rungs.push_back(std::move(r));
    };
    for (const char* point : {"link+", "link-", "drive.u", "drive.v", "drive.w"}) add(point, true);
    add(probes.red, true);
    add(probes.black, true);
    for (const char* point : {"motor.n", "motor.u", "motor.v", "motor.w"}) add(point, false);
    std::stable_sort(rungs.begin(), rungs.end(), [](const Rung& a, const Rung& b) { return a.volts > b.volts; });
    return rungs;
}

std::optional<double> gap(const std::vector<Rung>& rungs) {
    const Rung *red = with(rungs, &Rung::red), *black = with(rungs, &Rung::black);
    if (!red || !black || !red->known || !black->known || red->apart != black->apart) return {};
    return red->volts - black->volts;
}

std::string ladder_words(const std::vector<Rung>& rungs, double link_V) {
    const Rung *red = with(rungs, &Rung::red), *black = with(rungs, &Rung::black);
    if (!red || !black) return text::tr("Hang both leads on rungs: the gap between them is what the meter gets.");
    if ((red->metal && black->unearthed) || (black->metal && red->unearthed))
        return text::say(
            "{} has no tie to earth unless a fault makes one. The meter's own resistance pulls it there: without the "
            "meter it stands elsewhere.",
            red->metal ? black->point : red->point);
    const auto between = gap(rungs);
    if (!between) {
        const Rung& loose = red->apart || !red->known ? *red : *black;
        return text::say(
            "{} floats: nothing ties it to the other rung, so no height is right. Only the meter's own resistance "
            "joins "
            "them. Expect 0 or a ghost voltage.",
            loose.point);
    }
    if (red->apart)
        return text::say(
            "Both float with the array. The {} between them are real. Their height above link− is "
            "not.",
            volts(*between));
    const double same = std::max(0.5, 0.01 * link_V);
    // Where one of two floats it is told below that its height is none of the drive's; where both do, they are live.
    if (std::abs(*between) < same && red->floats == black->floats &&
        std::max(red->volts, black->volts) > 0.1 * link_V && link_V > 5.0)
        return text::say(
            "Both leads hang at one height: only {} between them now. Both stand {} above link−: "
            "live.",
            volts(*between), volts(red->volts));
    const Rung* floating = red->floats ? red : black->floats ? black : nullptr;
    if (floating && link_V > 5.0)
        return text::say(
            "{} floats: no switch holds it. The motor's windings put it at {} % of the link. A reading there says "
            "nothing about the drive.",
            floating->point, std::lround(100.0 * floating->volts / link_V));
    if (red->point == "motor.n" || black->point == "motor.n")
        return text::tr(
            "The star point steps as well, to a third and two thirds of the link. From a line to it the gap is a "
            "third or two thirds of the link. Between two lines it is the whole link or nothing.");
    const auto output = [](const Rung& r) { return site::on_output(site::part_of(r.point)); };
    if (output(*red) && output(*black))
        return text::tr(
            "The gap between two outputs is the whole link or nothing, either way up. The display makes one figure "
            "of the whole turn.");
    if (output(*red) || output(*black))
        return text::tr(
            "An output stands on the upper rail for about half of the time. Against a rail a meter reads DC: about "
            "half of the link.");
    return text::say("These two stand still: {} apart all the time.", volts(*between));
}

}  // namespace sunshaft::view
