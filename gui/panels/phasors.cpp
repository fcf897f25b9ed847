// Phasors: voltages and currents of the fundamental, and their symmetrical components. The voltages stand to the star
// point; from tip to tip lie those between the lines.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <tuple>

#include "model/desk.hpp"
#include "model/figures.hpp"
#include "model/format.hpp"
#include "model/waves_csv.hpp"
#include "panels/panels.hpp"
#include "panels/plot.hpp"
#include "panels/wipe.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

using Three = std::array<std::complex<double>, 3>;
constexpr std::array<const char*, 3> phases = {"u", "v", "w"}, lines = {"u-v", "v-w", "w-u"};

double largest(const Three& phasor) {
    double most = 0.0;
    for (const auto& v : phasor) most = std::max(most, std::abs(v));
    return most;
}

// Turned so that u points right, or the first that is there: with the window's timing they would spin.
std::complex<double> upright(const Three& phasor) {
    const double most = largest(phasor);
    for (std::size_t k = 0; k < 3; ++k)
        if (std::abs(phasor[k]) > 0.02 * most)
            return std::polar(1.0, -std::arg(phasor[k]) - 2.0 * std::numbers::pi / 3.0 * static_cast<double>(k));
    return 1.0;
}

// The circle the arrows stand in, and how long the longest is.
struct Circle {
    view::Point centre;
    double radius, most;
    view::Point tip(std::complex<double> v) const {
        return {centre.x + radius / most * v.real(), centre.y - radius / most * v.imag()};
    }
};

class Phasors : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Phasors"); }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        Box rest = x.box.inset(16, 8);
        if (s->fundamental_Hz <= 0.0) return quiet_words(c, rest, text::tr("Nothing turns: no phasors."), p);
        const double each = std::min(rest.h + 140, rest.w * 0.34);
        star(x, *s, rest.cut_left(each), each > 230 ? text::tr("Phase and line voltages") : text::tr("Voltages"),
             s->volt_phasor, s->healthy_volt_phasor, "V", p);
        star(x, *s, rest.cut_left(each), text::tr("Line currents"), s->amp_phasor, s->healthy_amp_phasor, "A", p);
        rest.cut_left(16);
        sequences(c, rest, *s, p);
        wipe_table(x, *s, {rest.right(), rest.y + 10}, Align::right);
    }

    std::string csv(const view::Desk& desk) const override {
        const auto s = desk.snapshot();
        if (s->fundamental_Hz <= 0.0) return {};
        std::vector<view::Column> columns;
        const auto put = [&](const std::string& head, const std::string& angles, const Three& of,
                             std::complex<double> turn) {
            view::Column size{head, {}}, angle{angles, {}};
            for (const auto& v : of)
                size.figures.push_back(std::abs(v)),
                    angle.figures.push_back(std::arg(v * turn) * 180.0 / std::numbers::pi);
            columns.push_back(size), columns.push_back(angle);
        };
        for (const auto& [words, volt, amp] : {std::tuple{"", &s->volt_phasor, &s->amp_phasor},
                                               {"healthy ", &s->healthy_volt_phasor, &s->healthy_amp_phasor}}) {
            put(fmt::format("{}u v w [V]", words), fmt::format("{}angle of V [deg]", words), *volt, upright(*volt));
            put(fmt::format("{}u-v v-w w-u [V]", words), fmt::format("{}angle of u-v v-w w-u [deg]", words),
                view::between_lines(*volt), upright(*volt));
            put(fmt::format("{}u v w [A]", words), fmt::format("{}angle of A [deg]", words), *amp, upright(*amp));
        }
        columns.push_back(
            {"positive negative zero [V]", {s->volt_sequence[1], s->volt_sequence[2], s->volt_sequence[0]}});
        columns.push_back({"positive negative zero [A]", {s->amp_sequence[1], s->amp_sequence[2], s->amp_sequence[0]}});
        return view::columns_to_csv(columns);
    }

  private:
    static void star(const PanelContext& x, const view::Snapshot& s, const Box& box, const char* words,
                     const Three& phasor, const Three& healthy, const char* unit, const view::Palette& p) {
        Canvas c = x.canvas();
        paint::title(c, {box.x, box.y + 10}, words, p.ink_soft);
        const bool volts = *unit == 'V';
        const bool figures = box.w > 250, angles = box.w > 300;  // beside the circle
        const double radius = std::max(20.0, std::min((box.w - (angles    ? 204
                                                                : figures ? 168
                                                                          : 48)) *
                                                          0.5,
                                                      (box.h - 46) * 0.5));
        const Circle circle{
            {box.x + 20 + radius, box.y + 30 + radius}, radius, std::max({largest(phasor), largest(healthy), 1e-12})};
        const view::Point centre = circle.centre;
        c.disc(centre, radius, p.sheet);
        c.circle(centre, radius, {.colour = p.rule});
        c.circle(centre, radius / 2, {.colour = p.grid});
        c.rule({centre.x - radius, centre.y}, {centre.x + radius, centre.y}, p.grid);
        c.rule({centre.x, centre.y - radius}, {centre.x, centre.y + radius}, p.grid);
        const auto turn = upright(phasor), turn_healthy = upright(healthy);
        const Box round{centre.x - radius - 16, centre.y - radius - 16, 2 * radius + 32, 2 * radius + 32};
        if (const auto halves = wiped(x, s, round)) {
            {
                const auto clip = c.clip(halves->healthy);
                arrows(c, circle, healthy, turn_healthy, volts, p);
            }
            {
                const auto clip = c.clip(halves->site);
                arrows(c, circle, phasor, turn, volts, p);
            }
            wipe_names(x, s, round, centre.y + radius + 14);
        } else {
            for (const auto& v : healthy)
                if (std::abs(v) > 0.02 * circle.most)
                    c.arrow(centre, circle.tip(v * turn_healthy), {.colour = p.ghost, .width = 1.6});
            arrows(c, circle, phasor, turn, volts, p);
        }
        if (!figures) return;
        const double left = centre.x + radius + 26;
        // Six rows and a line below them, in a low strip closer together.
        const double pitch = std::clamp((box.h - 46) / 7.0, 14.0, 18.0);
        double y = table(c, {left, box.y + 46}, pitch, phases, phasor, turn, unit, angles, p);
        if (volts) y = table(c, {left, y + 4}, pitch, lines, view::between_lines(phasor), turn, unit, angles, p);
        const view::Point below{left, y + 4};
        wipe_table(x, s, below, Align::left);
        if (!x.window.wipe && largest(healthy) > 0.0)
            c.text(below, text::tr("grey: healthy"), {.colour = p.ink_soft, .size = 12});
    }

    // The phases from the middle; from tip to tip, where they are voltages, those between two lines.
    static void arrows(Canvas& c, const Circle& circle, const Three& of, std::complex<double> turn, bool volts,
                       const view::Palette& p) {
        const view::ConductorLook* look[] = {&p.l1, &p.l2, &p.l3};
        for (std::size_t k = 0; k < 3 && volts; ++k) {
            const view::Point from = circle.tip(of[(k + 1) % 3] * turn), to = circle.tip(of[k] * turn);
            if (view::distance(from, to) > 8) c.arrow(from, to, {.colour = p.ink_soft, .width = 1.0}, 5.0);
        }
        for (std::size_t k = 0; k < 3; ++k) {
            const double share = std::abs(of[k]) / circle.most;
            const view::Point end = circle.tip(of[k] * turn);
            // A black conductor on dark ground has a pale casing.
            if (share > 0.02 && p.dark && look[k]->casing.a > 0)
                c.line(circle.centre, end, {.colour = look[k]->casing, .width = 4.4});
            if (share > 0.02)
                c.arrow(circle.centre, end,
                        {.colour = look[k]->core,
                         .width = 2.4,
                         .style = k == 0 ? view::LineStyle::solid
                                         : (k == 1 ? view::LineStyle::dashed : view::LineStyle::dotted)});
            if (share <= 0.15) continue;
            const view::Point out = circle.centre + (end - circle.centre) * (1.0 + 10.0 / (circle.radius * share));
            c.text(out, phases[k],
                   {.colour = p.ink,
                    .face = Face::strong,
                    .align = Align::centre,
                    .sit = paint::Sit::middle,
                    .halo = p.ground});
        }
    }

    // Each with its figure and its angle against u, which points right. Returns the baseline below the last row.
    static double table(Canvas& c, view::Point at, double pitch, const std::array<const char*, 3>& names,
                        const Three& of, std::complex<double> turn, const char* unit, bool angles,
                        const view::Palette& p) {
        const double most = std::max(largest(of), 1e-12);
        for (std::size_t k = 0; k < 3; ++k, at.y += pitch) {
            const double size = std::abs(of[k]);
            const auto f = view::figure(size > 1e-4 * most ? size : 0.0, unit);
            c.text(at, names[k], {.colour = p.ink, .face = Face::strong});
            paint::value(c, {at.x + 88, at.y}, f.number, f.unit, {.number = p.ink, .unit = p.ink_soft, .size = 12});
            if (angles)
                c.text(
                    {at.x + 140, at.y},
                    size > 0.02 * most ? text::fixed(std::arg(of[k] * turn) * 180.0 / std::numbers::pi, 0) + "°" : "-",
                    {.colour = p.ink, .size = 12, .face = Face::mono, .align = Align::right});
        }
        return at.y;
    }

    static void sequences(Canvas& c, Box box, const view::Snapshot& s, const view::Palette& p) {
        paint::title(c, {box.x, box.y + 10}, box.w > 220 ? text::tr("Symmetrical components") : text::tr("Components"),
                     p.ink_soft);
        box.cut_top(28);
        constexpr double own = 1e-4;  // of the largest: less is the solver's, not the site's
        const char* name[] = {text::tr("zero"), text::tr("positive"), text::tr("negative")};
        for (const auto& [unit, parts] : {std::pair{"V", &s.volt_sequence}, {"A", &s.amp_sequence}}) {
            const double most = std::max({(*parts)[0], (*parts)[1], (*parts)[2], 1e-12});
            for (const std::size_t k : {1U, 2U, 0U}) {
                const Box row = box.cut_top(24);
                c.text({row.x, row.y + 14}, name[k], {.colour = p.ink});
                const double left = row.x + 64, right = row.right() - 84;
                c.fill(Box{left, row.y + 5, std::max(1.0, (right - left) * (*parts)[k] / most), 11},
                       k == 2 ? p.accent : (k == 1 ? p.signal[0].colour : p.power_loss));
                const auto f = view::figure((*parts)[k] > own * most ? (*parts)[k] : 0.0, unit);
                paint::value(c, {row.right(), row.y + 14}, f.number, f.unit,
                             {.number = p.ink, .unit = p.ink_soft, .size = 12, .unit_room = 26});
            }
            const Box row = box.cut_top(28);
            const paint::TextLook quiet{.colour = p.ink_soft, .size = 12};
            c.text(
                {row.x, row.y + 12},
                c.fitted(
                    text::say_of(
                        row.w > 260 ? text::id("unbalance, negative over positive, {}") : text::id("unbalance {}"),
                        view::percent((*parts)[2] > own * most ? (*parts)[2] / std::max((*parts)[1], 1e-12) : 0.0, 2)),
                    row.w, quiet),
                quiet);
        }
    }
};

}  // namespace

std::unique_ptr<shell::Panel> phasors() { return std::make_unique<Phasors>(); }

}  // namespace sunshaft::panels
