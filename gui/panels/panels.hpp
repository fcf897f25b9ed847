#pragma once
// All panels of the bench, in the order of their tabs.
#include <memory>

#include "model/shared_view.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class LessonCard;

shell::Panels make_panels();

// One file a panel; each has its factory here.
std::unique_ptr<shell::Panel> top_bar();
std::unique_ptr<shell::Panel> meters(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> inside(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> suspects(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> next_test(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> call_out();
std::unique_ptr<shell::Panel> scope();
std::unique_ptr<shell::Panel> spectrum();
std::unique_ptr<shell::Panel> phasors();
std::unique_ptr<shell::Panel> space_vector();
std::unique_ptr<shell::Panel> curves();
std::unique_ptr<shell::Panel> day_strip();
std::unique_ptr<shell::Panel> drive_log();
std::unique_ptr<shell::Panel> drive_inside(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> ladder(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> notebook();
std::unique_ptr<shell::Panel> edits();
std::unique_ptr<shell::Panel> cautions();
std::unique_ptr<shell::Panel> faults_drawer(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> controls_drawer(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> act_card(std::shared_ptr<view::SharedView> shared);
std::unique_ptr<shell::Panel> site_chooser();
std::unique_ptr<shell::Panel> lesson(std::shared_ptr<LessonCard> card);
std::unique_ptr<shell::Panel> projector(std::shared_ptr<LessonCard> card);
std::unique_ptr<shell::Panel> cutaway(std::shared_ptr<view::SharedView> shared);

}  // namespace sunshaft::panels
