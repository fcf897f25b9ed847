#include "shell/theme.hpp"

#include <imgui.h>

namespace sunshaft::shell {

namespace {

ImVec4 vec(view::Colour c, double alpha = 1.0) {
    return {static_cast<float>(c.r) / 255.0F, static_cast<float>(c.g) / 255.0F, static_cast<float>(c.b) / 255.0F,
            static_cast<float>(c.a) / 255.0F * static_cast<float>(alpha)};
}

}  // namespace

void apply_style(const Theme& theme) {
    const view::Palette& p = theme.palette;
    const auto scale = static_cast<float>(theme.fonts.scale());
    ImGuiStyle style;
    style.WindowPadding = {10, 8};
    style.FramePadding = {8, 5};
    style.ItemSpacing = {8, 6};
    style.ScrollbarSize = 10;
    style.WindowBorderSize = 1;
    style.PopupBorderSize = 1;
    style.FrameBorderSize = 1;
    style.ScrollbarRounding = 0;
    style.ScaleAllSizes(scale);
    style.AntiAliasedLines = true;
    style.AntiAliasedLinesUseTex = true;
    style.AntiAliasedFill = true;

    const auto set = [&style](int which, ImVec4 colour) { style.Colors[which] = colour; };
    for (auto& colour : style.Colors) colour = vec(p.sheet);
    set(ImGuiCol_Text, vec(p.ink));
    set(ImGuiCol_TextDisabled, vec(p.ink_soft));
    set(ImGuiCol_WindowBg, vec(p.ground));
    set(ImGuiCol_ChildBg, vec(p.ground, 0.0));
    set(ImGuiCol_PopupBg, vec(p.sheet));
    set(ImGuiCol_Border, vec(p.rule_strong));
    set(ImGuiCol_BorderShadow, vec(p.rule, 0.0));
    set(ImGuiCol_FrameBg, vec(p.sheet));
    set(ImGuiCol_FrameBgHovered, vec(p.band));
    set(ImGuiCol_FrameBgActive, vec(p.sheet));
    set(ImGuiCol_ScrollbarBg, vec(p.ground, 0.0));
    set(ImGuiCol_ScrollbarGrab, vec(p.rule));
    set(ImGuiCol_ScrollbarGrabHovered, vec(p.rule_strong));
    set(ImGuiCol_ScrollbarGrabActive, vec(p.accent));
    set(ImGuiCol_Header, vec(p.accent_tint));
    set(ImGuiCol_HeaderHovered, vec(p.band));
    set(ImGuiCol_HeaderActive, vec(p.accent_tint));
    set(ImGuiCol_Button, vec(p.sheet));
    set(ImGuiCol_ButtonHovered, vec(p.band));
    set(ImGuiCol_ButtonActive, vec(p.accent_tint));
    set(ImGuiCol_CheckMark, vec(p.accent));
    set(ImGuiCol_Separator, vec(p.rule));
    set(ImGuiCol_TextSelectedBg, vec(p.accent, 0.3));
    set(ImGuiCol_NavHighlight, vec(p.accent, 0.0));  // our widgets draw their own
    set(ImGuiCol_NavWindowingHighlight, vec(p.accent));
    set(ImGuiCol_NavWindowingDimBg, vec(p.ink, 0.1));
    set(ImGuiCol_ModalWindowDimBg, vec(p.ink, 0.35));
    set(ImGuiCol_DragDropTarget, vec(p.accent));
    ImGui::GetStyle() = style;
}

}  // namespace sunshaft::shell
