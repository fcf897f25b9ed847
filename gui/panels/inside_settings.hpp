#pragma once
// The settings of the meters whose reading is open, changed on the spot through the desk.
#include <memory>
#include <string>
#include <vector>

#include "meter/meter.hpp"
#include "model/palette.hpp"
#include "shell/widgets.hpp"

namespace sunshaft::panels {

struct EditedMeter {
    std::string stem;
    std::shared_ptr<const meter::Spec> spec;  // as it is now
    meter::Mode mode;
    bool changed;
    view::SignalLook look;
};

// The row above the form: which of the meters, what to do with its changes. `which` is the one chosen.
void settings_bar(shell::PanelContext& x, const view::Box& row, const std::vector<EditedMeter>& meters, int& which);
// The form of one meter, in as many columns as fit. Returns the y below the last line.
double settings_form(shell::PanelContext& x, paint::Canvas c, const view::Box& box, const EditedMeter& meter);

}  // namespace sunshaft::panels
