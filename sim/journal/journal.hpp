// A journal: a file that grows by one line an act and never loses one.
//
//     Journal j("ana.journal");                  // begun, or taken up where it ended
//     j.append("read", {{"red", "drive.u"}});    // on the disk when it returns
//
// A line is a check sum, a blank and a JSON object with `n` (1, 2, ...), `at` (UTC by this machine's clock, which may
// be wrong: order is by n alone), `kind` and what else the kind has. The first is of kind "journal" and has an `id`
// that no other journal has. A sum is made of the line and of the sum before it: what a crash or a pulled stick has
// torn, and what somebody has changed by hand, does not count, nor does what follows a change. Lines are only ever
// added. This keeps honest people honest: the program has to know how sums are made.
#pragma once

#include <cstdint>
#include <functional>
#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

namespace sunshaft::journal {

struct Entry {  // NOLINT(bugprone-exception-escape): moving JSON asserts, it throws nothing
    long n = 0;
    std::string at;  // "2026-06-21T09:30:00Z"
    std::string kind;
    nlohmann::json what;  // the whole object
    std::string sum;      // 32 hexadecimal digits
};
struct Contents {
    std::string id;  // empty: nothing in it counts
    std::vector<Entry> entries;
    std::size_t spoilt = 0;  // lines that do not count
};

// Throws std::invalid_argument in one line for what is no journal; one of which only a torn beginning is left is empty.
Contents read(const std::string& file);

class Journal {
  public:
    using Clock = std::function<std::int64_t()>;  // s since 1970, UTC
    // Throws std::invalid_argument in one line: what is no journal, or one another program is writing.
    explicit Journal(const std::string& file, Clock clock = {});
    ~Journal();
    Journal(const Journal&) = delete;
    Journal& operator=(const Journal&) = delete;

    // Written and synced when it returns. Throws std::runtime_error in one line when the disk does not take it.
    const Entry& append(const std::string& kind, nlohmann::json what);
    const Contents& contents() const { return contents_; }
    const std::string& file() const { return file_; }

  private:
    void put(const std::string& text);

    std::string file_;
    Clock clock_;
    Contents contents_;
    int fd_ = -1;
};

// "2026-06-21T09:30:00Z" and back; nothing: it is no such time.
std::string time_text(std::int64_t seconds);
std::optional<std::int64_t> time_from(const std::string& text);

// Where this user's journals lie: `journals` in the state folder of this program ($XDG_STATE_HOME); empty: there is
// none.
std::string usual_folder();

}  // namespace sunshaft::journal
