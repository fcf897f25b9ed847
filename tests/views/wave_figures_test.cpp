// Every figure of the row of the wave's own figures has a source, and something of the wave that it tells of.
#include "model/wave_figures.hpp"

#include "bench/observe.hpp"
#include "catch_shim.hpp"
#include "meter/sources.hpp"
#include "site/load.hpp"
#include "site/shipped.hpp"

using namespace sunshaft;

namespace {

std::vector<bench::Observation> looks_at_lines() {
    std::vector<bench::Observation> looks;
    for (const meter::Spec& m : meter::load_specs(meter::shipped_meters()))
        for (const auto& [mode, fn] : m.functions) {
            const bench::Probes at =
                meter::takes_clamp(mode) ? bench::Probes{"", "", "u"} : bench::Probes{"drive.u", "drive.v", ""};
            looks.push_back({at, mode, {}, std::make_shared<meter::Spec>(m)});
        }
    return looks;
}

}  // namespace

TEST_CASE("no figure of the wave's own row is without a source and a part of the wave, whatever meter, mode and site") {
    for (const std::string& file : site::shipped_sites()) {
        bench::Bench b(site::load_scenario(file));
        b.settle();
        std::size_t waves = 0;
        for (const bench::Seen& seen : bench::observe(b, looks_at_lines(), 0.1)) {
            if (!seen.reading) continue;
            const meter::Reading& r = *seen.reading;
            INFO(file << " " << seen.what.spec().name << ", " << meter::mode_name(seen.what.mode));
            for (const view::WaveFigure& item : view::wave_figures(r)) {
                if (!item.value) continue;
                INFO(item.figure);
                const meter::Source* source = meter::source_of(item.figure);
                REQUIRE(source);
                CHECK(source->part == meter::Part::leads);
                CHECK(meter::stage_of(*source, r) == r.stages.front().name);
                CHECK_FALSE(view::wave_mark(item.figure, r).empty());
                ++waves;
            }
        }
        INFO(file << ": " << waves);
        CHECK(waves > 50);
    }
}
