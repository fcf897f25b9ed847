#include "panels/lesson_card.hpp"
#include "panels/panels.hpp"

namespace sunshaft::panels {

shell::Panels make_panels() {
    const auto shared = std::make_shared<view::SharedView>();
    const auto card = std::make_shared<LessonCard>();
    shell::Panels all;
    all.push_back(top_bar());
    all.push_back(cautions());
    all.push_back(faults_drawer(shared));
    all.push_back(controls_drawer(shared));
    all.push_back(cutaway(shared));
    all.push_back(meters(shared));
    all.push_back(inside(shared));
    all.push_back(suspects(shared));
    all.push_back(lesson(card));
    all.push_back(projector(card));
    all.push_back(scope());
    all.push_back(spectrum());
    all.push_back(phasors());
    all.push_back(space_vector());
    all.push_back(curves());
    all.push_back(day_strip());
    all.push_back(drive_log());
    all.push_back(drive_inside(shared));
    all.push_back(ladder(shared));
    all.push_back(notebook());
    all.push_back(edits());
    all.push_back(next_test(shared));
    all.push_back(call_out());
    all.push_back(act_card(shared));
    all.push_back(site_chooser());
    return all;
}

}  // namespace sunshaft::panels
