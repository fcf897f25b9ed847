// Spectrum: the channels by harmonic order or in groups of IEC 61000-4-7, with total distortion; the motor's
// signatures.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/desk.hpp"
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

class SpectrumPanel : public Panel {
  public:
    Place place() const override { return Place::strip; }
    const char* title() const override { return text::id("Spectrum"); }
    void draw(PanelContext& x) override {
        if (!x.desk) return;
        x.desk->want_spectra();
        const auto s = x.desk->snapshot();
        const view::Palette& p = x.palette();
        Canvas c = x.canvas();
        Box rest = x.box.inset(8, 4);
        if (s->spectra.empty() || s->fundamental_Hz <= 0.0) {
            c.text({rest.x + 16, rest.y + 28},
                   s->waves.empty()           ? text::tr("Place both leads, or choose a channel on the scope.")
                   : s->fundamental_Hz <= 0.0 ? text::tr("No fundamental here, so there are no orders to count.")
                                              : text::tr("first figure to come"),
                   {.colour = p.ink_soft});
            return;
        }
        Box side = rest.w > 620 ? rest.cut_right(320) : Box{};
        if (side.w > 0) choose(x, side, *s);
        std::vector<std::string> units;
        for (const auto& one : s->spectra)
            if (std::ranges::find(units, one.unit) == units.end()) units.push_back(one.unit);
        if (units.size() > 2) units.resize(2);
        const double each = rest.h / static_cast<double>(units.size());
        Drawn own = shown(*s, s->spectra), twin = shown(*s, s->healthy_spectra);
        const Box plots = plot_inside(rest, true);
        const auto halves = wiped(x, *s, plots);
        if (halves) wipe(own, twin, static_cast<std::size_t>(std::lround(halves->healthy.w / plots.w * orders)));
        for (std::size_t u = 0; u < units.size(); ++u)
            bars(c, {rest.x, rest.y + each * static_cast<double>(u), rest.w, each}, own, twin, units[u],
                 u + 1 == units.size(), p);
        if (halves) wipe_line(x, {plots.x, rest.y + 4, plots.w, plots.bottom() - rest.y - 4});
        if (side.w > 0)
            figures(c, side.inset(14, 0), *s, p), wipe_table(x, *s, {side.x + 14, side.y + 12}, Align::left);
    }

    std::string csv(const view::Desk& desk) const override {
        const auto s = desk.snapshot();
        const Drawn live = shown(*s, s->spectra), healthy = shown(*s, s->healthy_spectra);
        std::vector<view::Column> columns{{text::tr("order"), {}}};
        for (int n = 0; n < orders; ++n) columns[0].figures.push_back(live.first + n);
        for (const auto& [drawn, words] : {std::pair{&live, ""}, {&healthy, " healthy"}})
            for (const Bars& b : drawn->all) {
                columns.push_back({fmt::format("{}{} [{}]", b.label, words, b.unit), b.at});
                if (!b.between.empty())
                    columns.push_back({fmt::format("{}{} between the orders [{}]", b.label, words, b.unit), b.between});
            }
        return live.all.empty() ? std::string() : view::columns_to_csv(columns);
    }

  private:
    static constexpr int orders = 25;
    enum Way { from_one, groups, at_carrier };
    int way_ = from_one;

    void choose(PanelContext& x, Box& side, const view::Snapshot& s) {
        const std::string_view ways[] = {text::tr("orders"), text::tr("groups"), text::tr("carrier")};
        const bool off[] = {false, false, !middle_order(s)};
        if (off[at_carrier] && way_ == at_carrier) way_ = from_one;
        Box row = side.cut_top(30).inset(14, 2);
        const std::string_view hints[] = {
            text::tr("Each order of the fundamental"),
            text::tr("Harmonic subgroups after IEC 61000-4-7: each order with its two neighbouring lines. What lies "
                     "between the "
                     "orders stands as thin bars"),
            text::tr("The orders on both sides of the carrier of the pulse-width modulation")};
        key_row(x, "spectrum/way", {row.x, row.y, 222, row.h}, ways, way_, KeyRowLook::sheet, hints, off);
    }

    // Order of the carrier, where it is among the lines with its neighbours.
    static int middle_order(const view::Snapshot& s) {
        for (const auto& one : s.spectra)
            if (one.carrier_Hz > 0.0) {
                const int order = static_cast<int>(std::lround(one.carrier_Hz / one.fundamental_Hz));
                if (order > orders && order + orders / 2 <= static_cast<int>(one.lines.size())) return order;
            }
        return 0;
    }

    // What stands as a bar: an order's line, or its subgroup; between the orders nothing, or the interharmonic
    // subgroup.
    struct Bars {
        std::string label, unit;
        std::vector<double> at, between;  // from the first order on, and behind it
    };
    struct Drawn {
        std::vector<Bars> all;
        int first = 1;  // order
        std::string what = {};
    };
    Drawn shown(const view::Snapshot& s, const std::vector<view::Spectrum>& of) const {
        Drawn d;
        if (way_ == at_carrier) d.first = std::max(1, middle_order(s) - orders / 2);
        int periods = 0;
        for (const auto& one : of) {
            Bars b{one.label, one.unit, {}, {}};
            if (way_ == groups) {
                b.at = one.groups.harmonic_subgroup;
                b.between = one.groups.interharmonic;
                periods = one.groups.periods;
            } else {
                for (const auto& h : one.lines)
                    if (h.order >= d.first) b.at.push_back(h.rms);
            }
            b.at.resize(std::min<std::size_t>(b.at.size(), orders));
            b.between.resize(std::min<std::size_t>(b.between.size(), orders - 1));
            d.all.push_back(std::move(b));
        }
        d.what = way_ == groups ? text::say("subgroups over {} periods of {}, thin: between the orders", periods,
                                            text::quantity(s.fundamental_Hz, "Hz"))
                                : text::say("order, in multiples of {}", text::quantity(s.fundamental_Hz, "Hz"));
        return d;
    }

    // The first orders are the twin's, and it stands behind the others no more.
    static void wipe(Drawn& own, Drawn& twin, std::size_t first) {
        for (Bars& b : own.all) {
            const auto healthy =
                std::ranges::find_if(twin.all, [&](const Bars& t) { return t.label == b.label && t.unit == b.unit; });
            for (std::size_t k = 0; k < std::min(first, b.at.size()); ++k)
                b.at[k] = healthy != twin.all.end() && k < healthy->at.size() ? healthy->at[k] : 0.0;
            for (std::size_t k = 0; k < std::min(first, b.between.size()); ++k)
                b.between[k] = healthy != twin.all.end() && k < healthy->between.size() ? healthy->between[k] : 0.0;
        }
        twin.all.clear();
    }

    static void bars(Canvas& c, const Box& outer, const Drawn& s, const Drawn& healthy, const std::string& unit,
                     bool last, const view::Palette& p) {
        std::vector<std::size_t> members;
        double most = 1.0;  // where nothing flows the scale does not go into the solver's noise
        for (std::size_t n = 0; n < s.all.size(); ++n) {
            if (s.all[n].unit != unit) continue;
            members.push_back(n);
            for (const double v : s.all[n].at) most = std::max(most, v);
        }
        for (const Bars& b : healthy.all)
            if (b.unit == unit)
                for (const double v : b.at) most = std::max(most, v);
        const Box inner = plot_inside(outer, last);
        // Logarithmic over four decades: harmonics of a hundredth matter.
        const double top = std::pow(10.0, std::ceil(std::log10(most) - 1e-9)), bottom = top * 1e-4;
        auto height = [&](double v) {
            return inner.bottom() - std::clamp(std::log10(std::max(v, bottom) / bottom) / 4.0, 0.0, 1.0) * inner.h;
        };
        c.fill(inner, p.sheet);
        for (int k = 0; k <= 4; ++k) {
            const double v = bottom * std::pow(10.0, k), y = height(v);
            c.rule({inner.x, y}, {inner.right(), y}, p.grid);
            if (k % (inner.h < 90 ? 2 : 1) == 0)
                c.text({inner.x - 8, y}, view::tick_text(v, v, top, unit),
                       {.colour = p.ink_soft,
                        .size = 12,
                        .face = Face::mono,
                        .align = Align::right,
                        .sit = paint::Sit::middle});
        }
        c.text({inner.x - 50, inner.y + 11}, view::tick_unit(top, unit), {.colour = p.ink});
        Box figure_before{};
        const double slot = inner.w / orders, bar = std::min(10.0, 0.8 * slot / static_cast<double>(members.size()));
        for (int order = 1; order <= orders; ++order) {
            const double x = inner.x + (order - 0.5) * slot;
            if (last && order % 2 == 1)
                c.text({x, inner.bottom() + 16}, fmt::format("{}", s.first - 1 + order),
                       {.colour = p.ink_soft, .size = 12, .face = Face::mono, .align = Align::centre});
            double left = x - 0.5 * bar * static_cast<double>(members.size());
            for (const std::size_t n : members) {
                const auto k = static_cast<std::size_t>(order - 1);
                const Bars& own = s.all[n];
                const view::SignalLook& look = p.signal[n % p.signal.size()];
                if (k < own.between.size() && own.between[k] > bottom) {
                    const double at = left + 0.5 * slot + 0.5 * bar;
                    c.rule({at, height(own.between[k])}, {at, inner.bottom()}, look.colour);
                }
                // Where the healthy site stands: a grey line across the bar's place, wider than the bar.
                const auto twin = std::ranges::find_if(
                    healthy.all, [&](const Bars& b) { return b.label == own.label && b.unit == own.unit; });
                if (twin != healthy.all.end() && k < twin->at.size() && twin->at[k] > bottom)
                    c.line({left - 2, height(twin->at[k])}, {left + bar + 1, height(twin->at[k])},
                           {.colour = p.ghost, .width = 2.4});
                if (k < own.at.size() && own.at[k] > bottom) {
                    const double v = own.at[k];
                    const Box box{left, height(v), bar - 1, inner.bottom() - height(v)};
                    if (n % p.signal.size() == 0) c.fill(box, look.colour);
                    else {
                        // Never by colour alone: hatched one way or the other, or open.
                        const view::Point corners[] = {
                            {box.x, box.y}, {box.right(), box.y}, {box.right(), box.bottom()}, {box.x, box.bottom()}};
                        c.fill(box, look.colour.faded(0.25));
                        if (n % 5 < 3) c.hatch(corners, look.colour, 4, n % 2 == 1, 1.5);
                        c.frame(box, look.colour);
                    }
                    if (members.size() == 1 && slot > 34 && v > 1e-3 * most) {
                        // Each over its bar, where it meets neither the one before it nor the words in the corner.
                        const paint::TextLook over_bar{
                            .colour = p.ink, .size = 12, .face = Face::mono, .align = Align::centre};
                        const std::string number = view::figure(v, "", 3).number;
                        const double wide = c.width(number, over_bar), middle = std::min(x, inner.right() - 24);
                        const Box place{middle - wide / 2, box.y - 15, wide, 14};
                        const bool meets = place.x < figure_before.right() + 3 && place.y < figure_before.bottom() &&
                                           figure_before.y < place.bottom();
                        if (!meets && place.y > inner.y + 18) {
                            c.text({middle, box.y - 4}, number, over_bar);
                            figure_before = place;
                        }
                    }
                }
                left += bar;
            }
        }
        c.frame(inner, p.rule);
        if (!last) return;
        const paint::TextLook quiet{.colour = p.ink_soft, .size = 12, .align = Align::right};
        const std::string both = text::say("{}, grey line: healthy", s.what);
        for (const std::string& words : {both, s.what, std::string(text::tr("order"))})
            if ((!healthy.all.empty() || words != both) && c.width(words, quiet) < inner.w - 16) {
                c.text({inner.right() - 6, inner.y + 14}, words, quiet);
                break;
            }
    }

    static void figures(Canvas& c, const Box& side, const view::Snapshot& s, const view::Palette& p) {
        // One row a channel: rms of all of it, of the fundamental, and the rest against the fundamental.
        const double rms = side.x + 0.5 * side.w, first = side.x + 0.77 * side.w, rest = side.right();
        double y = side.y + 12;
        const auto cell = [&](double at, const std::string& words, bool number) {
            c.text({at, y}, words,
                   {.colour = number ? p.ink : p.ink_soft,
                    .size = 12,
                    .face = number ? Face::mono : Face::words,
                    .align = Align::right});
        };
        cell(rms, "rms", false);
        cell(first, text::tr("order 1"), false);
        cell(rest, "THD", false);
        for (std::size_t n = 0; n < s.spectra.size() && y < side.bottom() - 24; ++n) {
            y += 19;
            const auto& one = s.spectra[n];
            paint::signal_key(c, {side.x, y - 4}, p.signal[n % p.signal.size()], 16);
            const paint::TextLook name{.colour = p.ink, .size = 12, .face = Face::strong};
            c.text({side.x + 20, y}, c.fitted(one.label, rms - side.x - 94, name), name);
            const double fundamental = one.lines.empty() ? 0.0 : one.lines.front().rms;
            cell(rms, view::figure(one.rms, one.unit, 4).text(), true);
            // A steady quantity with a ripple has no fundamental to speak of.
            const bool alternates = fundamental > 0.02 * one.rms;
            cell(first, alternates ? view::figure(fundamental, one.unit, 4).text() : "-", true);
            cell(rest, alternates ? view::figure(100 * one.thd, "%", 3).text() : "-", true);
        }
        if (s.signature) signatures(c, Box{side.x, y + 10, side.w, side.bottom() - y - 10}, *s.signature, p);
    }

    // The lines that give a motor away: torque and link at 1, 2 and 6 times the fundamental, sidebands at twice the
    // slip.
    static void signatures(Canvas& c, Box side, const view::Signature& g, const view::Palette& p) {
        const paint::TextLook quiet{.colour = p.ink_soft, .size = 12};
        const double column[] = {side.x + 0.5 * side.w, side.x + 0.75 * side.w, side.right()};
        const auto cell = [&](double at, double y, const std::string& words, bool number) {
            c.text({at, y}, words,
                   {.colour = number ? p.ink : p.ink_soft,
                    .size = 12,
                    .face = number ? Face::mono : Face::words,
                    .align = Align::right});
        };
        if (side.h >= 62) {
            double y = side.y + 14;
            c.text({side.x, y}, text::tr("ripple over mean"), quiet);
            static constexpr const char* at[] = {"1 f", "2 f", "6 f"};
            for (std::size_t n = 0; n < 3; ++n) cell(column[n], y, at[n], false);
            for (std::size_t k = 0; k < 2; ++k) {
                y += 17;
                c.text({side.x, y}, k == 0 ? text::tr("link") : text::tr("torque"),
                       {.colour = p.ink, .size = 12, .face = Face::strong});
                for (std::size_t n = 0; n < 3; ++n)
                    cell(column[n], y, g.ripple[k][n] < 1e-4 ? "< 0.01 %" : view::percent(g.ripple[k][n], 2), true);
            }
            side.cut_top(y - side.y + 8);
        }
        if (side.h < 28 || !std::isfinite(g.slip)) return;
        const double y = side.y + 12;
        c.text({side.x, y}, text::tr("sidebands in u, at f - and + 2 slip"), quiet);
        if (!g.sidebands) {
            const std::string wait = std::isfinite(g.needed_s)
                                         ? text::say("{} s of steady current are needed", text::fixed(g.needed_s, 1))
                                         : std::string(text::tr("no slip, no sidebands"));
            c.text({side.x, y + 17}, wait, quiet);
            return;
        }
        // What stands lower is the recording's own.
        const auto level = [](double dB, double hertz) {
            return fmt::format("{} dB, {} Hz", dB < -75.0 ? "< -75" : text::fixed(dB, 0), text::fixed(hertz, 1));
        };
        c.text({side.x, y + 17}, level(g.sidebands->lower_dB, g.sidebands->lower_Hz),
               {.colour = p.ink, .size = 12, .face = Face::mono});
        cell(side.right(), y + 17, level(g.sidebands->upper_dB, g.sidebands->upper_Hz), true);
    }
};

}  // namespace

std::unique_ptr<shell::Panel> spectrum() { return std::make_unique<SpectrumPanel>(); }

}  // namespace sunshaft::panels
