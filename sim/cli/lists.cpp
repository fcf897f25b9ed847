// sunshaft points, modules: what there is.
#include <fmt/format.h>

#include <cctype>
#include <memory>
#include <nlohmann/json.hpp>

#include "bench/bench.hpp"
#include "cli/verb.hpp"
#include "site/keys.hpp"
#include "solar/module.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

using nlohmann::json;

// The part of the site a point belongs to: the heading it is listed under.
std::string part_of(const site::PointInfo& point) {
    const std::string stem = point.name.substr(0, point.name.find_first_of(".+-"));
    if (stem.size() > 1 && stem[0] == 's' && std::isdigit(static_cast<unsigned char>(stem[1])))
        return say("string {}", stem.substr(1));
    if (stem == "array" || stem == "iso" || stem == "dc" || stem == "link") return tr("DC side");
    if (stem == "dry" || stem == "float") return tr("guards");
    if (stem == "frame" || stem == "casing" || stem == "earth" || stem == "pe") return tr("metal and earth");
    return tr("output, cable and motor");
}

int points(const SiteOptions& options, bool as_json) {
    const site::Works works = site::set_up(load(options));
    const auto list = site::points(works);
    if (as_json) {
        json out = json::array();
        for (const auto& p : list)
            out.push_back({{"name", p.name}, {"where", p.where}, {"reachable", p.reachable}, {"clamp", p.clamp}});
        fmt::print("{}\n", out.dump(2));
        return 0;
    }
    for (const bool clamp : {false, true}) {
        std::string group;
        for (const auto& p : list) {
            if (p.clamp != clamp) continue;
            if (group != part_of(p)) {
                const bool first = group.empty() && !clamp;
                group = part_of(p);
                fmt::print("{}{}\n", first ? "" : "\n",
                           clamp ? say("{}, for a clamp", group) : say("{}, for the leads", group));
            }
            fmt::print("  {:<10} {}\n", p.name,
                       p.reachable ? p.where : say("{} (out of reach: teaching only)", p.where));
        }
    }
    return 0;
}

int modules(bool as_json) {
    json out = json::array();
    if (!as_json)
        fmt::print("{:<10} {:>6} {:>8} {:>8} {:>8} {:>8}  {}\n", tr("name"), tr("cells"), "I_sc A", "V_oc V", "I_mp A",
                   "V_mp V", tr("at 1000 W/m2, 25 degC"));
    for (const auto& m : solar::load_table(site::asset("modules.csv"))) {
        if (as_json)
            out.push_back({{"name", m.name},
                           {"cells", m.cells},
                           {"isc_A", m.Isc},
                           {"voc_V", m.Voc},
                           {"imp_A", m.Imp},
                           {"vmp_V", m.Vmp}});
        else
            fmt::print("{:<10} {:>6} {:>8} {:>8} {:>8} {:>8}\n", m.name, m.cells, text::fixed(m.Isc, 2),
                       text::fixed(m.Voc, 2), text::fixed(m.Imp, 2), text::fixed(m.Vmp, 2));
    }
    if (as_json) fmt::print("{}\n", out.dump(2));
    return 0;
}

Run listing(CLI::App& app, const std::string& example, int (*print)(bool)) {
    auto as_json = std::make_shared<bool>(false);
    app.add_flag("--json", *as_json, tr("print JSON"));
    app.footer("Example: " + example);
    return [as_json, print] { return print(*as_json); };
}

}  // namespace

Run add_points(CLI::App& app) {
    auto options = std::make_shared<SiteOptions>();
    auto as_json = std::make_shared<bool>(false);
    add_site_options(app, *options);
    app.add_flag("--json", *as_json, tr("print JSON"));
    app.footer("Example: sunshaft points hill-orchard");
    return [options, as_json] { return points(*options, *as_json); };
}
Run add_modules(CLI::App& app) { return listing(app, "sunshaft modules", modules); }

}  // namespace sunshaft::cli
