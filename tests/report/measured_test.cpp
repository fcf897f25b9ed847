// Recordings from elsewhere. The COMTRADE data record of the first test is the standard's own example (IEEE Std
// C37.111-1999, 6.4 and 6.6, kept in IEC 60255-24:2013 / IEEE Std C37.111-2013), as text and bytes in the tests of
// five public readers: sample 5, time stamp 667, six analog values, six states.
#include "report/measured.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>

#include "catch_shim.hpp"
#include "report/csv.hpp"
#include "report/waves.hpp"
#include "site/keys.hpp"

using namespace sunshaft;
using sunshaft::test::approx;
using sunshaft::test::Contains;

namespace {

struct Folder {
    std::filesystem::path path =
        std::filesystem::temp_directory_path() / ("sunshaft-measured-" + std::to_string(getpid()));
    Folder() { std::filesystem::create_directories(path); }
    ~Folder() { std::filesystem::remove_all(path); }
    std::string put(const std::string& name, const std::string& text) const {
        std::ofstream(path / name, std::ios::binary) << text;
        return (path / name).string();
    }
};

std::string configuration(const char* year, const std::string& kind, const std::string& rates,
                          const std::string& channels, const std::string& count = "2,2A,0D") {
    return fmt::format(
        "somewhere,a "
        "recorder,{}\r\n{}\r\n{}50\r\n{}01/01/2001,10:00:00.000000\r\n01/01/2001,10:00:00.010000\r\n{}\r\n1\r\n",
        year, count, channels, rates, kind);
}
const std::string two = "1,ua,a,,V,0.5,10,0,-99999,99998,1,1,P\r\n2,ia,a,,A,0.01,0,0,-99999,99998,1,1,P\r\n";

}  // namespace

TEST_CASE("COMTRADE: the standard's example record, as text and as bytes") {
    const Folder f;
    // Its configuration as well (the form as public readers have it, scales from memory; the station's name left out):
    // three voltages in kV behind 2000:1, three currents behind 1200:5, twelve-bit values, six states, 60 Hz, one rate
    // of 6000 samples a second.
    std::string channels;
    for (int k = 1; k <= 3; ++k)
        channels += fmt::format("{0},V{0}-g,,,kV,0.14462,0.0000000000,0,-2048,2047,2000,1,P\r\n", k);
    for (int k = 4; k <= 6; ++k)
        channels += fmt::format("{0},I{0},,,A,11.5093049423,0.0000000000,0,-2048,2047,1200,5,P\r\n", k);
    for (int k = 1; k <= 6; ++k) channels += fmt::format("{0},s{0} over,,,0\r\n", k);
    const double kv = 144.62, a = 11.5093049423;
    const double expected[] = {-760 * kv, 1274 * kv, 72 * kv, 61 * a, -140 * a, -502 * a};
    const std::string text = ", 667, -760, 1274, 72, 61, -140, -502, 0, 0, 0, 0, 1, 1\r\n";
    const unsigned char bytes[] = {0,    0, 0,    0x9B, 0x02, 0,    0,    0x08, 0xFD, 0xFA, 0x04,
                                   0x48, 0, 0x3D, 0,    0x74, 0xFF, 0x0A, 0xFE, 0x30, 0};
    const std::string record(reinterpret_cast<const char*>(bytes), sizeof bytes);
    for (const bool binary : {false, true}) {
        const std::string cfg = f.put(
            "e.cfg", configuration("1999", binary ? "BINARY" : "ASCII", "1\r\n6000.000,3\r\n", channels, "12,6A,6D"));
        std::string data;  // the sample's number counts on from the example's
        for (const char* number : {"\5", "\6", "\7"})
            data += binary ? number + record : std::to_string(int(number[0])) + text;
        f.put("e.dat", data);
        const report::Measured m = report::read_comtrade(cfg);
        REQUIRE(m.recording.names.size() == 6);
        REQUIRE(m.recording.rows() == 2);
        for (std::size_t c = 0; c < 6; ++c) {
            CHECK(m.recording.y0[c][0] == approx(expected[c]).epsilon(1e-12));
            CHECK(m.units[c] == (c < 3 ? "V" : "A"));
        }
        CHECK(m.recording.t1[1] == approx(2.0 / 6000));
    }
}

TEST_CASE("COMTRADE: what our own writer wrote comes back, every kind of data") {
    const Folder f;
    trace::Recording r;
    r.names = {"drive.u:drive.v", "around.u"};
    r.y0 = {{0, 200}, {1, 2}};
    r.y1 = {{100, 300}, {2, -3}};
    r.t0 = {0, 0.01};
    r.t1 = {0.01, 0.02};
    for (const auto kind : {report::Comtrade::ascii, report::Comtrade::binary, report::Comtrade::float32}) {
        const std::string path = (f.path / "o.cfg").string();
        report::write_comtrade(path, r, 10e3, kind, 50);
        const report::Measured m = report::read_measured(path);
        CHECK(m.recording.names == r.names);
        CHECK(m.units == std::vector<std::string>{"V", "A"});
        REQUIRE(m.recording.rows() == 199);
        const auto samples = report::sampled(r, 10e3);
        for (std::size_t k = 0; k < 199; ++k) CHECK(m.recording.y0[0][k] == approx(samples[0][k]).margin(0.005));
    }
}

TEST_CASE("COMTRADE: three revisions, secondary values, prefixes, several rates, stamps, missing values") {
    const Folder f;
    const std::string rows = "1,0,100,5\n2,500,200,6\n3,1000,,7\n4,2000,400,99999\n";
    f.put("a.dat", rows);
    SECTION("rates in turn") {
        const auto m =
            report::read_comtrade(f.put("a.cfg", configuration("2013", "ascii", "2\r\n1000,2\r\n500,4\r\n", two)));
        CHECK(m.recording.y0[0][0] == approx(60));  // 0.5 x 100 + 10
        CHECK(m.recording.y0[1][1] == approx(0.06));
        CHECK(std::isnan(m.recording.y0[0][2]));
        CHECK(std::isnan(m.recording.y1[1][2]));
        CHECK(m.recording.t1[0] == approx(0.001));
        CHECK(m.recording.t1[1] == approx(0.002));
        CHECK(m.recording.t1[2] == approx(0.004));
    }
    SECTION("no rate: the stamps, in microseconds times the factor") {
        const auto m = report::read_comtrade(f.put("a.cfg", configuration("1999", "ASCII", "0\r\n0,4\r\n", two)));
        CHECK(m.recording.t1[2] == approx(0.002));
    }
    SECTION("secondary values in kV become primary ones in V") {
        const auto m = report::read_comtrade(f.put(
            "a.cfg", configuration("1999", "ASCII", "1\r\n1000,4\r\n",
                                   "1,ua,a,,kV,0.5,10,0,-99999,99998,200,100,S\r\n2,ia,a,,mA,1,0,0,-1,1,1,1,P\r\n")));
        CHECK(m.recording.y0[0][0] == approx(60 * 2 * 1000));
        CHECK(m.recording.y0[1][0] == approx(5e-3));
        CHECK(m.units == std::vector<std::string>{"V", "A"});
    }
    SECTION("1991 has neither year nor ratio") {
        const auto m =
            report::read_comtrade(f.put("a.cfg",
                                        "somewhere,7\n2,2A,0D\n1,ua,,,V,0.5,10,0,-1,1\n2,ia,,,A,1,0,0,-1,"
                                        "1\n60\n1\n1000,4\n01/01/91,10:00:00.0\n01/01/91,10:00:00.0\nASCII\n"));
        CHECK(m.recording.y0[0][0] == approx(60));
    }
}

TEST_CASE("COMTRADE: what is wrong is said with its line and column") {
    const Folder f;
    f.put("a.dat", "1,0,100,5\n2,500,200,6\n3,1000,300,7\n");
    const auto said = [&](const std::string& cfg) {
        try {
            report::read_comtrade(f.put("a.cfg", cfg));
        } catch (const site::BadInput& e) {
            return std::string(e.what());
        }
        return std::string("nothing");
    };
    CHECK_THAT(said(configuration("2020", "ASCII", "1\r\n1000,3\r\n", two)), Contains("a.cfg:1:22: revision 2020"));
    CHECK_THAT(said(configuration("2013", "ASCII", "1\r\n1000,3\r\n", two, "2,xA,0D")), Contains("a.cfg:2:3: xA"));
    CHECK_THAT(said(configuration("2013", "ASCII", "1\r\n1000,3\r\n", two, "2,0A,2D")),
               Contains("no analogue channel"));
    CHECK_THAT(said(configuration("2013", "ASCII", "1\r\nfast,3\r\n", two)),
               Contains("a.cfg:7:1: sampling rate: \"fast\""));
    CHECK_THAT(said(configuration("2013", "MORSE", "1\r\n1000,3\r\n", two)), Contains("MORSE: expected ASCII"));
    CHECK_THAT(said(configuration("2013", "ASCII", "1\r\n1000,4\r\n", two)),
               Contains("ends after sample 3, expected 4"));
    CHECK_THAT(said(configuration("2013", "FLOAT32", "1\r\n1000,4\r\n", two)),
               Contains("expected 4 samples of 16 bytes"));
    CHECK_THAT(said(configuration("2013", "ASCII", "1\r\n1000,3\r\n",
                                  "1,ua,a,,V,x,10,0,-1,1,1,1,P\r\n2,ia,a,,A,1,0,0,-1,1,1,1,P\r\n")),
               Contains("a.cfg:3:11: factor a: \"x\""));
    CHECK_THAT(said("somewhere"), Contains("the file ends"));
    f.put("a.dat", "1,0,100,5\n2,500,2x,6\n3,1000,300,7\n");
    CHECK_THAT(said(configuration("2013", "ASCII", "1\r\n1000,3\r\n", two)), Contains("a.dat:2:7: ua: \"2x\""));
    CHECK_THROWS_AS(report::read_comtrade((f.path / "none.cfg").string()), site::BadInput);
}

TEST_CASE("CSV: our own, an instrument's with preamble, decimal commas; a repeated time is a jump") {
    const Folder f;
    SECTION("own") {
        trace::Recording r;
        r.names = {"drive.u:drive.v"};
        r.t0 = {0, 1e-3};
        r.t1 = {1e-3, 2e-3};
        r.y0 = {{0, 320}};
        r.y1 = {{0, 310}};
        const std::string path = (f.path / "o.csv").string();
        report::CsvWriter w(path, r.names);
        w.write(r);
        w.finish();
        const auto m = report::read_measured(path);
        CHECK(m.recording.names == r.names);
        REQUIRE(m.recording.rows() == 2);
        CHECK(m.recording.y1[0][0] == 0);
        CHECK(m.recording.y0[0][1] == 320);
    }
    SECTION("preamble and decimal comma") {
        const auto m = report::read_csv(f.put("x.csv",
                                              "\xEF\xBB\xBFModel;something\r\nSamples;3\r\nt;CH1;CH2\r\ns;V;V\r\n-0,"
                                              "002;1,5;-3\r\n-0,001;2,5;\r\n0;3,5e1;-1\r\n"));
        CHECK(m.recording.names == std::vector<std::string>{"CH1", "CH2"});
        CHECK(m.recording.t0[0] == approx(-0.002));
        CHECK(m.recording.y1[0][1] == approx(35));
        CHECK(std::isnan(m.recording.y1[1][0]));
    }
}

TEST_CASE("CSV: what is wrong is said with its line and column") {
    const Folder f;
    const auto said = [&](const std::string& text) {
        try {
            report::read_csv(f.put("x.csv", text));
        } catch (const site::BadInput& e) {
            return std::string(e.what());
        }
        return std::string("nothing");
    };
    CHECK_THAT(said("t,a\n0,1\n1,x\n2,3\n"), Contains("x.csv:3:3: a: x: is no number"));
    CHECK_THAT(said("t,a\n0,1\n1,2\n0.5,3\n"), Contains("x.csv:4:1: the time falls"));
    CHECK_THAT(said("t,a\n0,1\n1,2,3\n"), Contains("x.csv:3:1: 3 fields, expected 2"));
    CHECK_THAT(said("t,a\n0,1\n"), Contains("hardly any figures"));
    CHECK_THAT(said("words alone\n"), Contains("no line of figures"));
    CHECK_THAT(said(""), Contains("no line of figures"));
    CHECK_THAT(said("t,a\n0,1\n1,nan\n2,2\n"), Contains("nan: is no number"));
    CHECK_THROWS_AS(report::read_measured("x.docx"), site::BadInput);
}

TEST_CASE("Damaged files are refused or read, never more") {
    const Folder f;
    std::mt19937 dice(7);
    const std::string cfg = configuration("2013", "BINARY", "1\r\n1000,3\r\n", two), dat(36, '\x21');
    const std::string csv = "t,a,b\n0,1,2\n1,2,3\n1,5,6\n2,3,4\n";
    int refused = 0;
    for (int round = 0; round < 1500; ++round) {
        const auto hurt = [&](std::string s) {
            for (unsigned k = dice() % 4 + 1; k > 0; --k) {
                const std::size_t at = dice() % s.size();
                if (dice() % 3 == 0) s.erase(at, 1 + dice() % 3);
                else s[at] = static_cast<char>(dice() % 256);
                if (s.empty()) s.push_back('x');
            }
            return s;
        };
        const std::string c = f.put("h.cfg", hurt(cfg));
        f.put("h.dat", dice() % 2 ? dat : hurt(dat));
        try {
            report::read_comtrade(c);
        } catch (const site::BadInput&) {
            ++refused;
        }
        try {
            report::read_csv(f.put("h.csv", hurt(csv)));
        } catch (const site::BadInput&) {
            ++refused;
        }
    }
    CHECK(refused > 500);
}

TEST_CASE("COMTRADE: data that are not what the configuration says are refused") {
    const std::string ascii = "1,0,100,5\n2,500,200,6\n3,1000,300,7\n4,1500,300,7\n";
    const auto cfg = [](const char* kind, const char* limits = "-99999,99998") {
        return configuration("1999", kind, "1\r\n1000,4\r\n",
                             fmt::format("1,ua,a,,V,1,0,0,{0},1,1,P\r\n2,ia,a,,A,1,0,0,{0},1,1,P\r\n", limits));
    };
    const auto refused = [](const std::string& configuration_text, const std::string& data) -> std::string {
        try {
            report::parse_comtrade(configuration_text, "a.cfg", data, "a.dat");
        } catch (const site::BadInput& wrong) {
            return wrong.what();
        }
        return "";
    };
    CHECK(refused(cfg("ASCII"), ascii).empty());
    CHECK(refused(cfg("ASCII"), ascii + "\x1A").empty());  // end mark of old files
    CHECK_THAT(refused(cfg("ASCII"), "1,0,100,5\n2,500,200,6\n2,500,200,6\n3,1000,300,7\n"),
               Contains("sample 3: it has number 2, expected 3"));
    CHECK_THAT(refused(cfg("ASCII"), "1,0,100,5\n3,1000,300,7\n2,500,200,6\n4,1500,300,7\n"),
               Contains("sample 2: it has number 3, expected 2"));
    CHECK_THAT(refused(cfg("ASCII"), ascii + "5,2000,1,1\n"), Contains("a.dat:5:1: more samples than the 4"));
    CHECK_THAT(refused(cfg("ASCII"), ascii.substr(0, 30)), Contains("fields, expected 4"));
    CHECK_THAT(refused(cfg("ASCII"), "1,900,100,5\n2,500,200,6\n3,1000,300,7\n4,1500,300,7\n"),
               Contains("sample 2: its time stamp is before"));
    CHECK_THAT(refused(cfg("ASCII"), "1,0,1e40,5\n"), Contains("a.dat:1:5: ua: \"1e40\" is no number"));

    // The four kinds of data, each read as each other one.
    trace::Recording r;
    r.names = {"a:b", "around.u"};
    for (int k = 0; k < 40; ++k) {
        r.t0.push_back(1e-3 * k);
        r.t1.push_back(1e-3 * (k + 1));
        for (auto* y : {&r.y0, &r.y1}) {
            y->resize(2);
            (*y)[0].push_back(300 * std::sin(0.3 * k));
            (*y)[1].push_back(8 * std::cos(0.3 * k));
        }
    }
    const Folder f;
    for (const auto& [kind, name] : {std::pair{report::Comtrade::ascii, "ASCII"},
                                     {report::Comtrade::binary, "BINARY"},
                                     {report::Comtrade::float32, "FLOAT32"}}) {
        const std::string path = (f.path / "k.cfg").string();
        report::write_comtrade(path, r, 1000, kind, 50);
        const auto text = [](const std::filesystem::path& file) {
            std::ifstream in(file, std::ios::binary);
            return std::string(std::istreambuf_iterator<char>(in), {});
        };
        const std::string written = text(path), data = text(f.path / "k.dat");
        for (const std::string other : {"ASCII", "BINARY", "BINARY32", "FLOAT32"}) {
            std::string changed = written;
            changed.replace(changed.find(name), std::string(name).size(), other);
            INFO(name << " read as " << other);
            CHECK(refused(changed, data).empty() == (other == name));
        }
        CHECK_FALSE(refused(written, data + data).empty());
        CHECK_FALSE(refused(written, data.substr(0, data.size() / 2)).empty());
    }
}

TEST_CASE("COMTRADE: a recording of hours keeps its time stamps rising") {
    const Folder f;
    trace::Recording r;
    r.names = {"link_V"};
    r.t0 = {0};
    r.t1 = {9000};
    r.y0 = {{1}};
    r.y1 = {{2}};
    const std::string path = (f.path / "h.cfg").string();
    for (const auto kind : {report::Comtrade::ascii, report::Comtrade::binary}) {
        report::write_comtrade(path, r, 1, kind, 50);
        const report::Measured m = report::read_comtrade(path);
        CHECK(m.recording.t1.back() == approx(8999));
    }
}

TEST_CASE("names from elsewhere come in as plain text, figures as figures one can square") {
    const report::Measured m = report::parse_csv("time,Str\xF6mung \xB5,\x1B[31mred\n0,1,2\n1,2,3\n2,3,4\n", "a.csv");
    CHECK(m.recording.names == std::vector<std::string>{"Str\xC3\xB6mung \xC2\xB5", " [31mred"});
    for (const char* text : {"0,1e200\n1,1\n2,1\n", "0,1\n1,nan\n2,1\n", "0,1\n1,inf\n2,1\n", "0,1\n1e200,1\n2e200,1\n",
                             "0,1\n1e-300,2\n2e-300,3\n"}) {
        INFO(text);
        CHECK_THROWS_AS(report::parse_csv(text, "a.csv"), site::BadInput);
    }
}
