#pragma once
// A recording laid over the scope: the card to choose it by, and its waves behind those of the site.
#include <optional>
#include <string>
#include <vector>

#include "model/laid.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class ScopeRecording {
  public:
    /// Words of the scope's setting: the file's name, or "none".
    static std::string words(const view::Desk& desk);
    /// The card above `key`, right edge at its right; `open` becomes false at a press elsewhere or Escape.
    void card(shell::PanelContext& x, const view::Box& key, bool& open);
    /// Its wave beside that channel, as long as `area` shows. `trigger`: as the site's waves are caught, on channel
    /// `source`.
    void draw(paint::Canvas& c, const view::Desk& desk, const view::Snapshot& s, std::size_t which, std::size_t source,
              const view::Trigger& trigger, const view::PlotArea& area, int columns, const view::Palette& p);
    /// Nothing where there is none beside that channel, or it was not drawn yet.
    std::optional<view::Wave> seen(const view::Desk& desk, const std::vector<view::Wave>& waves, std::size_t which,
                                   const view::Stretch& shown) const;

  private:
    std::string file_, why_not_;
    // What the stretch was caught by: looked for anew where one of these is another.
    struct Caught {
        std::shared_ptr<const view::Laid> by;
        view::Trigger trigger;
        double from = 0.0, width = 0.0;
        std::vector<std::string> channels;
        std::size_t source = 0;
        friend bool operator==(const Caught&, const Caught&) = default;
    };
    Caught caught_;
    std::optional<view::Stretch> stretch_;
};

}  // namespace sunshaft::panels
