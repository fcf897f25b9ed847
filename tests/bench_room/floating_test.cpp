// Points that hang on nothing but their own leakage and the meter.
#include "support.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {
bench::Bench rig(const char* kind, double severity) {
    bench::Edits edits;
    edits.faults = {{kind, "w", severity, 0.0}};
    edits.acts = {{"pull", "pump", 0.0}};
    return test::at("bench-rig", edits);
}
}  // namespace

TEST_CASE("Wires off the drive follow their leak to earth, and the insulation tester reads it") {
    bench::Bench b = rig("cable-earth-leakage", 1000.0);
    b.advance(0.5);
    REQUIRE(b.state().command.running);
    for (const char* meter : {"average", "low-impedance"})
        CHECK(test::read(b, meter::find_spec(meter), meter::Mode::dcv, {"lead.w", "earth", ""}).value.value() ==
              approx(0).margin(1e-3));
    const meter::Reading r =
        test::read(b, meter::find_spec("insulation"), meter::Mode::insulation, {"lead.w", "earth", ""});
    CHECK(r.value.value() == approx(1000).epsilon(0.02));
}

TEST_CASE("The terminal of a dead leg is loaded by the meter") {
    bench::Bench b = rig("leg-dead", 1.0);
    b.advance(0.5);
    const double half = 0.5 * b.scenario().supply.voltage_V;
    // Half the link behind half of 10 Mohm: two thirds of it on 10 Mohm, a thousandth on 5 kohm.
    CHECK(test::read(b, meter::find_spec("average"), meter::Mode::dcv, {"drive.w", "dc-", ""}).value.value() ==
          approx(half * 2 / 3).epsilon(0.02));
    CHECK(test::read(b, meter::find_spec("low-impedance"), meter::Mode::dcv_loaded, {"drive.w", "dc-", ""})
              .value.value() == approx(half * 1e-3).epsilon(0.05));
}
