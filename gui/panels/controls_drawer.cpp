// Weather and controls: sun, heat, the drive's ceiling, wellhead valve, and the acts on the site.
#include <fmt/format.h>

#include <map>

#include "model/desk.hpp"
#include "model/format.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "site/faults.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

class ControlsDrawer : public Panel {
  public:
    Place place() const override { return Place::drawer; }
    const char* title() const override { return "Weather and controls"; }

    void draw(PanelContext& x) override {
        if (!x.desk) return;
        const auto s = x.desk->snapshot();
        const Scenario& sc = s->site->scenario;
        const view::Palette& p = x.palette();
        drawer_title(x, title());
        view::Box rest = x.box;
        rest.cut_top(36);
        Child child = x.child("controls", rest, true);
        Canvas c = child.canvas();
        const double top = rest.y - child.scrolled();
        double y = top;
        const bool array = sc.supply.kind == "array";
        if (array) {
            y = heading(c, rest, y, "Weather", p);
            y = control(x, c, rest, y, "Sun on the array", "sun.irradiance_W_m2", sc.sun.irradiance_W_m2, 0, 1200, 10, "W/m²");
            y = control(x, c, rest, y, "Air", "sun.air_temperature_degC", sc.sun.air_temperature_degC, -20, 55, 1, "°C");
        } else if (sc.supply.kind == "bench") {
            y = heading(c, rest, y, "Source", p);
            y = control(x, c, rest, y, "Voltage", "supply.voltage_V", sc.supply.voltage_V, 1, 800, 1, "V");
        }
        y = heading(c, rest, y, "Drive", p);
        y = control(x, c, rest, y, sc.drive.control == "fixed" ? "Output" : "Speed ceiling", "drive.frequency_Hz", sc.drive.frequency_Hz,
                    sc.drive.minimum_frequency_Hz, 2 * std::max(50.0, sc.drive.nominal_frequency_Hz), 1, "Hz");
        if (sc.pump.kind != "none") {
            y = heading(c, rest, y, "Water", p);
            y = control(x, c, rest, y, "Wellhead valve open", "rising_main.valve_opening", sc.rising_main.valve_opening, 0.02, 1, 0.01, "");
            y = control(x, c, rest, y, "Water at rest", "well.static_level_m", sc.well.static_level_m, 0, sc.well.pump_depth_m, 0.5, "m down");
        }
        y = acts(x, c, rest, y, *s, p);
        child.content_height(y - top + 16);
    }

  private:
    static double heading(Canvas& c, const view::Box& column, double y, const char* words, const view::Palette& p) {
        c.rule({column.x + 16, y}, {column.right() - 16, y}, p.rule);
        c.text({column.x + 16, y + 21}, words, {.colour = p.ink, .face = Face::strong});
        return y + 30;
    }

    double control(PanelContext& x, Canvas& c, const view::Box& column, double y, const char* words, const std::string& key, double now,
                   double low, double high, double step, const char* unit) {
        const view::Palette& p = x.palette();
        const auto held = moving_.find(key);
        double value = held != moving_.end() ? held->second : now;
        c.text({column.x + 16, y + 16}, words, {.colour = p.ink});
        double typed = value;
        if (number_field(x, key.c_str(), {column.right() - 132, y, 116, 24}, typed, low, high, step < 0.1 ? 2 : (step < 1 ? 1 : 0), unit))
            x.desk->set(key, fmt::format("{:g}", typed));
        if (slider(x, key + " slider", {column.x + 16, y + 28, column.w - 32, 16}, value, {.low = low, .high = high, .step = step})) moving_[key] = value;
        else if (held != moving_.end() && !x.input.down[left_button]) {
            x.desk->set(key, fmt::format("{:g}", held->second));
            moving_.erase(key);
        }
        return y + 54;
    }

    double acts(PanelContext& x, Canvas& c, const view::Box& column, double y, const view::Snapshot& s, const view::Palette& p) {
        y = heading(c, column, y, "Hands on the site", p);
        c.text({column.x + 16, y + 4}, "The caution of each act shows when the mouse rests on it.", {.colour = p.ink_soft, .size = 12});
        y += 14;
        double at = column.x + 16;
        for (const site::ActRow& row : site::act_catalogue()) {
            for (const std::string& place : row.places(s.site->works)) {
                // Connectors are parted in the drawing, where they are; here stands what a site has only one or a few of.
                if (place.find(".m") != std::string::npos || place == "u" || place == "v" || place == "w") continue;
                const std::string words = fmt::format("{} {}", row.kind, place);
                const double w = button_width(c, words);
                if (at + w > column.right() - 16) at = column.x + 16, y += 30;
                const view::Box box{at, y, w, 26};
                if (button(x, words, box, words)) x.desk->act(row.kind, place);
                hint(x, box, fmt::format("{}\nCaution: {}", row.what, row.caution));
                at += w + 6;
            }
        }
        return y + 36;
    }

    std::map<std::string, double> moving_;
};

}  // namespace

std::unique_ptr<shell::Panel> controls_drawer() { return std::make_unique<ControlsDrawer>(); }

}  // namespace sunshaft::panels
