#include "model/meters_at_hand.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "meter/settings.hpp"
#include "model/files.hpp"

namespace sunshaft::view {

std::filesystem::path own_meters_folder() {
    const std::filesystem::path data = data_folder();
    return data.empty() ? data : data / "meters";
}

std::string stem_of(const meter::Spec& spec) { return std::filesystem::path(spec.file).stem().string(); }

std::vector<meter::Spec> meters_at_hand(std::string* trouble) {
    std::vector<meter::Spec> all = meter::load_specs(meter::shipped_meters());
    const std::filesystem::path own = own_meters_folder();
    std::error_code error;
    if (own.empty() || !std::filesystem::is_directory(own, error)) return all;
    std::vector<std::filesystem::path> files;
    for (const auto& entry : std::filesystem::directory_iterator(own, error))
        if (entry.path().extension() == ".toml") files.push_back(entry.path());
    std::ranges::sort(files);
    for (const auto& file : files) {
        try {
            meter::Spec spec = meter::load_spec(file.string());
            if (std::ranges::none_of(all, [&](const meter::Spec& s) { return stem_of(s) == stem_of(spec); }))
                all.push_back(std::move(spec));
        } catch (const meter::SpecError& e) {
            if (trouble) *trouble = e.what();
        }
    }
    return all;
}

meter::Spec find_meter(const std::string& stem) {
    const std::filesystem::path own = own_meters_folder();
    std::error_code error;
    const std::filesystem::path file = own / fmt::format("{}.toml", stem);
    const bool shipped =
        std::filesystem::exists(std::filesystem::path(meter::shipped_meters()) / fmt::format("{}.toml", stem), error);
    if (!shipped && !own.empty() && std::filesystem::exists(file, error)) return meter::load_spec(file.string());
    return meter::find_spec(stem);
}

meter::Spec with_changes(meter::Spec spec, const MeterChanges& changes) {
    if (const auto own = changes.find(stem_of(spec)); own != changes.end())
        for (const auto& [key, value] : own->second) spec = meter::changed(spec, key, value);
    return spec;
}

std::string save_as_own(meter::Spec spec) {
    const std::filesystem::path own = own_meters_folder();
    if (own.empty()) throw std::runtime_error("there is no home folder to keep a meter in");
    const std::vector<meter::Spec> there = meters_at_hand();
    const std::string name = spec.name;
    for (int n = 1;; ++n) {
        const std::string stem = fmt::format("{}-own{}", stem_of(spec), n > 1 ? fmt::format("-{}", n) : "");
        std::error_code error;
        if (std::filesystem::exists(own / fmt::format("{}.toml", stem), error) ||
            std::ranges::any_of(there, [&](const meter::Spec& s) { return stem_of(s) == stem; }))
            continue;
        spec.name = n > 1 ? fmt::format("{}, own {}", name, n) : fmt::format("{}, own", name);
        const std::filesystem::path file = own / fmt::format("{}.toml", stem);
        if (!write_whole(file, meter::to_toml(spec)))
            throw std::runtime_error(fmt::format("{}: cannot be written", file.string()));
        return stem;
    }
}

}  // namespace sunshaft::view
