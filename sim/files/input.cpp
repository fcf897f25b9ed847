#include "files/input.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>

#include "files/said.hpp"

namespace sunshaft::files {
namespace {

constexpr std::size_t most_levels = 16;

class Descriptor {
  public:
    // Without waiting: a pipe without a writer would hold the opening.
    explicit Descriptor(const std::string& path)
        : fd_(::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC | O_NOCTTY)) {}
    ~Descriptor() {
        if (fd_ >= 0) ::close(fd_);
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    int get() const { return fd_; }

  private:
    int fd_;
};

// Goes over TOML text as far as brackets, dots and strings are concerned.
class Levels {
  public:
    explicit Levels(std::string_view text) : text_(text) {}
    std::optional<TomlTrouble> find() {
        std::string open;  // brackets
        std::size_t dots = 0;
        bool value = false;  // behind an equals sign; else in a key
        char before = '\n';  // the last that is no blank
        if (starts("\xEF\xBB\xBF")) at_ = 3;
        while (at_ < text_.size()) {
            const char c = text_[at_];
            if (c == '"' || c == '\'') {
                // In the middle of a word it begins no string for a parser, whatever follows.
                if (std::string_view("=[,{.\n").find(before) == std::string_view::npos || (value && before == '.'))
                    return here(said("has a quotation mark where none can stand, expected a value or a key"));
                if (!string(c)) return here(said("has a letter beyond ASCII behind a backslash, expected none"));
                before = c;
                continue;
            }
            if (c == '#') {
                while (at_ < text_.size() && text_[at_] != '\n') step();
                continue;
            }
            if (c == '[' || c == '{') {
                if (std::string_view("=[,\n").find(before) == std::string_view::npos)
                    return here(said("has a bracket where none can stand, expected a value or a key"));
                open += c;
            }
            if ((c == ']' || c == '}') && !open.empty()) open.pop_back();
            if (c == '=' && value) return here(said("has an equals sign where none can stand, expected a value"));
            if (c == '=' || c == '}') value = true;
            if (c == '{' || (c == '\n' && open.empty()) || (c == ',' && open.ends_with('{'))) value = false;
            if (c == '.') ++dots;
            else if (std::string_view("[]{},=\n").find(c) != std::string_view::npos) dots = 0;
            if (open.size() > most_levels || dots >= most_levels)
                return here(said("is nested deeper than any key can be, expected at most 16 levels"));
            if (static_cast<unsigned char>(c) >= 0x80)
                return here(said("has a letter beyond ASCII outside quotes, expected plain letters"));
            // Between brackets a line goes on.
            if (c != ' ' && c != '\t' && c != '\r' && (c != '\n' || open.empty())) before = c;
            step();
        }
        return std::nullopt;
    }

  private:
    TomlTrouble here(const char* words) const { return {line_, column_, words}; }
    void step() {
        const auto c = static_cast<unsigned char>(text_[at_++]);
        if (c == '\n') ++line_, column_ = 1;
        else if (at_ >= text_.size() || (static_cast<unsigned char>(text_[at_]) & 0xC0) != 0x80) ++column_;
    }
    bool starts(std::string_view words) const { return text_.substr(at_).starts_with(words); }
    // False: an escape, or a line that goes on, with a letter beyond ASCII; the parser in use does not survive some.
    bool string(char quote) {
        const std::string end(starts(std::string(3, quote)) ? 3 : 1, quote);
        for (std::size_t n = 0; n < end.size(); ++n) step();
        while (at_ < text_.size() && !starts(end)) {
            if (end.size() == 1 && text_[at_] == '\n') return true;  // not closed: the parser will say so
            if (quote == '"' && text_[at_] == '\\') {
                step();
                const std::size_t next = text_.find_first_not_of(" \t\r\n", at_);
                if (next < text_.size() && static_cast<unsigned char>(text_[next]) >= 0x80) return false;
            }
            if (at_ < text_.size()) step();
        }
        // Up to two more quotation marks belong to what stands between three.
        const std::size_t most = end.size() == 3 ? 5 : 1;
        for (std::size_t n = 0; n < most && at_ < text_.size() && text_[at_] == quote; ++n) step();
        return true;
    }

    std::string_view text_;
    std::size_t at_ = 0, line_ = 1, column_ = 1;
};

}  // namespace

std::string read_whole(const std::string& path, std::size_t most) {
    const Descriptor file(path);
    if (file.get() < 0) {
        if (errno == ENOENT || errno == ENOTDIR) throw Unreadable(said("is not there"), true);
        if (errno == ENXIO) throw Unreadable(said("is a socket, no plain file"));
        throw Unreadable(fmt::format(fmt::runtime(said("cannot be opened ({})")), reason(errno)));
    }
    struct stat there {};
    if (::fstat(file.get(), &there) != 0)
        throw Unreadable(fmt::format(fmt::runtime(said("cannot be read ({})")), reason(errno)));
    if (S_ISDIR(there.st_mode)) throw Unreadable(said("is a folder"));
    if (S_ISFIFO(there.st_mode)) throw Unreadable(said("is a pipe, no plain file"));
    if (!S_ISREG(there.st_mode)) throw Unreadable(said("is a device, no plain file"));
    const auto too_large = [&] {
        return Unreadable(most >= 1 << 30 ? fmt::format(fmt::runtime(said("is larger than {} GB")), most >> 30)
                                          : fmt::format(fmt::runtime(said("is larger than {} MB")), most >> 20));
    };
    if (there.st_size > 0 && static_cast<std::size_t>(there.st_size) > most) throw too_large();
    std::string text;
    std::size_t have = 0;
    for (;;) {
        if (have == text.size()) {
            if (have > most) throw too_large();
            // One more than is said to be there: the end is seen without growing.
            const std::size_t next =
                have == 0 ? static_cast<std::size_t>(there.st_size) + 1 : have + std::max<std::size_t>(have / 2, 4096);
            text.resize(std::min(std::max<std::size_t>(next, 4096), most + 1));
        }
        const ssize_t n = ::read(file.get(), text.data() + have, text.size() - have);
        if (n < 0 && errno == EINTR) continue;
        if (n < 0) throw Unreadable(fmt::format(fmt::runtime(said("cannot be read ({})")), reason(errno)));
        if (n == 0) break;
        have += static_cast<std::size_t>(n);
    }
    text.resize(have);
    return text;
}

std::optional<TomlTrouble> toml_trouble(std::string_view text) { return Levels(text).find(); }

}  // namespace sunshaft::files
