// Rows that are read on one stretch.
#include "bench/observe.hpp"

#include "support.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

TEST_CASE("a value alone is the value, and a link's ripple read first moves nothing read with it") {
    for (const char* site : {"hill-orchard", "terrace-pwm"}) {
        bench::Bench b = test::at(site);
        b.settle();
        const bench::Observation ripple{{"dc+", "dc-", ""}, meter::Mode::acv},
            pair{{"drive.u", "drive.v", ""}, meter::Mode::acv}, line{{"", "", "u"}, meter::Mode::aca};
        const auto rows = bench::observe(b, {pair, line}), behind = bench::observe(b, {ripple, pair, line});
        auto plain_pair = pair, plain_line = line;
        plain_pair.set.value_alone = plain_line.set.value_alone = true;
        const auto alone = bench::observe(b, {plain_pair, plain_line});
        for (std::size_t n = 0; n < rows.size(); ++n) {
            INFO(site << " " << rows[n].what.id());
            REQUIRE(rows[n].reading->value);
            CHECK(*alone[n].reading->value == *rows[n].reading->value);
            CHECK(alone[n].reading->shown == rows[n].reading->shown);
            CHECK(*behind[n + 1].reading->value == approx(*rows[n].reading->value).epsilon(1e-9));
            CHECK_FALSE(rows[n].reading->reasons.empty());
            CHECK(alone[n].reading->reasons.empty());
            CHECK(alone[n].reading->stages.empty());
        }
    }
}
