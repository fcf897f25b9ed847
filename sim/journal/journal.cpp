#include "journal/journal.hpp"

#include <fcntl.h>
#include <fmt/chrono.h>
#include <fmt/format.h>
#include <sodium.h>
#include <sys/file.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <filesystem>

#include "files/input.hpp"
#include "files/said.hpp"
#include "text/language.hpp"

namespace sunshaft::journal {
namespace {

constexpr std::size_t most = 64 << 20, digits = 32;
constexpr std::string_view label = "a journal of sunshaft, first form";  // the key's source

void begin() {
    if (sodium_init() < 0) throw std::runtime_error(text::tr("a journal cannot be kept: no source of random numbers"));
}

std::string hex(const unsigned char* bytes, std::size_t count) {
    std::string text;
    for (std::size_t n = 0; n < count; ++n) text += fmt::format("{:02x}", bytes[n]);
    return text;
}

std::string sum_of(const std::string& before, std::string_view line) {
    std::array<unsigned char, digits / 2> out{};
    std::string all = before;
    all += line;
    crypto_generichash(out.data(), out.size(), reinterpret_cast<const unsigned char*>(all.data()), all.size(),
                       reinterpret_cast<const unsigned char*>(label.data()), label.size());
    return hex(out.data(), out.size());
}

// A disk that was pulled may leave zeros in place of what was written last.
bool begins_like_one(std::string_view text) {
    text = text.substr(0, text.find('\n'));
    for (std::size_t n = 0; n < std::min(text.size(), digits); ++n)
        if (!((text[n] >= '0' && text[n] <= '9') || (text[n] >= 'a' && text[n] <= 'f') || text[n] == '\0'))
            return false;
    return text.size() <= digits || text[digits] == ' ' || text[digits] == '\0';
}

// The line, if it follows what stands before it.
bool takes(Contents& c, std::string_view line) {
    if (line.size() < digits + 3 || line[digits] != ' ') return false;
    const std::string_view body = line.substr(digits + 1);
    Entry e;
    e.sum = std::string(line.substr(0, digits));
    if (e.sum != sum_of(c.entries.empty() ? "" : c.entries.back().sum, body)) return false;
    e.what = nlohmann::json::parse(body, nullptr, false);
    if (!e.what.is_object()) return false;
    e.n = e.what.value("n", 0L);
    e.at = e.what.value("at", "");
    e.kind = e.what.value("kind", "");
    if (e.n != static_cast<long>(c.entries.size()) + 1) return false;
    if (c.entries.empty()) {
        if (e.kind != "journal") return false;
        c.id = e.what.value("id", "");
    }
    c.entries.push_back(std::move(e));
    return true;
}

Contents contents_of(const std::string& text, const std::string& file) {
    Contents c;
    if (!begins_like_one(text)) throw std::invalid_argument(text::say("{}: is no journal of call-outs", file));
    for (std::size_t from = 0; from < text.size();) {
        const std::size_t end = std::min(text.find('\n', from), text.size());
        std::string_view line(text.data() + from, end - from);
        if (line.ends_with('\r')) line.remove_suffix(1);  // a mailer's
        if (!line.empty() && !takes(c, line)) ++c.spoilt;
        from = end + 1;
    }
    return c;
}

}  // namespace

std::string time_text(std::int64_t seconds) {
    return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(static_cast<std::time_t>(seconds)));
}

std::optional<std::int64_t> time_from(const std::string& text) {
    std::tm t{};
    const char* end = strptime(text.c_str(), "%Y-%m-%dT%H:%M:%SZ", &t);
    if (end == nullptr || *end != '\0') return std::nullopt;
    return static_cast<std::int64_t>(timegm(&t));
}

Contents read(const std::string& file) {
    begin();
    try {
        return contents_of(files::read_whole(file, most), file);
    } catch (const files::Unreadable& why) {
        throw std::invalid_argument(fmt::format("{}: {}", file, why.what()));
    }
}

Journal::Journal(const std::string& file, Clock clock) : file_(file), clock_(std::move(clock)) {
    begin();
    if (!clock_)
        clock_ = [] {
            const auto now = std::chrono::system_clock::now().time_since_epoch();
            return static_cast<std::int64_t>(std::chrono::duration_cast<std::chrono::seconds>(now).count());
        };
    const std::filesystem::path folder = std::filesystem::path(file).parent_path();
    std::error_code ignored;
    if (!folder.empty()) std::filesystem::create_directories(folder, ignored);
    fd_ = ::open(file.c_str(), O_RDWR | O_APPEND | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (fd_ < 0) throw std::invalid_argument(text::say("{}: cannot be written: {}", file, files::reason(errno)));
    try {
        if (::flock(fd_, LOCK_EX | LOCK_NB) != 0)
            throw std::invalid_argument(text::say("{}: another program is writing it", file));
        const std::string text = files::read_whole(file, most);
        contents_ = contents_of(text, file);
        if (!text.empty() && text.back() != '\n') put("\n");  // what is torn ends here
        if (contents_.entries.empty()) {
            std::array<unsigned char, 16> id{};
            randombytes_buf(id.data(), id.size());
            append("journal", {{"id", hex(id.data(), id.size())}, {"form", 1}});
            contents_.id = contents_.entries.front().what["id"];
            // Its name is on the disk, too.
            const int in = ::open(folder.empty() ? "." : folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
            if (in >= 0) ::fsync(in), ::close(in);
        }
    } catch (const files::Unreadable& why) {
        ::close(fd_);
        throw std::invalid_argument(fmt::format("{}: {}", file, why.what()));
    } catch (...) {
        ::close(fd_);
        throw;
    }
}

Journal::~Journal() {
    if (fd_ >= 0) ::close(fd_);
}

void Journal::put(const std::string& text) {
    std::size_t done = 0;
    while (done < text.size()) {
        const ssize_t written = ::write(fd_, text.data() + done, text.size() - done);
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) throw std::runtime_error(text::say("{}: cannot be kept: {}", file_, files::reason(errno)));
        done += static_cast<std::size_t>(written);
    }
    if (::fdatasync(fd_) != 0)
        throw std::runtime_error(text::say("{}: cannot be kept: {}", file_, files::reason(errno)));
}

const Entry& Journal::append(const std::string& kind, nlohmann::json what) {
    Entry e;
    e.n = static_cast<long>(contents_.entries.size()) + 1;
    e.at = time_text(clock_());
    e.kind = kind;
    what["n"] = e.n;
    what["at"] = e.at;
    what["kind"] = kind;
    const std::string body = what.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
    e.what = nlohmann::json::parse(body);
    e.sum = sum_of(contents_.entries.empty() ? "" : contents_.entries.back().sum, body);
    put(fmt::format("{} {}\n", e.sum, body));
    contents_.entries.push_back(std::move(e));
    return contents_.entries.back();
}

std::string usual_folder() {
    // The base directory specification: a path that is not absolute is to be ignored.
    if (const char* set = std::getenv("XDG_STATE_HOME"); set != nullptr && *set == '/')
        return std::string(set) + "/sunshaft/journals";
    if (const char* home = std::getenv("HOME"); home != nullptr && *home != '\0')
        return std::string(home) + "/.local/state/sunshaft/journals";
    return {};
}

}  // namespace sunshaft::journal
