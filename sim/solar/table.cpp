#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <fstream>
#include <map>
#include <stdexcept>
#include <string_view>

#include "text/language.hpp"

#include "solar/module.hpp"

namespace sunshaft::solar {
namespace {

std::string_view trimmed(std::string_view s) {
    const auto first = s.find_first_not_of(" \t\r");
    if (first == std::string_view::npos) return {};
    return s.substr(first, s.find_last_not_of(" \t\r") - first + 1);
}

std::vector<std::string> split(std::string_view line) {
    std::vector<std::string> fields;
    for (;;) {
        const auto comma = line.find(',');
        fields.emplace_back(trimmed(line.substr(0, comma)));
        if (comma == std::string_view::npos) return fields;
        line.remove_prefix(comma + 1);
    }
}

struct Row {
    const std::string& file;
    int line;
    const std::map<std::string, std::size_t>& columns;
    std::vector<std::string> fields;

    [[noreturn]] void fail(const std::string& column, const std::string& what) const {
        throw std::invalid_argument(fmt::format("{}:{}: {}: {}", file, line, column, what));
    }
    const std::string& text(const std::string& column) const {
        const auto found = columns.find(column);
        if (found == columns.end()) fail(column, text::tr("the table has no such column"));
        if (found->second >= fields.size() || fields[found->second].empty())
            fail(column, text::tr("the field is missing"));
        return fields[found->second];
    }
    double number(const std::string& column) const {
        const std::string& s = text(column);
        double value{};
        const auto [end, error] = std::from_chars(s.data(), s.data() + s.size(), value);
        if (error != std::errc{} || end != s.data() + s.size() || !std::isfinite(value))
            fail(column, text::say("'{}' is not a number", s));
        return value;
    }
    double positive(const std::string& column) const {
        const double value = number(column);
        if (value <= 0) fail(column, text::say("{} is not above 0", value));
        return value;
    }
    int count(const std::string& column) const {
        const double value = positive(column);
        if (value != std::floor(value) || value > 10000) fail(column, text::say("{} is not a count of cells", value));
        return static_cast<int>(value);
    }
};

ModuleData module_from(const Row& row) {
    ModuleData m;
    m.name = row.text("name");
    m.cells = row.count("N_s");
    m.stc = {row.positive("I_L_ref_A"), row.positive("I_o_ref_A"), row.number("R_s_ohm"), row.positive("R_sh_ref_ohm"),
             row.positive("a_ref_V")};
    if (m.stc.Rs < 0) row.fail("R_s_ohm", text::tr("a resistance below 0"));
    m.alpha_sc = row.number("alpha_sc_A_per_K");
    m.beta_oc = row.number("beta_oc_V_per_K");
    m.adjust_pct = row.number("Adjust_pct");
    m.noct_degC = row.number("T_NOCT_C");
    m.Isc = row.positive("I_sc_ref_A");
    m.Voc = row.positive("V_oc_ref_V");
    m.Imp = row.positive("I_mp_ref_A");
    m.Vmp = row.positive("V_mp_ref_V");
    return m;
}

}  // namespace

std::vector<ModuleData> load_table(const std::string& csv_file) {
    std::ifstream in(csv_file);
    if (!in) throw std::invalid_argument(text::say("{}: cannot be read", csv_file));
    std::map<std::string, std::size_t> columns;
    std::vector<ModuleData> modules;
    std::string text;
    for (int line = 1; std::getline(in, text); ++line) {
        const std::string_view content = trimmed(text);
        if (content.empty() || content.front() == '#') continue;
        std::vector<std::string> fields = split(content);
        if (columns.empty()) {
            for (std::size_t k = 0; k < fields.size(); ++k) columns[fields[k]] = k;
            continue;
        }
        if (fields.size() > columns.size())
            throw std::invalid_argument(
                text::say("{}:{}: {} fields, but {} columns", csv_file, line, fields.size(), columns.size()));
        modules.push_back(module_from({csv_file, line, columns, std::move(fields)}));
    }
    if (modules.empty()) throw std::invalid_argument(text::say("{}: holds no module", csv_file));
    return modules;
}

}  // namespace sunshaft::solar
