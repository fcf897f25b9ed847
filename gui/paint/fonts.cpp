#include "paint/fonts.hpp"

#include <imgui.h>

#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <initializer_list>
#include <limits>

#include "files/shipped.hpp"

namespace sunshaft::paint {

namespace {

// Latin-1; fl and dashes, quotes, ellipsis; superscript minus and subscripts; Greek; arrows; mathematical
// signs; the triangle marks of lists.
constexpr ImWchar kWords[] = {0x0020, 0x00FF, 0x0152, 0x0153, 0x0391, 0x03C9, 0x2010, 0x2015, 0x2018, 0x201D,
                              0x2022, 0x2022, 0x2026, 0x2026, 0x2032, 0x2033, 0x207B, 0x207B, 0x2080, 0x2089,
                              0x2126, 0x2126, 0x2190, 0x2193, 0x2206, 0x2206, 0x2211, 0x2212, 0x221A, 0x221A,
                              0x221E, 0x221E, 0x2220, 0x2220, 0x2248, 0x2248, 0x2260, 0x2265, 0};
constexpr ImWchar kSegments[] = {0x0020, 0x007E, 0};

std::string first_of(std::initializer_list<std::string> paths) {
    for (const std::string& path : paths) {
        std::error_code error;
        if (std::filesystem::is_regular_file(path, error)) return path;
    }
    return {};
}

/// Line height over em of an OpenType file. Type sizes are em sizes, but ImGui takes the height from ascender
/// to descender (table `hhea`, in units of `head.unitsPerEm`; OpenType specification 1.9).
double height_over_em(const std::string& path) {
    constexpr double usual = 1.2;
    std::ifstream in(path, std::ios::binary);
    const auto number = [&in](std::streamoff at, int bytes) {
        in.seekg(at);
        std::uint32_t v = 0;
        for (int i = 0; i < bytes; ++i) v = (v << 8) | static_cast<std::uint32_t>(in.get() & 0xFF);
        return v;
    };
    const auto signed16 = [&](std::streamoff at) { return static_cast<std::int16_t>(number(at, 2)); };
    const std::uint32_t tables = number(4, 2);
    std::streamoff head = 0;
    std::streamoff hhea = 0;
    for (std::uint32_t i = 0; i < tables && in; ++i) {
        const std::streamoff entry = 12 + 16 * static_cast<std::streamoff>(i);
        const std::uint32_t tag = number(entry, 4);
        if (tag == 0x68656164U) head = number(entry + 8, 4);
        if (tag == 0x68686561U) hhea = number(entry + 8, 4);
    }
    if (!in || head == 0 || hhea == 0) return usual;
    const double em = number(head + 18, 2);
    const double height = signed16(hhea + 4) - signed16(hhea + 6);
    const double ratio = height / em;
    return in && ratio > 0.5 && ratio < 3.0 ? ratio : usual;
}

struct Source {
    Face face;
    const char* name;
    std::string own;
    std::string stand_in;
    std::vector<double> sizes;
    const ImWchar* glyphs;
};

std::vector<Source> sources() {
    // Those that came with the program, else the system's.
    const std::string shipped = files::shipped_data() + "/fonts/", system = "/usr/share/fonts/";
    const auto own = [&](const char* folder, std::initializer_list<const char*> names) {
        for (const char* name : names)
            if (std::string path = first_of({shipped + name, system + folder + name}); !path.empty()) return path;
        return std::string{};
    };
    const std::string inter = own("opentype/inter/", {"Inter-Regular.otf"});
    const std::string inter_bold = own("opentype/inter/", {"Inter-SemiBold.otf", "Inter-Bold.otf"});
    const std::string mono = own("truetype/jetbrains-mono/", {"JetBrainsMono-Regular.ttf"});
    const std::string mono_bold =
        own("truetype/jetbrains-mono/", {"JetBrainsMono-SemiBold.ttf", "JetBrainsMono-Bold.ttf"});
    const std::string dseg = own("truetype/dseg/", {"DSEG7Classic-Regular.ttf", "DSEG7Modern-Regular.ttf"});
    const std::string sans = first_of(
        {system + "truetype/dejavu/DejaVuSans.ttf", system + "truetype/liberation/LiberationSans-Regular.ttf"});
    const std::string sans_bold = first_of(
        {system + "truetype/dejavu/DejaVuSans-Bold.ttf", system + "truetype/liberation/LiberationSans-Bold.ttf"});
    const std::string fixed = first_of(
        {system + "truetype/dejavu/DejaVuSansMono.ttf", system + "truetype/liberation/LiberationMono-Regular.ttf"});
    return {
        {Face::words, "Inter", inter, sans, {13, 12, 15, 20}, kWords},
        {Face::strong, "Inter SemiBold", inter_bold, sans_bold, {13, 12, 15, 20}, kWords},
        {Face::mono, "JetBrains Mono", mono, fixed, {12, 13, 15}, kWords},
        {Face::mono_strong, "JetBrains Mono SemiBold", mono_bold, fixed, {12, 13, 15, 20}, kWords},
        {Face::segment, "DSEG7", dseg, fixed, {20, 44}, kSegments},
    };
}

}  // namespace

void Fonts::build(double scale) {
    scale_ = scale;
    baked_.clear();
    missing_.clear();
    ImFontAtlas& atlas = *ImGui::GetIO().Fonts;
    atlas.Clear();
    atlas.TexDesiredWidth = scale > 1.6 ? 4096 : 2048;
    for (const Source& source : sources()) {
        const std::string& path = source.own.empty() ? source.stand_in : source.own;
        stand_in_[static_cast<std::size_t>(source.face)] = source.own.empty();
        if (source.own.empty()) missing_.emplace_back(source.name);
        const double stretch = path.empty() ? 1.0 : height_over_em(path);
        for (const double size : source.sizes) {
            const auto px = static_cast<float>(std::round(size * scale) * stretch);
            ImFontConfig config;
            config.OversampleH = scale < 1.6 ? 2 : 1;
            config.OversampleV = 1;
            config.PixelSnapH = false;
            ImFont* font = path.empty() ? nullptr : atlas.AddFontFromFileTTF(path.c_str(), px, &config, source.glyphs);
            if (font == nullptr) {
                config.SizePixels = std::round(px);
                font = atlas.AddFontDefault(&config);
            }
            baked_.push_back({source.face, size, stretch, font});
        }
    }
    atlas.Build();
}

Fonts::Pick Fonts::pick(Face face, double size) const {
    Pick best;
    double distance = std::numeric_limits<double>::infinity();
    for (const Baked& candidate : baked_) {
        if (candidate.face != face) continue;
        const double away = std::abs(candidate.size - size);
        if (away < distance) {
            distance = away;
            best.font = candidate.font;
            best.px = static_cast<float>(std::round(size * scale_) * candidate.stretch);
        }
    }
    return best;
}

}  // namespace sunshaft::paint
