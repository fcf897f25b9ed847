#include "panels/my_meter_card.hpp"

#include <fmt/format.h>

#include <cmath>

#include "model/meters_at_hand.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;

namespace {

constexpr double kCardRow = 28.0, kFoot = 40.0, kFound = 118.0;
constexpr const char* how[] = {
    text::id("Set the meter to AC volts, its lowest range. Tip and sleeve of the plug are the two points."),
    text::id(
        "Play sine-200 and turn this machine's volume up to a few hundred millivolts. Then leave the volume alone."),
    text::id("Play each wave, wait for the display, and type what it shows: 0.213, or 213 mV. What you leave out is "
             "left out.")};

}  // namespace

void MyMeterCard::leave() {
    on_ = false;
    playing_.clear();
    speaker_.play(nullptr, 1, 0.0);
}

void MyMeterCard::draw(PanelContext& x, Box box) {
    if (!warned_) return cautions(x, box);
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    for (const char* line : how)
        box.cut_top(c.paragraph({box.x, box.y}, box.w, line, {.colour = p.ink_soft, .size = 12}) + 2);
    Box head = box.cut_top(kCardRow);
    c.text({head.x, head.centre().y}, text::tr("Largest figure of its display"), {.colour = p.ink, .sit = Sit::middle});
    head.cut_left(200);
    number_field(x, "counts of my meter", head.cut_left(80), counts_, 100, 1e6, 0, "");
    Box foot = box.cut_bottom(own_ || !trouble_.empty() ? kFound : kFoot);
    {
        Child child = x.child("waves", {box.x, box.y, box.w + 10, box.h}, true);
        const double top = box.y - child.scrolled();
        double y = top;
        for (const teach::Tone& tone : teach::tones()) y += wave(x, {box.x, y, box.w - 6, kCardRow}, tone);
        child.content_height(y - top + 4);
    }
    const auto loop = loops_.find(playing_);
    speaker_.play(loop == loops_.end() ? nullptr : loop->second, static_cast<int>(teach::tone_rate_Hz), 1.0);
    if (!playing_.empty()) x.wake_in(0.2);
    found(x, foot);
}

void MyMeterCard::cautions(PanelContext& x, const Box& box) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    double y = box.y + 4;
    const auto say = [&](std::string_view words) {
        y += c.paragraph({box.x, y}, box.w, words, {.colour = p.ink}) + 10;
    };
    say(
        text::tr("Which kind of meter do you own? This machine plays waves from its headphone socket. Your meter's AC "
                 "position shows a figure for each. From these the program tells how it measures."));
    paint::icon(c, paint::Icon::warning, {box.x + 9, y + 10}, 18, p.accent);
    y += c.paragraph({box.x + 26, y}, box.w - 26, text::tr(teach::own_meter_caution),
                     {.colour = p.accent, .face = Face::strong}) +
         8;
    say(text::tr(
        "Take headphones off and pull loudspeakers out: the waves are loud. A few hundred millivolts hurt nobody."));
    const std::string_view words = text::tr("The leads are in the volt socket");
    if (button(x, "leads are in the volt socket", {box.x, y, button_width(c, words), 28}, words)) warned_ = true;
}

double MyMeterCard::wave(PanelContext& x, Box row, const teach::Tone& tone) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    const bool plays = playing_ == tone.name;
    const Box key = row.cut_left(64);
    if (button(x, "play " + tone.name, {key.x, key.y + 2, key.w - 8, 24}, plays ? text::tr("Stop") : text::tr("Play"),
               {.chosen = plays})) {
        auto& loop = loops_[tone.name];
        if (!loop) loop = std::make_shared<const std::vector<float>>(teach::loop(tone));
        playing_ = plays ? "" : tone.name;
    }
    Box field = row.cut_right(120);
    c.text({row.x, row.y + 18}, tone.name, {.colour = p.ink, .face = plays ? Face::strong : Face::words});
    field.h = 24;
    field.y += 2;
    if (entry_field(x, ("shown of " + tone.name).c_str(), field, seen_[tone.name], text::tr("shown, V"))) own_.reset();
    return kCardRow;
}

void MyMeterCard::fit() {
    std::string text = fmt::format("counts, {:.0f}\n", counts_);
    for (const teach::Tone& tone : teach::tones())
        if (const auto at = seen_.find(tone.name); at != seen_.end() && !at->second.empty())
            text.append(tone.name).append(", ").append(at->second).append(1, '\n');
    kept_.clear();
    trouble_.clear();
    own_.reset();
    try {
        own_ = teach::fitted(teach::parse_seen(text, "shown"));
    } catch (const std::exception& e) {
        trouble_ = e.what();
    }
}

void MyMeterCard::keep() {
    try {
        kept_ = view::save_as_own(meter::parse_spec(own_->toml(), "my-meter.toml"));
    } catch (const std::exception& e) {
        trouble_ = e.what();
    }
}

void MyMeterCard::found(PanelContext& x, const Box& box) {
    const view::Palette& p = x.palette();
    Canvas c = x.canvas();
    double left = box.x;
    const auto key = [&](std::string_view id, std::string_view words) {
        const Box at{left, box.y + 6, button_width(c, words), 26};
        left = at.right() + 8;
        return button(x, id, at, words);
    };
    if (key("which meter", text::tr("Which meter is it?"))) fit();
    if (own_ && own_->reachable && own_->detector && kept_.empty() &&
        key("keep my meter", text::tr("Keep it among the meters")))
        keep();
    if (speaker_.dumb())
        c.text({left, box.y + 24}, text::tr("This machine has no sound output."), {.colour = p.accent});
    double y = box.y + 38;
    if (!trouble_.empty()) y += c.paragraph({box.x, y}, box.w, trouble_, {.colour = p.accent}) + 4;
    if (!kept_.empty())
        y += c.paragraph({box.x, y}, box.w, text::say("Kept as {}. Choose it like any meter.", kept_),
                         {.colour = p.ink, .face = Face::strong}) +
             4;
    if (!own_) return;
    Child child = x.child("my meter", {box.x, y, box.w + 10, box.bottom() - y}, true);
    Canvas l = child.canvas();
    const double top = y - child.scrolled();
    double at = top;
    for (const std::string& line : own_->says) at += l.paragraph({box.x, at}, box.w - 8, line, {.colour = p.ink}) + 3;
    child.content_height(at - top);
}

}  // namespace sunshaft::panels
