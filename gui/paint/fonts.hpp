#pragma once
// The window's type: Inter for words, JetBrains Mono for figures in tables, DSEG7 for meter displays, taken
// from where Debian installs them; when one is missing a readable stand-in takes its place and `missing()` says
// so.
#include <array>
#include <string>
#include <vector>

struct ImFont;

namespace sunshaft::paint {

class Ledger;

enum class Face { words, strong, mono, mono_strong, segment };

class Fonts {
  public:
    /// Fills the font atlas of the present ImGui context for a scale (0.5..3). The renderer's font texture must
    /// be made again afterwards.
    void build(double scale);

    struct Pick {
        ImFont* font = nullptr;
        float px = 0.0F;  // what ImGui calls the size: from ascender to descender
    };
    /// The baked font nearest to a size in design units (sizes of the house: 12, 13, 15, 20; segments 20 and
    /// 44); other sizes are drawn scaled and a little softer.
    Pick pick(Face face, double size) const;

    double scale() const { return scale_; }
    /// False when a stand-in took the face's place.
    bool has(Face face) const { return !stand_in_[static_cast<std::size_t>(face)]; }
    const std::vector<std::string>& missing() const { return missing_; }

    /// Where every canvas writes down what it puts where (ledger.hpp); null: nobody asks.
    Ledger* ledger() const { return ledger_; }
    void watch(Ledger* ledger) { ledger_ = ledger; }

  private:
    struct Baked {
        Face face;
        double size;     // em, design units
        double stretch;  // ImGui's size over em
        ImFont* font;
    };
    std::vector<Baked> baked_;
    std::vector<std::string> missing_;
    std::array<bool, 5> stand_in_{};
    double scale_ = 1.0;
    Ledger* ledger_ = nullptr;
};

}  // namespace sunshaft::paint
