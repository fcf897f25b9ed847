#include "meter/settings.hpp"

#include <algorithm>

#include "catch_shim.hpp"

using namespace sunshaft;
using sunshaft::test::Contains;

namespace {

bool same(const meter::Accuracy& a, const meter::Accuracy& b) {
    return a.percent == b.percent && a.counts == b.counts && a.percent_of_range == b.percent_of_range &&
           a.range == b.range && a.from_Hz == b.from_Hz && a.to_Hz == b.to_Hz;
}
bool same(const meter::Function& a, const meter::Function& b) {
    return a.detector == b.detector && a.resistance_ohm == b.resistance_ohm && a.capacitance_F == b.capacitance_F &&
           a.coupling_Hz == b.coupling_Hz && a.bandwidth_Hz == b.bandwidth_Hz &&
           a.bandwidth_order == b.bandwidth_order && a.lowpass_Hz == b.lowpass_Hz &&
           a.lowpass_order == b.lowpass_order && a.crest_limit == b.crest_limit && a.trigger == b.trigger &&
           a.hysteresis == b.hysteresis && a.zero_drift_A == b.zero_drift_A && a.ranges == b.ranges &&
           a.source_A == b.source_A && a.open_V == b.open_V && a.beeps_below_ohm == b.beeps_below_ohm &&
           a.test_V == b.test_V &&
           std::ranges::equal(a.accuracy, b.accuracy, [](const auto& x, const auto& y) { return same(x, y); });
}
bool same(const meter::Spec& a, const meter::Spec& b) {
    return a.name == b.name && a.description == b.description && a.pointer == b.pointer && a.counts == b.counts &&
           a.update_per_s == b.update_per_s && a.settling_s == b.settling_s && a.leads_ohm == b.leads_ohm &&
           a.jack_ohm == b.jack_ohm && a.jack_fuse_A == b.jack_fuse_A && a.category == b.category &&
           a.category_V == b.category_V && a.functions.size() == b.functions.size() &&
           std::ranges::all_of(a.functions,
                               [&](const auto& f) { return b.has(f.first) && same(f.second, b.function(f.first)); });
}
std::string value(const meter::Spec& s, meter::Mode mode, const std::string& key) {
    for (const auto& one : meter::settings(s, mode))
        if (one.key == key) return one.value;
    return "none";
}
std::string refusal(const meter::Spec& s, const std::string& key, const std::string& to) {
    try {
        meter::changed(s, key, to);
    } catch (const std::invalid_argument& e) {
        return e.what();
    }
    return "taken";
}

}  // namespace

TEST_CASE("Every shipped meter written out reads back the same") {
    for (const meter::Spec& s : meter::load_specs(meter::shipped_meters())) {
        INFO(s.file);
        CHECK(same(meter::parse_spec(meter::to_toml(s), "again"), s));
    }
}

TEST_CASE("Every setting a shipped meter lists can be set to its own value and to its limits") {
    for (const meter::Spec& s : meter::load_specs(meter::shipped_meters()))
        for (const auto& [mode, function] : s.functions)
            for (const meter::Setting& one : meter::settings(s, mode)) {
                INFO(s.file << " " << one.key << " = " << one.value);
                CHECK(same(meter::changed(s, one.key, one.value), s));
                CHECK_FALSE(one.meaning.empty());
                if (!one.words.empty()) {
                    for (const std::string& word : one.words)
                        CHECK(value(meter::changed(s, one.key, word), mode, one.key) == word);
                    continue;
                }
                const std::string most = std::to_string(one.high);
                CHECK_FALSE(same(meter::changed(s, one.key, most), s));
                CHECK_THAT(refusal(s, one.key, std::to_string(2 * one.high + 1)), Contains(one.key + ": "));
                CHECK_THAT(refusal(s, one.key, std::to_string(2 * one.high + 1)), Contains("expected"));
            }
}

TEST_CASE("A change is seen in the meter, a bad one says what was expected") {
    const meter::Spec s = meter::find_spec("true-rms");
    const meter::Spec slow = meter::changed(meter::changed(s, "acv.bandwidth_Hz", "1000"), "acv.detector", "average");
    CHECK(slow.function(meter::Mode::acv).bandwidth_Hz == 1000);
    CHECK(slow.function(meter::Mode::acv).detector == meter::Detector::average);
    CHECK(slow.file == s.file);
    CHECK(refusal(s, "acv.bandwidth_Hz", "wide") == "acv.bandwidth_Hz: wrong type, expected a number from 0 to 1e+09");
    CHECK_THAT(refusal(s, "acv.detector", "peak"), Contains("\"peak\" is no detector"));
    CHECK_THAT(refusal(s, "acv.bandwidth_order", "1.5"), Contains("whole number"));
    CHECK_THAT(refusal(s, "acv.bandwidth_Hz", "nan"), Contains("acv.bandwidth_Hz: "));
    CHECK_THAT(refusal(s, "acv.colour", "1"), Contains("unknown key"));
    CHECK_THAT(refusal(s, "nothing.at_all", "1"), Contains("no such mode"));
    CHECK_THROWS_AS(meter::settings(s, meter::Mode::insulation), std::invalid_argument);
}

TEST_CASE("A zero with a sign is zero") {
    meter::Spec s = meter::find_spec("true-rms");
    std::string text = meter::to_toml(s);
    const std::size_t at = text.find("bandwidth_Hz = ");
    text.replace(at, text.find('\n', at) - at, "bandwidth_Hz = -0e3");
    const std::string once = meter::to_toml(meter::parse_spec(text, "signed"));
    CHECK(meter::to_toml(meter::parse_spec(once, "again")) == once);
}
