#pragma once
// A lesson's turn on a sheet: what is said, and below it what is asked, by mouse or keys. The same card under the
// meters and, `unit` times as large, on the projector. Enter goes on or commits; 1 to 4 choose; of a class the figures
// are counts of hands, Enter goes to the next choice and commits after the last.
#include <array>
#include <string>

#include "model/teaching.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

class LessonCard {
  public:
    void draw(shell::PanelContext& x, const shell::Box& box, const view::Teaching::State& s, double unit = 1.0);

  private:
    struct Sizes {
        double words, strong, gap, key;
    };
    void fresh(const view::Teaching::State& s);
    double foot_height(const shell::Canvas& c, double wide, const view::Teaching::State& s) const;
    struct Look {
        bool on, hovered, hands;  // hands: they are counted at its right
    };
    void choice(shell::Canvas& c, const shell::Box& row, int number, const std::string& words, const Look& look,
                const view::Palette& p) const;
    double choice_height(const shell::Canvas& c, double wide, const std::string& words, bool hands) const;
    double spread_height(const shell::Canvas& c, double wide, const view::Teaching::State& s) const;
    void body(shell::PanelContext& x, const shell::Box& box, const view::Teaching::State& s);
    double line(shell::Canvas& c, shell::Point at, double wide, const teach::Line& line, bool draws,
                const view::Palette& p) const;
    void spread(shell::Canvas& c, shell::Box box, const view::Teaching::State& s, const view::Palette& p) const;
    void foot(shell::PanelContext& x, shell::Box box, const view::Teaching::State& s);
    void go_on(shell::PanelContext& x, const shell::Box& box, const view::Teaching::State& s);
    void leads(shell::PanelContext& x, const shell::Box& box, const view::Teaching::State& s) const;
    void value(shell::PanelContext& x, shell::Box box, const view::Teaching::State& s);
    void choices(shell::PanelContext& x, shell::Box box, const view::Teaching::State& s);
    void hands(shell::PanelContext& x, shell::Box box, const view::Teaching::State& s);
    void count_keys(shell::PanelContext& x, std::size_t rows);
    bool key(shell::PanelContext& x, const char* id, const shell::Box& box, std::string_view words, bool off = false);
    void commit_hands(shell::PanelContext& x, std::size_t rows);

    Sizes size_{};
    double unit_ = 1.0;
    std::size_t turn_ = 0;  // the one that is shown
    const void* lesson_ = nullptr;
    bool arrived_ = false;  // its first frame
    std::string typed_;
    int chosen_ = -1;
    std::array<std::string, 4> counts_;
    std::size_t row_ = 0;
};

}  // namespace sunshaft::panels
