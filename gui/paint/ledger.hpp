#pragma once
// Where a frame put its words and marks, so that a test can hold the window to its rule: nothing stands on anything.
// Canvas writes into it while one is hung on its Fonts; without one nothing is kept and nothing costs.
//
//   words   a line of text, as high as its capitals and tails
//   mark    a test point, a clamp's ring, a fault's diamond, a water level: what must stay in sight
//   faint   what may be hidden, but no words may stand on it: a dotted path
//   cover   an opaque sheet or a thick line: hides what was put there before
//   lead    a lead of a meter: it crosses the drawing, but no popup
//   cue     what says without a word that a hand may take it: "moving", "glowing", or "hand", the pointer's shape; or
//           where the keyboard is: "focus"
//
// Of a frame that nobody looks at, only where things stand, nothing is drawn: it says that, too.
//
// What is drawn in a popup hides what lies under it, and that is its right; a popup itself is hidden by nothing.
#include <string>
#include <vector>

#include "model/geometry.hpp"

namespace sunshaft::paint {

class Ledger {
  public:
    enum class Kind { words, mark, faint, cover, lead, cue };
    struct Entry {
        Kind kind;
        const void* list;     // the draw list it went to
        view::Box box, seen;  // as laid out; within what clips it
        std::string words;    // of a mark, what is faint or a cue: what it is
    };
    struct Clash {
        std::string what, over;  // the words or the mark hurt, and what hurts them
        view::Box where;
    };

    /// A new frame: whether it is drawn, and whether what stands where is kept.
    void begin(bool drawn, bool kept) { entries_.clear(), popups_.clear(), drawn_ = drawn, kept_ = kept; }
    bool drawn() const { return drawn_; }
    void put(Entry entry) {
        if (kept_ && !entry.box.empty()) entries_.push_back(std::move(entry));
    }
    /// This list is a popup's: it may cover what is below, and nothing may cover it.
    void popup(const void* list) { popups_.push_back(list); }

    /// `order`: the draw lists from the lowest to the highest. Design units.
    std::vector<Clash> clashes(const std::vector<const void*>& order) const;
    const std::vector<Entry>& entries() const { return entries_; }

  private:
    std::vector<Entry> entries_;
    std::vector<const void*> popups_;
    bool drawn_ = true, kept_ = true;
};

/// Without a ledger all is drawn.
inline bool drawn(const Ledger* ledger) { return !ledger || ledger->drawn(); }

}  // namespace sunshaft::paint
