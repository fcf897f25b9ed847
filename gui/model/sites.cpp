#include "model/sites.hpp"

#include <algorithm>
#include <filesystem>
#include <optional>

#include "model/files.hpp"
#include "site/load.hpp"
#include "site/shipped.hpp"
#include "site/site.hpp"

namespace sunshaft::view {
namespace {

namespace fs = std::filesystem;
constexpr std::size_t remembered = 20;

std::optional<SiteEntry> entry(const std::string& file) {
    try {
        const Scenario s = site::load_scenario(file);
        return SiteEntry{file, s.site.name, s.site.description};
    } catch (const std::exception&) {
        return std::nullopt;  // said when somebody opens it
    }
}

// As it stands before it has run, in the proportions of a small picture.
void draw(SiteEntry& entry) {
    const auto site = site::compile_site(site::load_scenario(entry.file));
    const Scenario& s = site->scenario;
    entry.drawing = draw_site(*site, {0.0, 0.0, 560.0, 400.0}, {s.well.static_level_m, s.tank.fill});
    if (entry.drawing->bore) entry.pump_depth_m = s.well.pump_depth_m;
}

std::string whole(const std::string& file) {
    std::error_code ignored;
    const fs::path path = fs::weakly_canonical(file, ignored);
    return path.empty() ? file : path.string();
}

std::vector<std::string> lines() {
    std::vector<std::string> out;
    const auto folder = state_folder();
    if (folder.empty()) return out;
    const std::string text = read_text(folder / "recent").value_or("");
    for (std::size_t from = 0; from < text.size();) {
        const std::size_t end = std::min(text.find('\n', from), text.size());
        if (end > from) out.push_back(text.substr(from, end - from));
        from = end + 1;
    }
    return out;
}

bool shipped(const std::string& file) {
    return fs::path(whole(file)).parent_path() == fs::path(whole(site::shipped_scenarios()));
}

}  // namespace

std::vector<SiteEntry> shipped_sites() {
    std::vector<SiteEntry> out;
    for (const std::string& file : site::shipped_sites())
        if (auto e = entry(file)) draw(*e), out.push_back(std::move(*e));
    std::ranges::sort(out, {}, &SiteEntry::name);
    return out;
}

std::vector<SiteEntry> recent_sites(std::size_t most) {
    std::vector<SiteEntry> out;
    for (const std::string& file : lines()) {
        if (out.size() >= most) break;
        if (shipped(file)) continue;
        if (auto e = entry(file)) out.push_back(std::move(*e));
    }
    return out;
}

bool keep_in_mind(const std::string& file) {
    const auto folder = state_folder();
    if (folder.empty() || file.empty() || file.find('\n') != std::string::npos) return false;
    std::vector<std::string> all = lines();
    const std::string path = whole(file);
    std::erase(all, path);
    all.insert(all.begin(), path);
    if (all.size() > remembered) all.resize(remembered);
    std::string text;
    for (const std::string& line : all) text += line + "\n";
    return write_whole(folder / "recent", text);
}

}  // namespace sunshaft::view
