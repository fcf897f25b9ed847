#include "panels/inside_settings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "meter/settings.hpp"
#include "model/desk.hpp"
#include "panels/meters_words.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;
using view::Box;

// How a setting is written in the form: its words, and its figure in a unit that needs few digits.
struct Written {
    std::string words, unit;
    double factor = 1.0;
    int decimals = 0;
};
Written written(const meter::Setting& s) {
    const std::string bare = s.key.substr(s.key.find('.') + 1);
    if (bare == "resistance_ohm") return {text::tr("input resistance"), "MΩ", 1e-6, 3};
    if (bare == "capacitance_F") return {text::tr("input capacitance"), "pF", 1e12, 0};
    if (bare == "coupling_Hz") return {text::tr("AC coupling corner"), "Hz", 1.0, 2};
    if (bare == "bandwidth_Hz") return {text::tr("bandwidth"), "kHz", 1e-3, 3};
    if (bare == "bandwidth_order") return {text::tr("order of its corner"), "", 1.0, 0};
    if (bare == "lowpass_Hz") return {text::tr("drive low-pass"), "Hz", 1.0, 0};
    if (bare == "lowpass_order") return {text::tr("order of the low-pass"), "", 1.0, 0};
    if (bare == "crest_limit") return {text::tr("crest-factor limit"), "", 1.0, 1};
    if (bare == "trigger") return {text::tr("trigger, part of the peak"), "", 1.0, 2};
    if (bare == "zero_drift_A") return {text::tr("drift of the zero"), "A", 1.0, 2};
    if (bare == "open_V") return {text::tr("voltage at open probes"), "V", 1.0, 2};
    if (bare == "beeps_below_ohm") return {text::tr("sounds below"), "Ω", 1.0, 0};
    if (bare == "updates_per_s") return {text::tr("updates"), "1/s", 1.0, 2};
    if (bare == "settling_s") return {text::tr("settling time"), "s", 1.0, 2};
    if (bare == "counts") return {text::tr("counts of the display"), "", 1.0, 0};
    return {bare, s.unit, 1.0, 2};
}

// What matters most for a switched wave stands first.
int rank(const meter::Setting& s) {
    constexpr std::string_view order[] = {"detector",      "bandwidth_Hz",  "coupling_Hz",     "bandwidth_order",
                                          "lowpass_Hz",    "lowpass_order", "crest_limit",     "trigger",
                                          "zero_drift_A",  "open_V",        "beeps_below_ohm", "resistance_ohm",
                                          "capacitance_F", "updates_per_s", "settling_s",      "counts"};
    return static_cast<int>(std::ranges::find(order, std::string_view(s.key).substr(s.key.find('.') + 1)) -
                            std::begin(order));
}

void field(PanelContext& x, Canvas& c, const Box& row, const EditedMeter& m, const meter::Setting& s) {
    const Written w = written(s);
    const paint::TextLook words{.colour = x.palette().ink, .sit = Sit::middle};
    const std::string id = m.stem + s.key;
    const double wide = s.words.empty() ? std::min(118.0, 0.46 * row.w) : std::min(140.0, 0.6 * row.w);
    const Box at{row.right() - wide, row.y, wide, 22};
    if (!s.words.empty()) {
        c.text({row.x, row.centre().y}, c.fitted(text::tr("detector"), row.w - wide - 6, words), words);
        const std::string_view keys[] = {text::tr("average"), text::tr("true rms")};
        int chosen = s.value == s.words[1] ? 1 : 0;
        if (key_row(x, id, at, keys, chosen))
            x.desk->change_meter(m.stem, s.key, s.words[static_cast<std::size_t>(chosen)]);
    } else {
        c.text({row.x, row.centre().y}, c.fitted(w.words, row.w - wide - 6, words), words);
        double value = 0.0;
        std::from_chars(s.value.data(), s.value.data() + s.value.size(), value);
        value *= w.factor;
        if (number_field(x, id.c_str(), at, value, s.low * w.factor, s.high * w.factor, w.decimals, w.unit))
            x.desk->change_meter(m.stem, s.key, fmt::format("{:.9g}", value / w.factor));
    }
    hint(x, row,
         with_symbols(fmt::format("{}: {}. From {} to {} {}", w.words, s.meaning, text::quantity(s.low * w.factor, ""),
                                  text::quantity(s.high * w.factor, ""), w.unit)));
}

}  // namespace

void settings_bar(PanelContext& x, const Box& row, const std::vector<EditedMeter>& meters, int& which) {
    Canvas c = x.canvas();
    which = std::clamp(which, 0, static_cast<int>(meters.size()) - 1);
    double left = row.x;
    const double y = row.centre().y - 13;
    if (meters.size() > 1) {
        std::vector<std::string> names;
        for (const EditedMeter& m : meters) names.push_back(short_name(m.spec->name));
        const std::vector<std::string_view> keys(names.begin(), names.end());
        const double wide = std::min(0.46 * row.w, 250.0);
        key_row(x, "which meter", {left, y, wide, 26}, keys, which);
        left += wide + 12;
    }
    const EditedMeter& m = meters[static_cast<std::size_t>(which)];
    const auto key = [&](const char* id, std::string_view words, const char* what) {
        const Box at{left, y, button_width(c, words), 26};
        if (at.right() > row.right()) return false;
        left = at.right() + 8;
        const bool pressed = button(x, m.stem + id, at, words, {.off = !m.changed});
        hint(x, at, what);
        return pressed && m.changed;
    };
    if (key(" restore", text::tr("As filed"), text::tr("Takes all changes of this meter back: it is as its file says")))
        x.desk->restore_meter(m.stem);
    if (key(" save", text::tr("Keep as own"),
            text::tr("Writes the changed meter as a file of your own; it then stands among the meters to choose from")))
        x.desk->save_meter(m.stem);
}

double settings_form(PanelContext& x, Canvas c, const Box& box, const EditedMeter& m) {
    if (!m.spec || !m.spec->has(m.mode)) return box.y;
    std::vector<meter::Setting> all = meter::settings(*m.spec, m.mode);
    std::ranges::stable_sort(all, {}, rank);
    const std::size_t columns =
        std::max<std::size_t>(1, std::min<std::size_t>(3, static_cast<std::size_t>(box.w / 236)));
    const double gap = 24, wide = (box.w - gap * static_cast<double>(columns - 1)) / static_cast<double>(columns);
    for (std::size_t n = 0; n < all.size(); ++n) {
        const std::size_t column = n % columns, row = n / columns;
        field(x, c,
              {box.x + static_cast<double>(column) * (wide + gap), box.y + 2 + 26 * static_cast<double>(row), wide, 22},
              m, all[n]);
    }
    const std::size_t rows = (all.size() + columns - 1) / columns;
    double bottom = box.y + 6 + 26 * static_cast<double>(rows);
    if (const std::string refused = x.desk->last_error(); !refused.empty())
        bottom += c.paragraph({box.x, bottom}, box.w, refused, {.colour = x.palette().heat}) + 4;
    return bottom;
}

}  // namespace sunshaft::panels
