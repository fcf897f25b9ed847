// What people type, understood in every language there is a catalogue of, whichever is spoken: a case written in one
// means the same read in another. Phrases stand in English where they are listened for; a catalogue has their like
// under "heard: phrase", several ways parted by "|".
//
//     const text::Heard no_flow{"no water", "none"};
//     no_flow.in(text::folded("No sale agua"))      true with Spanish there
#pragma once

#include <initializer_list>
#include <mutex>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::text {

// Small letters of A to Z: "M\u00e1s" is "mas". What is heard is compared so; a phone's keyboard leaves accents out.
std::string folded(std::string_view words);

// Is it there between what are no letters? Both folded.
bool word_in(const std::string& text, std::string_view word);

// All ways of saying a phrase, folded, the English one first.
std::vector<std::string> ways(const std::string& english);

// What the program itself says of that, folded, in every language, the English first: what it told comes back typed.
std::vector<std::string> said(const std::string& english);

class Heard {
  public:
    // Kept for the whole run, as a table is; each of them tells phrases() what it listens for.
    Heard(std::initializer_list<const char*> english);
    bool in(const std::string& folded) const;          // anywhere, in the middle of a word too
    bool as_word_in(const std::string& folded) const;  // between what are no letters
    bool is(const std::string& folded) const;          // that and nothing else
    const std::vector<std::string>& all() const;

    // Every phrase that any of them listens for, for the catalogues.
    static const std::vector<std::string>& phrases();

  private:
    std::vector<const char*> english_;
    mutable std::once_flag once_;
    mutable std::vector<std::string> ways_;
};

}  // namespace sunshaft::text
