#include "panels/lead_keys.hpp"

#include <imgui.h>

#include <algorithm>
#include <array>
#include <utility>

#include "paint/marks.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {

using namespace shell;
using view::Box;
using view::Point;
using view::Spot;

namespace {

constexpr std::size_t kShown = 6, kLongest = 24;  // spots; bytes
constexpr std::array<std::pair<Key, Lead>, 3> kOwn = {
    {{Key::R, Lead::red}, {Key::B, Lead::black}, {Key::C, Lead::clamp}}};

Key own_key(Lead lead) {
    return std::ranges::find(kOwn, lead, [](const auto& own) { return own.second; })->first;
}

// Of Latin letters; what lies beyond is in no name of a point.
void append(std::string& text, unsigned letter) {
    if (letter < 0x80) {
        text += static_cast<char>(letter);
    } else if (letter < 0x800) {
        text += static_cast<char>(0xC0U | (letter >> 6U));
        text += static_cast<char>(0x80U | (letter & 0x3FU));
    }
}

const Spot* named(const std::vector<Spot>& spots, const std::string& name) {
    const auto at = std::ranges::find(spots, name, &Spot::name);
    return at == spots.end() ? nullptr : &*at;
}

}  // namespace

// Letters of this frame. True where they changed what is looked for.
bool LeadKeys::listen(PanelContext& x) {
    const std::string before = typed_;
    if (x.input.take(Key::BackSpace)) {
        while (!typed_.empty() && (static_cast<unsigned char>(typed_.back()) & 0xC0U) == 0x80U) typed_.pop_back();
        if (!typed_.empty()) typed_.pop_back();
    }
    const unsigned own = 'a' + static_cast<unsigned>(own_key(lead_)) - static_cast<unsigned>(Key::A);
    for (const unsigned letter : ImGui::GetIO().InputQueueCharacters) {
        // The key that took it up comes as a letter, too, perhaps a frame later.
        if (typed_.empty() && (letter == ' ' || (letter | 0x20U) == own)) continue;
        if (typed_.size() < kLongest) append(typed_, letter);
    }
    return typed_ != before;
}

std::string LeadKeys::walk(PanelContext& x, const std::vector<Spot>& spots, const std::string& at) {
    const Spot* from = named(spots, at);
    for (const auto& [key, way] : arrow_ways)
        if (from && x.input.take(key))
            if (const Spot* to = view::stepped(from->at, way, spots)) return to->name;
    return {};
}

LeadKeys::Asked LeadKeys::follow(PanelContext& x, const std::function<std::vector<Spot>(Lead)>& spots,
                                 const std::string& at, bool of_clamp) {
    const auto is_there = [&] { return !at.empty() && of_clamp == (lead_ == Lead::clamp); };
    if (lead_ == Lead::none) {
        for (const auto& [key, lead] : kOwn) {
            if (x.input.typing || !x.input.take(key)) continue;
            const auto all = spots(lead);
            if (all.empty()) return {};
            lead_ = lead;
            typed_.clear();
            x.window.spelling = true;
            x.wake_in(0.0);
            return {lead, is_there() && named(all, at) ? at : all.front().name};
        }
        return {};
    }
    // The keyboard went elsewhere, or a mouse took over: it hangs where it lay.
    if (!is_there() || x.input.take(Key::Escape)) {
        lead_ = Lead::none;
        return {};
    }
    x.window.spelling = true;
    const bool again = typed_.empty() && x.input.take(own_key(lead_));
    const bool changed = listen(x);
    const auto found = view::spelled(spots(lead_), typed_);
    if (changed) return {lead_, found.empty() ? "" : found.front().name};
    if (again || (x.input.take(Key::Enter) && named(found, at))) {
        x.window.spelling = false;
        return {std::exchange(lead_, Lead::none), "", true};
    }
    return {lead_, walk(x, found, at)};
}

void LeadKeys::draw(const PanelContext& x, const std::vector<Spot>& spots, const Spot& at, const Box& within) const {
    const view::Palette& p = x.palette();
    const Canvas measure = x.overlay();
    const paint::TextLook strong{.colour = p.ink, .face = Face::strong}, plain{.colour = p.ink, .size = 12},
        soft{.colour = p.ink_soft, .size = 12};
    const std::string head = text::say_of(lead_ == Lead::red     ? text::id("Red lead: {}")
                                          : lead_ == Lead::black ? text::id("Black lead: {}")
                                                                 : text::id("Clamp: {}"),
                                          typed_ + "_");
    const auto found = view::spelled(spots, typed_);
    // The one at hand is among those shown.
    const Spot* meant = named(found, at.name);
    const std::size_t which = meant ? static_cast<std::size_t>(meant - found.data()) : 0;
    const std::size_t from = which < kShown ? 0 : which - kShown + 1, to = std::min(found.size(), from + kShown);
    const std::string foot =
        found.empty() ? text::tr("No point here is called so.")
                      : text::say("{} of {}. Letters, arrows; Enter places it, Esc lets go.", which + 1, found.size());
    double left = 0.0, wide = std::max(measure.width(head, strong), measure.width(foot, soft));
    for (std::size_t n = from; n < to; ++n) left = std::max(left, measure.width(found[n].name, strong));
    for (std::size_t n = from; n < to; ++n) wide = std::max(wide, left + 12 + measure.width(found[n].where, plain));
    constexpr double pitch = 18.0, edge = 10.0, off = 18.0;
    wide = std::min(wide + 2 * edge, within.w - 16);
    const double high = 2 * edge + pitch * static_cast<double>(2 + to - from) - 4;
    Box box{at.at.x + off, at.at.y + off, wide, high};
    if (box.right() > within.right() - 8) box.x = std::max(within.x + 8, at.at.x - off - wide);
    if (box.bottom() > within.bottom() - 8) box.y = std::max(within.y + 8, at.at.y - 2 * off - high);
    const Popup popup(x, "##lead in hand", box);
    Canvas c = x.canvas();
    paint::sheet(c, box, p.sheet, p.accent);
    double y = box.y + edge + 12;
    c.text({box.x + edge, y}, head, strong);
    for (std::size_t n = from; n < to; ++n) {
        y += pitch;
        if (&found[n] == meant) c.fill(Box{box.x + 4, y - 13, box.w - 8, pitch}, p.accent_tint);
        c.text({box.x + edge, y}, found[n].name, strong);
        c.text({box.x + edge + left + 12, y},
               c.fitted(found[n].where, box.right() - edge - left - 12 - box.x - edge, plain), plain);
    }
    c.text({box.x + edge, y + pitch}, foot, soft);
    if (x.targets) (*x.targets)["lead in hand: " + typed_] = box;
}

}  // namespace sunshaft::panels
