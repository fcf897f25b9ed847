#pragma once
// A case with help that fades: what has been read so far, what can be tested next, a hint at a price.
#include <memory>

#include "model/guiding.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class GuidedCard {
  public:
    bool on() const { return case_ != nullptr; }
    void begin(const teach::CaseRow& row, teach::Level level, std::uint64_t seed);
    void leave() { case_.reset(); }
    std::string title() const;
    std::string right();  // "85 points of 100"
    void draw(shell::PanelContext& x, shell::Box box);

  private:
    void answer(const std::string& said);
    double line(shell::Canvas& c, const shell::Box& row, const std::string& words, const view::Palette& p) const;
    double choices(shell::PanelContext& x, shell::Canvas& c, shell::Box row);

    std::unique_ptr<view::Guiding> case_;
};

const char* level_words(teach::Level level);

}  // namespace sunshaft::panels
