#include "diagnose/kept.hpp"

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <type_traits>

#include "files/fresh_file.hpp"
#include "files/input.hpp"

namespace sunshaft::diagnose {
namespace {

namespace fs = std::filesystem;

static_assert(std::is_trivially_copyable_v<plant::State> && std::is_trivially_copyable_v<SightRecord>);

constexpr std::size_t most_records = 200000, most_stands = 600, most_files = 24, most_later = 4;
constexpr std::string_view magic = "sunshaft sights 6\n";
constexpr std::size_t most_bytes =
    64 + most_records * sizeof(SightRecord) + most_stands * (64 + (2 + most_later) * sizeof(plant::State));

// What of a state comes before its plant::States in the file.
struct Head {
    ContentId id;
    double window, cycle;
    std::uint8_t rests, waits, trips;
    std::uint32_t later;
};

template <class T>
void append(std::string& text, const T& x) {
    text.append(reinterpret_cast<const char*>(&x), sizeof x);
}
template <class T>
bool next(std::string_view& text, T& x) {
    if (text.size() < sizeof x) return false;
    std::memcpy(&x, text.data(), sizeof x);
    text.remove_prefix(sizeof x);
    return true;
}

}  // namespace

// FNV-1a, and the same from another start.
ContentId id_of(std::string_view text, ContentId from) {
    for (const char c : text) {
        from.a = (from.a ^ static_cast<unsigned char>(c)) * 1099511628211ull;
        from.b = (from.b ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
        from.b ^= from.b >> 29;
    }
    return from;
}

const SightRecord* KeptSights::find(const ContentId& id) const {
    const auto found = known_.find(id);
    return found == known_.end() ? nullptr : &found->second;
}
void KeptSights::put(const SightRecord& r) {
    if (known_.emplace(r.id, r).second) known_order_.push_back(r.id), added_ = true;
}
const Standing* KeptSights::standing(const ContentId& id) const {
    const auto found = stands_.find(id);
    return found == stands_.end() ? nullptr : &found->second;
}
void KeptSights::put(const ContentId& id, const Standing& s) {
    if (stands_.emplace(id, s).second) stands_order_.push_back(id), added_ = true;
}

void KeptSights::open(std::string file) {
    file_ = std::move(file);
    try {
        if (!take(files::read_whole(file_, most_bytes)))
            known_.clear(), stands_.clear(), known_order_.clear(), stands_order_.clear();
    } catch (const files::Unreadable&) {
    }
    added_ = false;
}

// The whole file or nothing: its sum stands at its end.
bool KeptSights::take(std::string_view text) {
    ContentId sum;
    if (text.size() < magic.size() + sizeof sum || !text.starts_with(magic)) return false;
    std::string_view end = text.substr(text.size() - sizeof sum);
    (void)next(end, sum);
    text.remove_suffix(sizeof sum);
    if (!(id_of(text) == sum)) return false;
    text.remove_prefix(magic.size());
    std::uint64_t records = 0, stands = 0;
    if (!next(text, records)) return false;
    for (SightRecord r; records > 0; --records) {
        if (!next(text, r)) return false;
        put(r);
    }
    if (!next(text, stands)) return false;
    for (; stands > 0; --stands) {
        Head head{};
        Standing s;
        if (!next(text, head) || head.later > most_later || !next(text, s.state)) return false;
        s.window = head.window, s.cycle = head.cycle, s.rests = head.rests, s.trips = head.trips;
        s.later.resize(head.later);
        for (plant::State& x : s.later)
            if (!next(text, x)) return false;
        if (head.waits && !next(text, s.waits.emplace())) return false;
        put(head.id, s);
    }
    return text.empty();
}

void KeptSights::keep() const {
    if (file_.empty() || !added_) return;
    try {
        const fs::path folder = fs::path(file_).parent_path();
        std::error_code none;
        fs::create_directories(folder, none);
        std::string text(magic);
        const auto newest = [](const std::vector<ContentId>& order, std::size_t most) {
            return order.end() - static_cast<std::ptrdiff_t>(std::min(most, order.size()));
        };
        const auto first = newest(known_order_, most_records), stand = newest(stands_order_, most_stands);
        append(text, static_cast<std::uint64_t>(known_order_.end() - first));
        for (auto id = first; id != known_order_.end(); ++id) append(text, known_.at(*id));
        append(text, static_cast<std::uint64_t>(stands_order_.end() - stand));
        for (auto id = stand; id != stands_order_.end(); ++id) {
            const Standing& s = stands_.at(*id);
            append(text, Head{*id, s.window, s.cycle, s.rests, s.waits.has_value(), s.trips,
                              static_cast<std::uint32_t>(s.later.size())});
            append(text, s.state);
            for (const plant::State& x : s.later) append(text, x);
            if (s.waits) append(text, *s.waits);
        }
        append(text, id_of(text));
        files::FreshFile file(file_);
        file.write(text);
        file.finish();
        std::vector<std::pair<fs::file_time_type, fs::path>> all;
        for (const auto& entry : fs::directory_iterator(folder, none))
            if (entry.is_regular_file(none)) all.emplace_back(entry.last_write_time(none), entry.path());
        std::sort(all.begin(), all.end());
        for (std::size_t n = 0; n + most_files < all.size(); ++n) fs::remove(all[n].second, none);
    } catch (const std::exception&) {
        // A full or a locked disk costs time the next time, nothing else.
    }
}

}  // namespace sunshaft::diagnose
