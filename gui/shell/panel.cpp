#include "shell/panel.hpp"

namespace sunshaft::shell {

Child::Child(const char* id, const Box& box, const paint::Fonts& fonts, bool scrolls, bool inert)
    : fonts_(fonts), box_(box) {
    const auto px = [&](double v) { return static_cast<float>(std::round(v * fonts.scale())); };
    ImGui::SetCursorScreenPos({px(box.x), px(box.y)});
    ImGui::PushStyleVar(ImGuiStyleVar_WindowPadding, {0, 0});
    const ImGuiWindowFlags still = (scrolls ? 0 : ImGuiWindowFlags_NoScrollbar | ImGuiWindowFlags_NoScrollWithMouse) |
                                   (inert ? ImGuiWindowFlags_NoInputs : 0);
    // A size of zero would mean "all that is left".
    ImGui::BeginChild(id, {std::max(1.0F, px(box.right()) - px(box.x)), std::max(1.0F, px(box.bottom()) - px(box.y))},
                      false, still | ImGuiWindowFlags_NoBackground | ImGuiWindowFlags_NoSavedSettings);
    ImGui::PopStyleVar();
}

Child::~Child() { ImGui::EndChild(); }

Canvas Child::canvas() const { return {ImGui::GetWindowDrawList(), fonts_}; }

double Child::scrolled() const { return static_cast<double>(ImGui::GetScrollY()) / fonts_.scale(); }

void Child::content_height(double height) {
    ImGui::SetCursorPos({0, static_cast<float>((height - 1.0) * fonts_.scale())});
    ImGui::Dummy({1, static_cast<float>(fonts_.scale())});
}

void PanelContext::target(const std::string& name, const Box& at) const {
    if (!targets) return;
    const double scale = theme.fonts.scale();
    const auto px = [scale](double v) { return static_cast<float>(v * scale); };
    const Point middle = at.centre();
    if (ImGui::IsRectVisible({px(middle.x) - 1, px(middle.y) - 1}, {px(middle.x) + 1, px(middle.y) + 1}))
        (*targets)[name] = at;
}

}  // namespace sunshaft::shell
