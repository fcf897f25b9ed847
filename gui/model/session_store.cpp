#include "model/session_store.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdint>
#include <vector>

#include "files/text.hpp"
#include "model/desk.hpp"
#include "model/files.hpp"
#include "site/load.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

namespace {

namespace fs = std::filesystem;

constexpr std::size_t most_kept = 20;  // sites
constexpr const char* ending = ".toml";

fs::path absolute(const std::string& file) {
    std::error_code error;
    const fs::path path = fs::absolute(file, error);
    return error ? fs::path(file) : path.lexically_normal();
}

// FNV-1a: two sites of one name in different folders get files of their own.
std::uint32_t mark(const std::string& text) {
    std::uint32_t hash = 2166136261u;
    for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 16777619u;
    return hash;
}

// Newest first.
std::vector<fs::path> sessions(const fs::path& folder) {
    std::vector<std::pair<fs::file_time_type, fs::path>> found;
    std::error_code error;
    for (const auto& entry : fs::directory_iterator(folder, error))
        if (entry.is_regular_file(error) && entry.path().extension() == ending)
            found.emplace_back(entry.last_write_time(error), entry.path());
    std::ranges::sort(found, [](const auto& a, const auto& b) { return a.first > b.first; });
    std::vector<fs::path> files;
    for (auto& [time, file] : found) files.push_back(std::move(file));
    return files;
}

}  // namespace

std::string session_site(const std::string& scenario_file) {
    const fs::path file = absolute(scenario_file);
    if (file.parent_path() == absolute(site::shipped_scenarios())) return file.stem().string();
    return file.string();
}

std::string SessionStore::last_site(std::string& trouble) const {
    if (folder_.empty()) return {};
    for (const fs::path& file : sessions(folder_)) {
        const std::string site = Desk::scenario_of(read_text(file).value_or(""));
        if (site.empty()) continue;  // damaged: set aside when its site is opened
        std::error_code error;
        if (fs::exists(site::find_scenario(site), error)) return site;
        if (trouble.empty())
            trouble = text::say("{}: the site worked on last is not there any more.", files::one_line(site));
    }
    return {};
}

std::optional<std::string> SessionStore::open(const std::string& scenario_file) {
    if (folder_.empty()) return std::nullopt;
    const std::string site = session_site(scenario_file);
    const std::string stem = fs::path(site).stem().string();
    file_ = folder_ / (site == stem ? stem + ending : fmt::format("{}-{:08x}{}", stem, mark(site), ending));
    thin_out();
    std::error_code error;
    if (!fs::exists(fs::symlink_status(file_, error))) return std::nullopt;
    fs::last_write_time(file_, fs::file_time_type::clock::now(), error);  // now the site worked on last
    kept_ = read_text(file_).value_or("");
    return kept_;
}

std::string SessionStore::set_aside(const std::string& why) {
    std::error_code error;
    fs::path aside = file_;
    for (int n = 1; fs::exists(fs::symlink_status(aside, error)); ++n)
        aside = fmt::format("{}.damaged-{}", file_.string(), n);
    fs::rename(file_, aside, error);
    kept_.clear();
    if (error) return text::say("{}: cannot be taken up ({}) nor put aside.", file_.string(), why);
    return text::say("The session kept for this site cannot be taken up: {}. It is kept as {}.", files::one_line(why),
                     aside.string());
}

bool SessionStore::keep(const std::string& session) {
    if (file_.empty() || session == kept_) return true;
    if (!write_whole(file_, session)) return false;
    kept_ = session;
    return true;
}

void SessionStore::thin_out() const {
    const std::vector<fs::path> all = sessions(folder_);
    std::error_code ignored;
    for (std::size_t n = most_kept; n < all.size(); ++n)
        if (all[n] != file_) fs::remove(all[n], ignored);
}

}  // namespace sunshaft::view
