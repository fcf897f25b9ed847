#include "site/keys.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include "catch_shim.hpp"
#include "thrown.hpp"

using namespace sunshaft;
using namespace sunshaft::site;

using test::thrown;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

std::string set(Scenario& s, const std::string& text) {
    return thrown([&] { set_key(s, text); });
}
std::string set(const std::string& text) {
    Scenario s;
    return set(s, text);
}

// "W/m2" and "_W_m2", "m/(m3/h)" and "_m_per_m3_h": the same letters.
std::string letters(std::string_view text) {
    std::string out;
    for (char c : text)
        if (std::isalnum(static_cast<unsigned char>(c))) out += c;
    for (auto at = out.find("per"); at != std::string::npos; at = out.find("per")) out.erase(at, 3);
    return out;
}

}  // namespace

TEST_CASE("every key has a path of its own, a meaning on one line and a default inside its domain") {
    std::set<std::string_view> seen;
    for (const Key& key : keys()) {
        INFO(key.path);
        CHECK(seen.insert(key.path).second);
        CHECK(std::ranges::count(key.path, '.') == 1);
        CHECK(find_key(key.path) == &key);
        CHECK_FALSE(key.meaning.empty());
        CHECK(key.meaning.find('\n') == std::string_view::npos);
        if (!may_be_left_out(key)) CHECK(fault_in(key, default_of(key)) == "");
    }
    CHECK_FALSE(conflict(Scenario{}));
}

TEST_CASE("a section stands in one piece in the table") {
    std::set<std::string_view> closed;
    std::string_view open;
    for (const Key& key : keys()) {
        if (key.section() != open) CHECK(closed.insert(key.section()).second);
        open = key.section();
    }
}

TEST_CASE("the unit of a row is the unit in the key's name") {
    for (const Key& key : keys()) {
        INFO(key.path);
        if (!key.unit.empty()) CHECK(letters(key.name()).ends_with(letters(key.unit)));
        // The other way: a name that ends like a unit has one.
        for (std::string_view unit :
             {"_V", "_A", "_ohm", "_Hz", "_s", "_m", "_F", "_W", "_rpm", "_degC", "_mm", "_mm2", "_Wb"})
            if (key.name().ends_with(unit)) CHECK_FALSE(key.unit.empty());
    }
}

TEST_CASE("each row reaches its own member") {
    // Give every key a value no other has, then read all of them back.
    Scenario s;
    for (std::size_t i = 0; i < keys().size(); ++i)
        std::visit(
            [&](auto member) {
                auto& there = member(s);
                using T = std::remove_cvref_t<decltype(there)>;
                if constexpr (std::is_same_v<T, std::string>) there = std::to_string(i);
                else if constexpr (!std::is_same_v<T, bool>) there = T(i);
            },
            keys()[i].member);
    for (std::size_t i = 0; i < keys().size(); ++i) {
        const Value value = get(s, keys()[i]);
        if (auto* x = std::get_if<double>(&value)) CHECK(*x == double(i));
        if (auto* n = std::get_if<int>(&value)) CHECK(*n == int(i));
        if (auto* t = std::get_if<std::string>(&value)) CHECK(*t == std::to_string(i));
    }
    // Two flags, told apart one by one.
    for (const Key& key : keys())
        if (auto* flag = std::get_if<bool& (*)(Scenario&)>(&key.member)) {
            Scenario one;
            (*flag)(one) = !(*flag)(one);
            int changed = 0;
            for (const Key& other : keys())
                if (!may_be_left_out(other)) changed += get(one, other) != default_of(other);
            CHECK(changed == 1);
        }
}

TEST_CASE("the ends of a domain are in it or not, as it says") {
    for (const Key& key : keys()) {
        const auto* range = std::get_if<Range>(&key.domain);
        if (!range) continue;
        INFO(key.path);
        REQUIRE(range->low < range->high);
        auto accepts = [&](double x) { return fault_in(key, Value(x)).empty(); };
        CHECK(accepts(range->low) == !range->low_open);
        CHECK(accepts(range->high) == !range->high_open);
        CHECK_FALSE(accepts(std::nextafter(range->low, -inf)));
        CHECK_FALSE(accepts(std::nan("")));
        CHECK_FALSE(accepts(-inf));
        CHECK(accepts(inf) == std::isinf(range->high));
    }
    CHECK(std::isinf(std::get<Range>(find_key("splice.u_ohm")->domain).high));
    CHECK(set("splice.u_ohm=inf") == "");
    CHECK(set("drop_cable.leakage_ohm=inf") == "");
    CHECK(set("supply.resistance_ohm=inf") ==
          "--set: supply.resistance_ohm: is inf, expected a number from 0 to 1000 ohm");
}

TEST_CASE("an ideal bridge and an ideal source are legal") {
    Scenario s;
    for (const char* text :
         {"drive.on_resistance_ohm=0", "drive.diode_drop_V=0", "drive.dead_time_s=0", "supply.resistance_ohm=0"})
        CHECK(set(s, text) == "");
}

TEST_CASE("the words of the contract are the words of the table") {
    auto words = [](const char* path) { return domain_text(*find_key(path)); };
    CHECK(words("supply.kind") == "array | bench | mains");
    CHECK(words("drive.modulation") ==
          "six-step-180 | six-step-120 | sine-triangle | third-harmonic | space-vector | ideal-sine");
    CHECK(words("drive.control") == "fixed | v-f | mppt");
    CHECK(words("motor.kind") == "induction | double-cage | permanent-magnet | synchronous-reluctance");
    CHECK(words("pump.kind") == "centrifugal | progressive-cavity | none");
    for (const char* path :
         {"supply.voltage_V", "supply.resistance_ohm", "drive.frequency_Hz", "drive.carrier_Hz",
          "drive.modulation_index", "drive.on_resistance_ohm", "drive.diode_drop_V", "drive.dead_time_s", "drive.duty",
          "splice.u_ohm", "splice.v_ohm", "splice.w_ohm", "drop_cable.length_m", "drop_cable.conductor_mm2",
          "sun.irradiance_W_m2", "sun.air_temperature_degC", "array.modules_in_series", "array.strings"}) {
        INFO(path);
        CHECK(find_key(path));
    }
}

TEST_CASE("what is not computed for two cages is refused, not passed over") {
    Scenario s;
    s.motor.kind = "double-cage";
    CHECK_FALSE(conflict(s));
    for (const char* text : {"motor.saturation_factor=1.4", "motor.iron_loss_W=30", "motor.bar_depth_mm=25"}) {
        Scenario with = s;
        CHECK(set(with, text).find("computed for motor.kind induction, not for double-cage") != std::string::npos);
        with.motor.kind = "induction";
        CHECK(set(with, text) == "");
    }
}

TEST_CASE("--set sets numbers, whole numbers, flags and text") {
    Scenario s;
    set_key(s, "drive.carrier_Hz=8000");
    CHECK(s.drive.carrier_Hz == 8000);
    set_key(s, "array.modules_in_series=10");
    CHECK(s.array.modules_in_series == 10);
    set_key(s, "tank.float_switch=false");
    CHECK_FALSE(s.tank.float_switch);
    set_key(s, "site.name=Two = three");
    CHECK(s.site.name == "Two = three");
    set_key(s, "drive.modulation=\"sine-triangle\"");
    CHECK(s.drive.modulation == "sine-triangle");
    set_key(s, "drive.dead_time_s=1e-6");
    CHECK(s.drive.dead_time_s == 1e-6);
}

TEST_CASE("--set says in one line what is wrong") {
    CHECK(set("drive.carrier_Hz=8e6") == "--set: drive.carrier_Hz: is 8000000, expected a number from 200 to 50000 Hz");
    CHECK(set("drive.carrier_Hz=8 kHz") ==
          "--set: drive.carrier_Hz: is \"8 kHz\", expected a number from 200 to 50000 Hz");
    CHECK(set("drive.carrier_Hz=") == "--set: drive.carrier_Hz: is \"\", expected a number from 200 to 50000 Hz");
    CHECK(set("drive.carrier_Hz=nan") == "--set: drive.carrier_Hz: is nan, expected a number from 200 to 50000 Hz");
    CHECK(set("drive.carrier_Hz") == "--set: drive.carrier_Hz: has no '=', expected section.key=value");
    CHECK(set("array.strings=1.5") == "--set: array.strings: is \"1.5\", expected a whole number from 1 to 50");
    CHECK(set("tank.float_switch=yes") == "--set: tank.float_switch: is \"yes\", expected true or false");
    CHECK(set("pump.kind=piston") ==
          "--set: pump.kind: is \"piston\", expected one of centrifugal, progressive-cavity, none");
    CHECK(set("sun.time_of_day=24:00") ==
          "--set: sun.time_of_day: is \"24:00\", expected a time of day in quotes, \"00:00\" to \"23:59\"");
    CHECK(set("pump.best_efficiency=1") == "--set: pump.best_efficiency: is 1, expected a number above 0 to below 1");
    CHECK(set("link.bleed_ohm=0") == "--set: link.bleed_ohm: is 0, expected a number above 0 or inf ohm");
    CHECK(set("site.name=a\nb") ==
          "--set: site.name: is \"a b\", expected text in quotes, one line of up to 80 characters");
}

TEST_CASE("a wrong key name is guessed") {
    auto guess = [](const std::string& path) {
        const std::string text = unknown_key_text(path);
        const auto at = text.find("(did you mean ");
        return at == std::string::npos ? "" : text.substr(at + 14, text.size() - at - 16);
    };
    CHECK(guess("drive.carier_Hz") == "drive.carrier_Hz");
    CHECK(guess("drive.carrier_hz") == "drive.carrier_Hz");
    CHECK(guess("drive.carrier") == "drive.carrier_Hz");     // the unit is missing
    CHECK(guess("motor.carrier_Hz") == "drive.carrier_Hz");  // the right name in the wrong section
    CHECK(guess("carrier_Hz") == "drive.carrier_Hz");        // no section
    CHECK(guess("dirve.carrier_Hz") == "drive.carrier_Hz");  // the section misspelt
    CHECK(guess("drop-cable.length_m") == "drop_cable.length_m");
    CHECK(guess("moter") == "motor");
    CHECK(guess("faults") == "fault");
    CHECK(guess("drive.zebra_crossing") == "");
    CHECK(guess("") == "");
    CHECK(set("drive.carier_Hz=1") ==
          "--set: drive.carier_Hz: is not a key, expected one that `sunshaft keys` lists (did you mean "
          "drive.carrier_Hz?)");
}

TEST_CASE("keys that contradict each other are told apart from keys that are wrong") {
    CHECK(set("drive.minimum_frequency_Hz=60") ==
          "--set: drive.minimum_frequency_Hz: is 60, expected less than the ceiling drive.frequency_Hz (50 Hz)");
    CHECK(set("well.pump_depth_m=61") == "--set: well.pump_depth_m: is 61, expected at most well.bore_depth_m (60 m)");
    CHECK(set("splice.depth_m=50") == "--set: splice.depth_m: is 50, expected at most well.pump_depth_m (45 m)");
    CHECK(set("array.module_imp_A=9") ==
          "--set: array.module_imp_A: is 9, expected less than array.module_isc_A (9 A)");
    CHECK(set("array.module_vmp_V=39") != "");
    CHECK(set("pump.best_head_m=70") != "");
    CHECK(set("rising_main.diameter_mm=150") != "");
    CHECK(set("rising_main.length_m=40") != "");
    CHECK(set("well.dry_probe_depth_m=46") != "");
    CHECK(set("well.static_level_m=61") != "");

    Scenario s;
    s.drive.modulation = "sine-triangle";
    CHECK(set(s, "drive.dead_time_s=7e-5") ==
          "--set: drive.dead_time_s: is 7e-05, expected at most a quarter of the period of drive.carrier_Hz "
          "(4000 Hz)");
    s.drive.control = "fixed";
    CHECK(set(s, "drive.carrier_Hz=250") != "");
    // Without a pump there is no well to contradict.
    s.pump.kind = "none";
    CHECK(set(s, "well.pump_depth_m=61") == "");
}

TEST_CASE("a module by its parameters: all five or none, and no row of the table beside them") {
    const std::vector<std::string> five = {"array.module_photocurrent_A=8.2", "array.module_saturation_A=1e-7",
                                           "array.module_series_ohm=0.2", "array.module_shunt_ohm=400",
                                           "array.module_ideality=1.3"};
    for (std::size_t left_out = 0; left_out < five.size(); ++left_out) {
        std::vector<std::string> four = five;
        four.erase(four.begin() + static_cast<std::ptrdiff_t>(left_out));
        const std::string key = five[left_out].substr(0, five[left_out].find('='));
        INFO(key);
        Scenario s;
        try {
            set_keys(s, four);
            FAIL("accepted");
        } catch (const BadInput& e) {
            CHECK(std::string(e.what()).find(": is given, expected " + key + " beside it") != std::string::npos);
        }
    }
    Scenario s;
    set_keys(s, five);
    CHECK(s.array.module_ideality == 1.3);
    CHECK_THROWS_AS(set_keys(s, std::vector<std::string>{"array.module=row-02"}), BadInput);
}

TEST_CASE("several --set are looked at together, and a mistake leaves the scenario as it was") {
    Scenario s;
    const std::vector<std::string> deeper{"well.pump_depth_m=80", "well.bore_depth_m=90"};
    set_keys(s, deeper);
    CHECK(s.well.pump_depth_m == 80);
    const std::vector<std::string> broken{"well.pump_depth_m=70", "well.bore_depth_m=deep"};
    CHECK(thrown([&] { set_keys(s, broken); }) != "");
    CHECK(s.well.pump_depth_m == 80);
}

TEST_CASE("text is UTF-8") {
    const Key& name = *find_key("site.name");
    auto good = [&](const std::string& text) { return fault_in(name, Value(text)).empty(); };
    CHECK(good("caf\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x92\xA7"));
    for (const char* bad : {"\xFF", "\xC3", "\xC0\x80", "\xE0\x9F\x80", "\xED\xA0\x80", "\xF0\x8F\x80\x80",
                            "\xF4\x90\x80\x80", "\x80", "\xE2\x82", "\xC3z"})
        CHECK_FALSE(good(bad));
}

TEST_CASE("text for messages is one line of bounded length and whole letters") {
    CHECK(on_one_line("a\tb\nc") == "a b c");
    CHECK(on_one_line(std::string(100, 'x'), 10) == std::string(10, 'x') + "...");
    CHECK(on_one_line("ab\xC3\xA9z", 3) == "ab...");  // e acute cut in half
    CHECK(on_one_line("ab\xC3\xA9z", 4) == "ab\xC3\xA9...");
}
