#include "model/wave_figures.hpp"

#include <algorithm>

#include "text/language.hpp"

namespace sunshaft::view {

std::vector<WaveFigure> wave_figures(const meter::Reading& r) {
    if (!r.truth.rms) return {};
    const std::string unit = r.stages.empty() ? r.unit : r.stages.front().unit;
    // Less than a thousandth is what the solver leaves of a quantity that does not alternate.
    const bool alternates = r.truth.fundamental_rms && *r.truth.fundamental_rms > 1e-3 * *r.truth.rms;
    const std::optional<double> none;
    return {{"true_rms", text::tr("true rms"),
             text::tr("The steady voltage or current that would heat a resistor alike"), r.truth.rms, unit},
            {"fundamental_rms", text::tr("fundamental"),
             text::tr("The rms of the sine at the wave's own frequency: what turns the motor"),
             alternates ? r.truth.fundamental_rms : none, unit},
            {"rectified_mean", text::tr("rectified mean"), text::tr("The mean of the wave turned to one side"),
             r.truth.rectified_mean, unit},
            {"crest_factor", text::tr("crest factor"), text::tr("Peak over rms"), r.truth.crest_factor, ""},
            {"fundamental_Hz", text::tr("frequency"), text::tr("Of the fundamental"),
             alternates ? r.truth.fundamental_Hz : none, "Hz"}};
}

WaveMark wave_mark(std::string_view figure, const meter::Reading& r) {
    const auto is = [&](std::initializer_list<std::string_view> names) {
        return std::ranges::find(names, figure) != names.end();
    };
    const meter::Truth& t = r.truth;
    WaveMark mark;
    // As far from its middle, above and below.
    const auto about = [&](double middle, const std::optional<double>& far) {
        if (far) mark.levels = {middle + *far, middle - *far};
    };
    if (is({"true_rms", "crest_factor"})) about(0.0, t.rms);
    if (is({"true_rms_ac", "ripple"})) about(t.mean.value_or(0.0), t.rms_ac);
    if (is({"form_factor", "form_error"})) about(0.0, t.rms_ac);
    if (is({"rectified_mean", "form_factor", "form_error"}) && t.rectified_mean)
        mark.levels.push_back(*t.rectified_mean);
    if (figure == "mean" && t.mean) mark.levels = {*t.mean};
    if (is({"lowest", "highest"}))
        for (const meter::Figure& f : r.figures)
            if (f.name == figure) mark.levels = {f.value};
    mark.peak = is({"peak", "crest_factor"});
    mark.fundamental = figure == "fundamental_rms" && t.fundamental_rms.has_value();
    mark.turn = figure == "fundamental_Hz" && t.fundamental_Hz.has_value();
    return mark;
}

}  // namespace sunshaft::view
