// From the ground down: hill and tank, bore, rising main; the sheets beside it; the cable to the motor.
#include <algorithm>
#include <cmath>

#include "model/site_drawing_parts.hpp"

namespace sunshaft::view::drawing {

namespace {

constexpr double tear_height = 26.0;
constexpr double near_ground_m = 4.0;  // always drawn: pipe and cable in their trench
constexpr double least_left_out_m = 4.0;

// Chooses scale and what is left out: a stretch of the bore without anything in it.
Depth depth_scale(const Frame& f, double metre, double room, double splice_depth) {
    const auto& well = f.site.scenario.well;
    Depth depth{f.ground, metre, {}};
    const double bottom = std::max(1.0, well.bore_depth_m);
    if (bottom * metre <= room) return depth;
    if (bottom * 0.72 * metre <= room) {  // a little smaller shows all of it
        depth.metre = room / bottom;
        return depth;
    }
    // Depths that must stay in the picture, each with some room about it.
    std::vector<double> kept{near_ground_m, well.static_level_m, well.pump_depth_m, bottom};
    if (std::isfinite(well.dry_probe_depth_m)) kept.push_back(well.dry_probe_depth_m);
    if (std::isfinite(splice_depth)) kept.push_back(splice_depth);
    std::sort(kept.begin(), kept.end());
    double from = near_ground_m, gap = 0.0;
    for (std::size_t i = 0; i + 1 < kept.size(); ++i) {
        const double low = i == 0 ? kept[i] : kept[i] + 2.0, high = kept[i + 1] - 2.0;
        if (kept[i] < near_ground_m || high - low <= gap) continue;
        gap = high - low;
        from = low;
    }
    const double wanted = std::ceil(bottom - (room - tear_height) / metre);
    const double left_out = std::floor(std::min(wanted, gap));
    if (left_out < least_left_out_m) {
        depth.metre = room / bottom;
        return depth;
    }
    depth.metre = std::min(metre, (room - tear_height) / (bottom - left_out));
    // High in the gap, so that what lies above and below is drawn as it is.
    depth.tear = Tear{0.0, 0.0, from, from + left_out};
    depth.tear->top = f.ground + depth.metre * from;
    depth.tear->bottom = depth.tear->top + tear_height;
    return depth;
}

void place_bore(const Frame& f, const MovingPart& moving, double x, SiteDrawing& d) {
    const site::Hydraulics& water = f.site.works.water;
    const auto& scenario = f.site.scenario;
    Bore bore;
    const double width = std::min(74.0, 62.0 * f.unit);
    const Depth& depth = d.depth;
    const double bottom = depth.y(scenario.well.bore_depth_m);
    bore.box = {x - width / 2.0, f.ground, width, bottom - f.ground};
    bore.rest_y = depth.y(water.static_level);
    const double level = std::clamp(moving.water_level_m, 0.0, scenario.well.bore_depth_m);
    bore.water_y = depth.y(level);
    bore.water_in_tear = depth.tear && level > depth.tear->from_m && level < depth.tear->to_m;
    bore.intake_y = depth.y(water.pump_depth);
    // Symbols: the pump above its intake, the motor below it.
    const double motor_h = std::clamp(bottom - bore.intake_y - 14.0, 26.0, 74.0 * f.unit);
    const double pump_h = std::clamp((bore.intake_y - f.ground) * 0.16, 24.0, 46.0 * f.unit);
    const double body = 34.0 * width / 62.0;
    const double pipe_x = bore.box.x + 0.40 * width;
    bore.pump = {pipe_x - body / 2.0, bore.intake_y - 5.0 - pump_h, body, pump_h};
    bore.motor = {pipe_x - body / 2.0, bore.intake_y + 5.0, body, motor_h};
    const double probe =
        std::isfinite(scenario.well.dry_probe_depth_m) ? scenario.well.dry_probe_depth_m : water.pump_depth - 2.0;
    bore.probe_y = depth.y(probe);
    bore.splice_y = std::isfinite(scenario.splice.depth_m) ? depth.y(scenario.splice.depth_m) : bore.pump.y - 22.0;
    bore.splice_y = std::clamp(bore.splice_y, f.ground + 50.0, bore.motor.y);
    for (std::size_t k = 0; k < 3; ++k) bore.core_x[k] = bore.box.x + (0.72 + 0.075 * static_cast<double>(k)) * width;
    bore.earth_x = bore.box.x + 0.94 * width;

    const double right = f.box.right();
    const double dip = bore.water_y - bore.rest_y;
    const auto table = [&](double px) {
        const double away = std::max(0.0, std::abs(px - x) - width / 2.0);
        return bore.rest_y + dip * std::exp(-away / (70.0 * f.unit));
    };
    for (double px = f.box.x; px < bore.box.x; px += 8.0) bore.table.push_back({px, table(px)});
    bore.table.push_back({bore.box.x, table(bore.box.x)});
    bore.table.push_back({bore.box.right(), table(bore.box.right())});
    for (double px = bore.box.right() + 8.0; px < right + 8.0; px += 8.0)
        bore.table.push_back({std::min(px, right), table(px)});

    const int step = depth.metre >= 7.0 ? 5 : 10;
    for (int m = 1; m <= static_cast<int>(scenario.well.bore_depth_m); ++m) {
        if (depth.tear && m > depth.tear->from_m - 0.2 && m < depth.tear->to_m + 0.2) continue;
        if (depth.metre < 5.0 && m % step != 0) continue;
        bore.ruler.push_back({depth.y(m), m, m % step == 0});
    }
    d.bore = bore;
}

void place_tank(const Frame& f, double metre, SiteDrawing& d) {
    const double outlet_y = std::min(f.ground - metre * f.site.works.water.outlet_height, f.ground - 74.0);
    const double width = std::clamp(0.085 * f.box.w, 44.0, 96.0), height = 50.0;
    Tank tank;
    tank.box = {f.box.x + std::clamp(0.022 * f.box.w, 8.0, 24.0), outlet_y + 10.0, width, height};
    tank.terrace_y = std::min(tank.box.bottom(), f.ground);
    const double fill = std::clamp(f.site.scenario.tank.fill, 0.0, 1.0);
    tank.level_y = tank.box.bottom() - 2.0 - fill * (tank.box.h - 10.0);
    tank.outlet = {tank.box.right() - 12.0, outlet_y + 6.0};
    tank.hinge = {tank.box.x + 6.0, tank.box.y + 8.0};
    d.tank = tank;
}

}  // namespace

void place_ground(const Frame& f, const MovingPart& moving, SiteDrawing& d) {
    const Box& b = f.box;
    if (!f.well) {
        d.surface = {{b.x, f.ground}, {b.right(), f.ground}};
        return;
    }
    const double room = b.bottom() - 14.0 - f.ground;
    double metre = 11.0 * std::clamp(b.h / 584.0, 0.5, 2.0);
    const double above = f.ground - b.y - 64.0;
    metre = std::min(metre, above / std::max(1.0, f.site.works.water.outlet_height));
    d.depth = depth_scale(f, metre, room, f.site.scenario.splice.depth_m);
    place_tank(f, std::min(metre, d.depth.metre > 0 ? std::max(metre, d.depth.metre) : metre), d);
    Tank& tank = *d.tank;
    tank.level_y = tank.box.bottom() - 2.0 - moving.tank_fill * (tank.box.h - 10.0);
    tank.ball = {tank.box.x + tank.box.w * 0.42, tank.level_y - 3.0};

    // The bore further left where the picture is narrow, its labels then short.
    const double x = b.x + std::max(126.0, b.w >= 860.0 ? 0.262 * b.w : (0.262 - 0.05 * (860.0 - b.w) / 300.0) * b.w);
    place_bore(f, moving, x, d);
    const Bore& bore = *d.bore;

    const double pipe_right = tank.box.right() + 16.0, foot = std::max(pipe_right + 26.0, bore.box.x - 34.0);
    const double terrace = tank.terrace_y;
    if (terrace < f.ground - 4.0) {
        const double slope_top = pipe_right + 8.0;
        std::vector<Point> hill{{b.x, terrace}, {slope_top, terrace}};
        for (int i = 1; i <= 8; ++i) {
            const double t = i / 8.0, ease = t * t * (3 - 2 * t);
            hill.push_back({slope_top + (foot - slope_top) * t, terrace + (f.ground - terrace) * ease});
        }
        d.surface = hill;
    } else {
        d.surface = {{b.x, f.ground}, {foot, f.ground}};
    }
    d.surface.push_back({b.right(), f.ground});

    const double pipe_x = bore.pump.centre().x, trench = f.ground + 15.0;
    const std::vector<Point> path{{pipe_x, bore.pump.y},
                                  {pipe_x, trench},
                                  {std::max(foot - 14.0, pipe_right + 12.0), trench},
                                  {pipe_right, std::min(trench, terrace + 22.0)},
                                  {pipe_right, tank.outlet.y - 16.0},
                                  {tank.outlet.x, tank.outlet.y - 16.0},
                                  tank.outlet};
    d.main = rounded(path, 14.0);
    d.valve = {(pipe_x + std::max(foot - 14.0, pipe_right + 12.0)) / 2.0, trench};
}

void place_bench_motor(const Frame& f, SiteDrawing& d) {
    // Between the left edge and the supply (or the modules), on its feet.
    const double right = !d.supply.empty() && !f.mains ? d.supply.x : d.array.empty() ? d.drive.x - 60.0 : d.array.x;
    const double room = std::max(120.0, right - f.box.x - 60.0);
    const double w = std::min(104.0 * f.unit, room * 0.5), h = w * 0.72;
    BenchMotor m;
    m.body = {f.box.x + std::max(44.0, (right - f.box.x - w) / 2.0 - 6.0), f.ground - h - 10.0, w, h};
    m.fan = {m.body.x - 30.0, m.body.centre().y - h * 0.6, 14.0, h * 1.2};
    d.bench_motor = m;
}

void place_sheets(const Frame& f, SheetChoice choice, SiteDrawing& d) {
    SheetPlaces& s = d.sheets;
    const double left = d.bore ? d.bore->box.right() + 46.0 : f.box.x + 16.0;
    double top = f.ground + (d.bore ? 48.0 : 30.0);
    if (d.depth.tear && d.depth.tear->top < f.ground + 90.0) top = d.depth.tear->bottom + 6.0;
    const double high = std::min(f.box.bottom() - 12.0 - top, 420.0 * f.unit);
    Box room{left, top, std::max(0.0, f.box.right() - 14.0 - left), std::max(0.0, high)};
    constexpr double gap = 10.0, splice_w = 270.0, splice_h = 104.0, power_h = 140.0, motor_w = 236.0, motor_h = 112.0;
    const bool two_columns = room.w >= splice_w + gap + motor_w && room.h >= 170.0;
    if (room.w >= 3 * splice_w + 2 * gap && room.h < splice_h + gap + power_h) {
        s.splice = room.cut_left((room.w - 2 * gap) * 0.36);
        room.cut_left(gap);
        s.power = room.cut_right((room.w - gap) * 0.5);
        room.cut_right(gap);
        s.motor = room;
    } else if (two_columns) {
        Box column = room.cut_left((room.w - gap) * 0.54);
        room.cut_left(gap);
        s.motor = room;
        if (column.h >= splice_h + gap + power_h) {
            s.splice = column.cut_top(std::max(splice_h, (column.h - gap) * 0.42));
            column.cut_top(gap);
            s.power = column;
        } else {  // the power sheet does not fit under the splice: chosen instead of the motor
            s.splice = column;
            s.chooser = true;
            if (choice == SheetChoice::power) std::swap(s.motor, s.power);
        }
    } else if (room.w >= splice_w && room.h >= splice_h + gap + motor_h) {
        s.splice = room.cut_top(std::max(splice_h, std::min(150.0, (room.h - gap) * 0.46)));
        room.cut_top(gap);
        s.chooser = true;
        (choice == SheetChoice::power ? s.power : s.motor) = room;
    } else if (room.w >= 200.0 && room.h >= splice_h) {
        s.chooser = true;
        (choice == SheetChoice::power ? s.power : choice == SheetChoice::motor ? s.motor : s.splice) = room;
    }
    if (!s.splice.empty()) {
        const double pitch = std::clamp((s.splice.h - 52.0) / 3.0, 17.0, 40.0);
        for (std::size_t k = 0; k < 3; ++k) s.row_y[k] = s.splice.y + 46.0 + pitch * (0.5 + static_cast<double>(k));
        s.cable_x = s.splice.x + 38.0;
        // Four columns of five places in 12 px figures, and a gap between them; the conductors end, rings and all,
        // before that.
        constexpr double column = 5 * 7.2 + 8.0, ring = 6.0 + 6.0;
        const double figures = std::clamp(0.62 * s.splice.w, 3 * column + 36.0, 4 * 56.0);
        s.figures_x = s.splice.right() - 10.0 - figures;
        s.motor_x = std::min(s.figures_x - ring, s.cable_x + 190.0);
    }
    if (!s.motor.empty()) s.star = {s.motor.right() - 18.0, s.motor.y + 16.0};
}

void run_cable(const Frame& f, SiteDrawing& d) {
    // Cores hang from the terminals, meet in the sheath, go down and left in a trench to the bore or along the floor.
    const double middle = d.terminal[1].x, sheath_top = f.ground - 20.0, trench = f.ground + 30.0;
    std::array<std::vector<Point>, 4> core;
    for (std::size_t k = 0; k < 3; ++k) {
        const double shift = 4.0 * (static_cast<double>(k) - 1.0);
        const double x = d.terminal[k].x;
        if (!d.pulled[k]) core[k].push_back(d.terminal[k]);
        core[k].push_back(d.lead_end[k]);
        if (d.pulled[k]) core[k].push_back({x, d.lead_end[k].y + 6.0});
        core[k].push_back({x, d.drive.bottom() + 34.0});
        core[k].push_back({middle + shift, sheath_top});
        core[k].push_back({middle + shift, trench + shift});
    }
    core[3] = {d.earth, {d.earth.x, f.ground + 8.0}};
    d.rings.push_back({"u", "", {d.terminal[0].x, d.drive.bottom() + 27.0}, 7.5, 7.5});
    d.rings.push_back({"v", "", {d.terminal[1].x, d.drive.bottom() + 27.0}, 7.5, 7.5});
    d.rings.push_back({"w", "", {d.terminal[2].x, d.drive.bottom() + 27.0}, 7.5, 7.5});
    d.rings.push_back({"uvw", "", {middle, f.ground - 9.0}, 11.0, 6.5});
    if (d.bore) {
        const Bore& bore = *d.bore;
        for (std::size_t k = 0; k < 3; ++k) {
            const double shift = 4.0 * (static_cast<double>(k) - 1.0);
            core[k].push_back({bore.core_x[k], trench + shift});
            core[k].push_back({bore.core_x[k], bore.motor.y + 4.0 + 3.0 * static_cast<double>(k)});
            core[k].push_back({bore.motor.right() - 4.0, bore.motor.y + 4.0 + 3.0 * static_cast<double>(k)});
        }
        core[3].insert(core[3].begin() + 1, {{d.earth.x, trench + 8.0},
                                             {bore.earth_x, trench + 8.0},
                                             {bore.earth_x, bore.motor.y + 16.0},
                                             {bore.motor.right() - 2.0, bore.motor.y + 16.0}});
        core[3].pop_back();
    } else if (d.bench_motor) {
        const Box& body = d.bench_motor->body;
        for (std::size_t k = 0; k < 3; ++k) {
            const double shift = 4.0 * (static_cast<double>(k) - 1.0), y = f.ground + 9.0 + shift;
            core[k].back().y = y;
            const double x = body.right() + 26.0 + shift;
            core[k].push_back({x, y});
            core[k].push_back({x, body.centre().y - shift});
            core[k].push_back({body.right() - 6.0, body.centre().y - shift});
        }
        core[3].back() = {d.earth.x, f.ground + 17.0};
        core[3].push_back({body.x + 12.0, f.ground + 17.0});
        core[3].push_back({body.x + 12.0, body.bottom() - 4.0});
    }
    // A wire has the colour of its core, whichever terminal it sits on.
    for (std::size_t k = 0; k < 3; ++k)
        d.wires.push_back({core_wire[static_cast<std::size_t>(f.site.works.core_at[k])], rounded(core[k], 6.0)});
    d.wires.push_back({Wire::earth, rounded(core[3], 6.0)});
    if (!f.mains) d.wires.push_back({Wire::earth, {{d.earth.x, d.drive.bottom()}, d.earth}});
    for (std::size_t k = 0; k < 3; ++k)
        d.parts.push_back({Part::Kind::wire, std::string(1, "uvw"[k]),
                           Box{d.terminal[k].x - 9.0, d.drive.bottom() + 1.0, 18.0, 17.0}, d.pulled[k]});
}

}  // namespace sunshaft::view::drawing
