#pragma once
// The reasons of a reading, in words. Every figure in them is live: where the mouse or the keyboard is on one, the
// stage and the part of the drawing light up that it comes from (meter/sources.hpp); where it is on a stage, the
// figures do that come from there, and their sentences. The figures of the wave itself are live in the same way.
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/shared_view.hpp"
#include "panels/inside_links.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class Reasons {
  public:
    static constexpr std::size_t all = static_cast<std::size_t>(-1);  // of the paths: a link of the stem they share
    explicit Reasons(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    /// A link of a chain stands in `box`, its plot in `plot`: can be pointed at, and is lit. Before draw().
    void stage(shell::PanelContext& x, const view::Box& box, const view::Box& plot, std::size_t path, const Link& link);
    /// A figure of the wave itself stands in `box` (wave_figures.hpp): like one of a sentence. Before draw().
    void wave_figure(shell::PanelContext& x, const view::Box& box, std::string_view name, std::string_view hint,
                     std::span<const Path> paths);
    /// The figure that is pointed at, if it is told of the wave this link shows; else empty.
    std::string figure_of_wave(std::size_t path, const Link& link) const;
    /// Returns the y below the last line.
    double draw(shell::PanelContext& x, const view::Box& column, std::span<const Path> paths);

  private:
    struct Sentence;
    // A stage of a chain; with a figure's name: that figure, and the stage it comes from, if any.
    struct Pointed {
        std::size_t path;
        std::string stage, figure;
        friend bool operator==(const Pointed&, const Pointed&) = default;
    };
    bool of(std::size_t path) const { return now_ && (now_->path == path || now_->path == all || path == all); }
    bool lights(std::size_t path, const meter::Reading& reading, std::string_view figure) const;
    double reasons(shell::PanelContext& x, paint::Canvas& c, const view::Box& column, double y,
                   std::span<const Path> paths, std::size_t n, bool named, std::vector<std::string>& said);
    double sentence(shell::PanelContext& x, paint::Canvas& c, const view::Box& box, const Sentence& words,
                    const Path& path, std::size_t n, paint::Colour colour);
    // A hand on the figure lights what it comes from: of the n-th path, or of all.
    void point(shell::PanelContext& x, const std::string& id, const view::Box& box, std::string_view name,
               std::string_view hint, const Path& path, std::size_t n);

    std::shared_ptr<view::SharedView> shared_;
    std::optional<Pointed> now_, next_;  // of the frame before, which is lit; of this one
    bool seeks_ = false;                 // a stage has just been pointed at: its first sentence comes into sight
    int touched_ = 0;                    // figures of this frame
};

}  // namespace sunshaft::panels
