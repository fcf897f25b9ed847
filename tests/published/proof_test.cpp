// Every row of sim/proof: what the program computes against what has been published.
#include "proof/proof.hpp"
#include "catch_shim.hpp"

TEST_CASE("published figures hold") {
    const auto rows = sunshaft::proof::rows();
    REQUIRE(rows.size() > 60);
    for (const auto& row : rows) {
        const auto result = sunshaft::proof::check(row);
        INFO(row.field << ": " << row.what << " (" << row.source << ")");
        INFO("computed " << result.computed << ", expected " << row.expected << ", error " << result.error << " of "
                         << row.tolerance);
        CHECK(result.holds);
        CHECK(!row.source.empty());
    }
}
