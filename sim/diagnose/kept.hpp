// What was worked out of a site, kept by content in memory and in a file of bounded size: what was seen, and the states
// it was seen in. Only for sights.cpp.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "diagnose/runs.hpp"

namespace sunshaft::diagnose {

struct ContentId {
    std::uint64_t a = 14695981039346656037ull, b = 0x9ae16a3b2f90404full;
    friend bool operator==(const ContentId&, const ContentId&) = default;
};
// Of a text behind what `from` is the id of.
ContentId id_of(std::string_view text, ContentId from = {});

// One figure that was seen, or one word of how the site behaves; `kind` tells which.
struct SightRecord {
    ContentId id;
    double value = 0.0, band = 0.0, step = 0.0;
    std::uint64_t kind = 0;
};

class KeptSights {
  public:
    // Takes what the file holds; one that is not there, or damaged, holds nothing.
    void open(std::string file);
    const SightRecord* find(const ContentId& id) const;
    void put(const SightRecord& r);
    const Standing* standing(const ContentId& id) const;
    void put(const ContentId& id, const Standing& s);
    // Into the file, and the oldest files beside it away. One that cannot be written is no error.
    void keep() const;

  private:
    struct Hash {
        std::size_t operator()(const ContentId& id) const { return id.a; }
    };
    bool take(std::string_view text);

    std::string file_;
    bool added_ = false;
    std::unordered_map<ContentId, SightRecord, Hash> known_;
    std::unordered_map<ContentId, Standing, Hash> stands_;
    std::vector<ContentId> known_order_, stands_order_;
};

}  // namespace sunshaft::diagnose
