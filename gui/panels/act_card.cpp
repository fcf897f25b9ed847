// Before an act: its card, over everything, with the caution first; a press on it carries the act out. What must not be
// done now is refused there, with the reason and the right order; a second press does it all the same, and it counts as
// unsafe. The same card stands before leads that must not touch.
#include <fmt/format.h>

#include <algorithm>

#include "model/desk.hpp"
#include "model/site_offers.hpp"
#include "panels/meters_words.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

class ActCard : public Panel {
  public:
    explicit ActCard(std::shared_ptr<view::SharedView> shared) : shared_(std::move(shared)) {}
    Place place() const override { return Place::popup; }
    const char* title() const override { return text::id("Before you do it"); }
    void draw(PanelContext&) override {}

    void draw_over(PanelContext& x) override {
        if (x.desk)
            if (const auto act = x.desk->take_asked_act()) shared_->asked = {act->kind, act->place};
        const auto asked = x.desk ? question(*x.desk) : std::nullopt;
        if (!asked) {
            asked_ = counted_ = {};
            return;
        }
        // The moment may change while the card stands: a pump stops, an isolator is opened.
        if (*asked != asked_ || x.input.now > judged_ + 0.5) {
            asked_ = *asked;
            judged_ = x.input.now;
            caution_ = of_leads() ? x.desk->touch_caution() : x.desk->caution(asked_.first, asked_.second);
        }
        x.wake_in(0.5);
        const view::Palette& p = x.palette();
        const Canvas measure = x.overlay();
        const bool refused = !caution_.refused.empty();
        const double wide = std::min(520.0, x.box.w - 40.0), text = wide - 40.0;
        const paint::TextLook strong{.colour = p.ink, .face = Face::strong};
        const bool exam = refused && x.desk->sealed() && x.desk->terms.exam;
        const auto said = sentences(exam, p);
        double high = 42.0 + 50.0;
        for (const auto& [line, look] : said) high += measure.paragraph_height(text, line, look) + 7.0;
        // In the lower half: cautions, array, drive and displays stay in sight.
        const Box box{std::round(0.5 * (x.box.w - wide)),
                      std::max(8.0, std::min(std::round(0.5 * x.box.h), x.box.h - high - 8.0)), wide, high};
        const Popup card(x, "act's card", box);
        Canvas c = x.canvas();
        const std::string asked_for = of_leads() ? asked_.second : site::find_act(asked_.first)->says(asked_.second);
        paint::sheet(c, box, refused ? p.accent_tint : p.sheet, p.accent);
        paint::icon(c, paint::Icon::warning, {box.x + 26, box.y + 22}, 18, p.accent);
        c.text({box.x + 44, box.y + 27}, refused ? text::say("Not now: {}", asked_for) : asked_for, strong);
        double y = box.y + 42;
        for (const auto& [line, look] : said) y += c.paragraph({box.x + 20, y}, text, line, look) + 7.0;
        Box keys{box.x + 20, box.bottom() - 40, text, 28};
        bool done = false;
        x.ring.enter_list();
        if (!refused) {
            if (button(x, "do it", keys.cut_left(88), text::tr("Do it")))
                of_leads() ? x.desk->touch_anyway() : x.desk->act(asked_.first, asked_.second), done = true;
            keys.cut_left(8);
        }
        const bool leave = button(x, "leave it", keys.cut_left(96), text::tr("Leave it"), {.chosen = refused});
        // In an exam it is explained at the end.
        if (exam && counted_ != asked_) {
            counted_ = asked_;
            of_leads() ? x.desk->touch_stopped() : x.desk->stopped(asked_.first, asked_.second);
        }
        if (refused && !exam) {
            const std::string_view words = text::tr("Do it all the same: counts as unsafe");
            if (button(x, "do it anyway", keys.cut_right(std::min(keys.w, button_width(c, words))), words))
                of_leads() ? x.desk->touch_anyway() : x.desk->act_anyway(asked_.first, asked_.second), done = true;
        }
        x.ring.leave_list();
        if (done || leave || (!x.input.typing && x.input.take(Key::Escape))) {
            if (of_leads()) x.desk->leave_touch();
            else shared_->asked.reset();
        }
    }

  private:
    // In an exam nothing is told of why.
    std::vector<std::pair<std::string, paint::TextLook>> sentences(bool exam, const view::Palette& p) const {
        const paint::TextLook warn{.colour = p.accent, .face = Face::strong};
        std::vector<std::pair<std::string, paint::TextLook>> said;
        if (exam) said.emplace_back(text::tr("Unsafe now. It is stopped, and it counts."), warn);
        for (const auto& line : caution_.refused)
            if (!exam) said.emplace_back(line, warn);
        if (!caution_.order.empty() && !exam)
            said.emplace_back(caution_.order, paint::TextLook{.colour = p.ink, .face = Face::strong});
        for (const auto& line : caution_.words) said.emplace_back(line, paint::TextLook{.colour = p.ink});
        return said;
    }

    // An act's kind and place; or no kind, and the touch in words.
    std::optional<std::pair<std::string, std::string>> question(const view::Desk& desk) const {
        if (shared_->asked) return std::pair(shared_->asked->kind, shared_->asked->place);
        const auto touch = desk.asked_touch();
        if (!touch) return std::nullopt;
        const auto& [probes, mode] = *touch;
        const std::string_view name = mode_words(mode);
        return std::pair(std::string(), meter::takes_clamp(mode)
                                            ? text::say("{} on {}", name, probes.around)
                                            : text::say("{} at {} and {}", name, probes.red, probes.black));
    }
    bool of_leads() const { return asked_.first.empty(); }

    std::shared_ptr<view::SharedView> shared_;
    std::pair<std::string, std::string> asked_;
    view::Caution caution_;
    std::pair<std::string, std::string> counted_;  // in an exam, once a card
    double judged_ = 0.0;
};

}  // namespace

std::unique_ptr<shell::Panel> act_card(std::shared_ptr<view::SharedView> shared) {
    return std::make_unique<ActCard>(std::move(shared));
}

}  // namespace sunshaft::panels
