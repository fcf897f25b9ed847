// Whatever a verb prints for a reader: no exponent, no minus before nothing, no digits that mean nothing.
#include <regex>
#include <vector>

#include "program.hpp"

using namespace sunshaft::test;

namespace {

// The first figure in a text that nobody would say; empty: none.
std::string noise_in(const std::string& text) {
    static const std::regex wrong[] = {
        std::regex(R"([0-9]e[-+]?[0-9]+\b)"),                                               // 3.04e-05
        std::regex(R"((^|[^0-9a-zA-Z.])-0(\.0*)?(?![0-9.]))"),                              // -0, -0.0
        std::regex(R"(\b([1-9][0-9]*\.[0-9]{6,}|0\.0*[1-9][0-9]{5,}|0\.0{5,}(?![0-9])))"),  // 250.061234
        std::regex(R"(\b(nan|inf)\b(?!:|\)| stands|\]| ))")};  // nan V; "(inf: open)", "(0, inf]" are words
    std::smatch found;
    for (const std::regex& r : wrong)
        if (std::regex_search(text, found, r)) {
            const auto from = static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, found.position() - 40));
            return text.substr(from, 80);
        }
    return "";
}

// "mean -0.26 mA, true rms 10.01 A": as multiples of the unit.
double in_unit(const std::string& number, const std::string& letter) {
    const double factor = letter == "u" ? 1e-6 : letter == "m" ? 1e-3 : letter == "k" ? 1e3 : 1.0;
    return std::stod(number) * factor;
}

}  // namespace

TEST_CASE("the test of noise finds noise") {
    CHECK_FALSE(noise_in("mean -0.0 V").empty());
    CHECK_FALSE(noise_in("mean -0 V").empty());
    CHECK_FALSE(noise_in("4700 to 1.53e+04 ohm").empty());
    CHECK_FALSE(noise_in("250.0612345 V").empty());
    CHECK(noise_in("from -0.5 to 10.01 A, s1.m3-, -93 dB, 1.224").empty());
}

TEST_CASE("every verb's figures can be read aloud, on several sites and faults") {
    const auto recording =
        std::filesystem::temp_directory_path() / ("sunshaft-figures-" + std::to_string(getpid()) + ".csv");
    REQUIRE(run("run bench-rig --for 0.3 --signals drive.u:drive.v,around.u --out " + recording.string()).status == 0);
    for (const std::string& line :
         std::vector<std::string>{"keys",
                                  "faults",
                                  "faults --markdown",
                                  "acts hill-orchard",
                                  "points stone-fold",
                                  "read terrace-pwm --around w",
                                  "read terrace-pwm --around v --fault high-resistance-splice@u=2",
                                  "read hill-orchard --red drive.u --black drive.v",
                                  "read hill-orchard --red dc+ --black dc-",
                                  "read bench-rig --red motor.u --black motor.v --meter true-rms",
                                  "read stone-fold --around u --fault device-open@u.upper",
                                  "read hill-orchard --red array+ --black earth --do open@isolator --mode dcv",
                                  "read hill-orchard --around s1 --fault string-reversed@s2 --do open@isolator",
                                  "read hill-orchard --red water",
                                  "read hill-orchard --red connector_temp",
                                  "run stone-fold --for 0.2 --events",
                                  "run bench-rig --for 0.05",
                                  "run hill-orchard --for 0.1 --do stop@drive",
                                  "analyse bench-rig",
                                  "analyse hill-orchard --for 0.3 --fault lost-phase@cable.u",
                                  "analyse terrace-pwm --for 0.2",
                                  "analyse " + recording.string(),
                                  "compare " + recording.string() + " bench-rig",
                                  "compare " + recording.string() + " bench-rig --fault high-resistance-splice@u=3"}) {
        const Outcome o = run(line);
        INFO(line << "\n" << o.err);
        CHECK(o.status == 0);
        CHECK(noise_in(o.out) == "");
        CHECK(noise_in(o.err) == "");
    }
    std::filesystem::remove(recording);
}

TEST_CASE("beside a true rms the mean is no finer than that figure bears") {
    for (const char* line :
         {"read terrace-pwm --around w", "read terrace-pwm --around u", "read hill-orchard --around v",
          "read hill-orchard --around w --fault high-resistance-splice@v=2.4", "read bench-rig --around u",
          "read stone-fold --around w", "read terrace-pwm --red drive.u --black drive.v"}) {
        const Outcome o = run(line);
        INFO(line << "\n" << o.out);
        std::smatch m;
        REQUIRE(std::regex_search(
            o.out, m, std::regex("in truth    mean (-?[0-9.]+) ([um]?)[AV], true rms ([0-9.]+) ([um]?)[AV]")));
        const double mean = in_unit(m[1], m[2]), rms = in_unit(m[3], m[4]);
        CHECK((mean == 0.0 || std::abs(mean) > 0.5e-3 * rms));
    }
}
