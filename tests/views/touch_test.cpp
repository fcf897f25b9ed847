// Before leads touch: what the terminal refuses the window asks about, and counts in the same way.
#include <unistd.h>

#include <filesystem>

#include "bad_splice.hpp"
#include "callout/seal.hpp"
#include "desk_support.hpp"
#include "model/site_offers.hpp"
#include "site/shipped.hpp"

using namespace sunshaft;
using namespace sunshaft::view;

namespace {

// A pump that runs, the leads on u and v in volts AC.
struct Pumping {
    Desk desk{site_named("hill-orchard"), false};
    Pumping() {
        desk.hang_leads();
        desk.work(8.0);
    }
    std::string unit() {
        desk.work(1.0);
        const auto s = desk.snapshot();
        return s->meters[0].reading ? s->meters[0].reading->unit : "";
    }
};

}  // namespace

TEST_CASE("what was refused is told once each time, and stays to be looked up") {
    Desk desk(site_named("bench-rig"), false);
    for (int n = 0; n < 2; ++n) {
        desk.note();
        CHECK(desk.new_error() == "No display shows anything to note.");
        CHECK(desk.new_error().empty());
        CHECK_FALSE(desk.last_error().empty());
    }
    desk.set("supply.voltage_V", "300");
    CHECK(desk.new_error().empty());
    CHECK(desk.last_error().empty());
}
