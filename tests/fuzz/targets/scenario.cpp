// Any bytes as a scenario: in order, or one clean line.
#include "demand.hpp"
#include "fuzz/order.hpp"

using namespace sunshaft;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    try {
        const Scenario scenario = site::parse_scenario({reinterpret_cast<const char*>(data), size}, "f.toml");
        demand(test::in_order(scenario), "a scenario that loads is in order");
    } catch (const site::BadInput& wrong) {
        demand(test::one_clean_line(wrong.what()), "a mistake is one clean line");
    }
    return 0;
}
