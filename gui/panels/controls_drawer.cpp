// Weather and controls: sun, heat, the drive's ceiling, wellhead valve, and the acts on the site.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <map>
#include <utility>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "model/site_offers.hpp"
#include "panels/panels.hpp"
#include "shell/loudspeaker.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

class ControlsDrawer : public Panel {
  public:
    explicit ControlsDrawer(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::drawer; }
    const char* title() const override { return text::id("Weather and controls"); }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const Scenario& sc = s->site->scenario;
        const view::Palette& p = x.palette();
        drawer_title(x, text::tr(title()));
        view::Box rest = x.box;
        rest.cut_top(36);
        Child child = x.child("controls", rest, true);
        Canvas c = child.canvas();
        const double top = rest.y - child.scrolled();
        double y = top;
        const bool array = sc.supply.kind == "array";
        if (array) {
            y = heading(c, rest, y, text::tr("Weather"), p);
            y = control(x, c, rest, y, text::tr("Sun on the array"), "sun.irradiance_W_m2", sc.sun.irradiance_W_m2, 0,
                        1200, 10, "W/m²");
            y = control(x, c, rest, y, text::tr("Air"), "sun.air_temperature_degC", sc.sun.air_temperature_degC, -20,
                        55, 1, "°C");
            if (!s->hidden) y = shade(x, c, rest, y, *s);
        } else if (sc.supply.kind == "bench") {
            y = heading(c, rest, y, text::tr("Source"), p);
            y = control(x, c, rest, y, text::tr("Voltage"), "supply.voltage_V", sc.supply.voltage_V, 1, 800, 1, "V");
        }
        y = heading(c, rest, y, text::tr("Drive"), p);
        y = control(x, c, rest, y, sc.drive.control == "fixed" ? text::tr("Output") : text::tr("Speed ceiling"),
                    "drive.frequency_Hz", sc.drive.frequency_Hz, sc.drive.minimum_frequency_Hz,
                    2 * std::max(50.0, sc.drive.nominal_frequency_Hz), 1, "Hz");
        if (sc.pump.kind != "none") {
            y = heading(c, rest, y, text::tr("Water"), p);
            y = control(x, c, rest, y, text::tr("Wellhead valve open"), "rising_main.valve_opening",
                        sc.rising_main.valve_opening, 0, 1, 0.01, "");
            y = control(x, c, rest, y, text::tr("Water at rest"), "well.static_level_m", sc.well.static_level_m, 0,
                        sc.well.pump_depth_m, 0.5, text::tr("m down"));
        }
        y = acts(x, c, rest, y, *s, p);
        y = listen(x, c, rest, y, *s, p);
        y = heading(c, rest, y, text::tr("Teaching"), p);
        checkbox(x, "teaching points", {rest.x + 16, y + 8}, text::tr("Leads on points out of reach"),
                 x.desk->teaching_points);
        y += 20;
        y += c.paragraph(
                 {rest.x + 16, y}, rest.w - 32,
                 text::tr("Hollow dots stand where nobody can measure in the field: down the bore, inside the motor."),
                 {.colour = p.ink_soft, .size = 12}) +
             8;
        child.content_height(y - top + 16);
    }

    // Whatever drawer is on show.
    void draw_over(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const bool plays = x.desk->listens() && s->running == view::Running::run;
        speaker_.play(plays ? s->sound : nullptr, view::sound_rate_Hz, volume_);
    }

  private:
    static double heading(Canvas& c, const view::Box& column, double y, const char* words, const view::Palette& p) {
        c.rule({column.x + 16, y}, {column.right() - 16, y}, p.rule);
        c.text({column.x + 16, y + 21}, words, {.colour = p.ink, .face = Face::strong});
        return y + 30;
    }

    double control(PanelContext& x, Canvas& c, const view::Box& column, double y, const char* words,
                   const std::string& key, double now, double low, double high, double step, const char* unit) {
        const view::Palette& p = x.palette();
        const auto held = moving_.find(key);
        double value = held != moving_.end() ? held->second : now;
        c.text({column.x + 16, y + 16}, words, {.colour = p.ink});
        double typed = value;
        if (number_field(x, key.c_str(), {column.right() - 132, y, 116, 24}, typed, low, high,
                         step < 0.1 ? 2 : (step < 1 ? 1 : 0), unit))
            x.desk->set(key, fmt::format("{:g}", typed));
        if (slider(x, key + " slider", {column.x + 16, y + 28, column.w - 32, 16}, value,
                   {.low = low, .high = high, .step = step}))
            moving_[key] = value;
        else if (held != moving_.end() && !x.input.down[left_button]) {
            x.desk->set(key, fmt::format("{:g}", held->second));
            moving_.erase(key);
        }
        return y + 54;
    }

    // One cell a module, as they hang in the drawing: a press puts it in the shade or back in the light.
    static double shade(PanelContext& x, Canvas& c, const view::Box& column, double y, const view::Snapshot& s) {
        const view::Palette& p = x.palette();
        const auto& strings = s.site->works.array.strings;
        const site::FaultRow* row = site::find_fault("shaded-module");
        if (!row || strings.empty()) return y;
        c.text({column.x + 16, y + 12}, text::tr("Shade, module by module"), {.colour = p.ink});
        y += 22;
        std::size_t longest = 1;
        for (const auto& string : strings) longest = std::max(longest, string.modules.size());
        const double left = column.x + 40,
                     pitch = std::min(26.0, (column.right() - 16 - left) / static_cast<double>(longest));
        for (std::size_t n = 0; n < strings.size(); ++n) {
            c.text({column.x + 16, y + 15}, fmt::format("{}", n + 1), {.colour = p.ink_soft, .size = 12});
            const std::size_t count = strings[n].modules.size();
            for (std::size_t m = 0; m < count; ++m) {
                // The first module hangs at the right, next to the plus lead.
                const view::Box cell{left + pitch * static_cast<double>(count - 1 - m), y, pitch - 2, 22};
                const std::string place = fmt::format("s{}.m{}", n + 1, m + 1);
                const auto& light = strings[n].modules[m].light;
                const double least = *std::min_element(light.begin(), light.end());
                const bool shaded = least < 0.999;
                c.fill(cell, p.cell);
                if (shaded)
                    c.fill(view::Box{cell.x, cell.bottom() - cell.h * (1 - least), cell.w, cell.h * (1 - least)},
                           p.ink_soft);
                c.frame(cell, shaded ? p.accent : p.module_frame, shaded ? 2.0 : 1.0);
                const Touch t = touch(x, "shade " + place, cell);
                if (t.focused) focus_mark(x, cell);
                hint(x, t,
                     shaded ? text::say("Module {}: {} % of the light. Press to take the shade off", place,
                                        text::fixed(100 * least, 0))
                            : text::say("Module {}: {} % of the light. Press to shade it", place,
                                        text::fixed(100 * least, 0)));
                if (!t.clicked) continue;
                if (shaded) x.desk->heal(row->kind, place);
                else x.desk->plant(row->kind, place, row->usual);
            }
            y += 28;
        }
        return y + 6;
    }

    // Each opens its card, where it is seen: over the bench.
    double acts(PanelContext& x, Canvas& c, const view::Box& column, double y, const view::Snapshot& s,
                const view::Palette& p) {
        y = heading(c, column, y, text::tr("Hands on the site"), p);
        if (s.unsafe_acts > 0)
            c.text({column.right() - 16, y - 9}, text::say("unsafe acts: {}", s.unsafe_acts),
                   {.colour = p.accent, .face = Face::strong, .align = Align::right});
        double at = column.x + 16;
        for (const view::Offer& o : view::offers(*s.site)) {
            const double w = std::min(button_width(c, o.words), column.w - 32);
            if (at + w > column.right() - 16 && at > column.x + 16) at = column.x + 16, y += 30;
            if (button(x, fmt::format("act {} {}", o.kind, o.place), {at, y, w, 26}, o.words))
                shared_->asked = {o.kind, o.place};
            at += w + 6;
        }
        return y + 36;
    }

    // Off until somebody asks for it; what is heard stands in words as well.
    double listen(PanelContext& x, Canvas& c, const view::Box& column, double y, const view::Snapshot& s,
                  const view::Palette& p) {
        y = heading(c, column, y, text::tr("Listen"), p);
        const std::array<std::string_view, 4> places = {text::tr("Off"), text::tr("Pipe"), text::tr("Wellhead"),
                                                        text::tr("Drive")};
        const auto ear = x.desk->listens();
        int chosen = ear ? 1 + static_cast<int>(*ear) : 0;
        if (key_row(x, "listen", {column.x + 16, y, column.w - 32, 26}, places, chosen))
            x.desk->listen(chosen == 0 ? std::nullopt : std::optional(static_cast<bench::Ear>(chosen - 1)));
        y += 34;
        const bool heard = ear && s.heard;
        if (!heard) return y;
        c.text({column.x + 16, y + 12}, text::tr("Volume"), {.colour = p.ink});
        slider(x, "volume", {column.x + 84, y, column.w - 100, 16}, volume_, {.low = 0.0, .high = 1.0});
        y += 26;
        std::string words = s.heard->caption() + ".";
        words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(words.front())));
        y += c.paragraph({column.x + 16, y}, column.w - 32, words, {.colour = p.ink}) + 8;
        if (speaker_.dumb())
            y += c.paragraph({column.x + 16, y}, column.w - 32, text::tr("This machine has no sound output."),
                             {.colour = p.ink_soft, .size = 12}) +
                 8;
        return y;
    }

    Loudspeaker speaker_;
    double volume_ = 0.4;
    std::shared_ptr<view::SharedView> shared_;
    std::map<std::string, double> moving_;
};

}  // namespace

std::unique_ptr<shell::Panel> controls_drawer(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<ControlsDrawer>(std::move(shared));
}

}  // namespace sunshaft::panels
