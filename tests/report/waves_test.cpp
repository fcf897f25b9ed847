// COMTRADE files read back by a reader of our own, written after IEEE C37.111-2013, clauses 7 and 8, as public readers
// have them. It shares nothing with the writer. WAV from the RIFF layout.
#include "report/waves.hpp"

#include <unistd.h>

#include <cmath>
#include <cstdint>
#include <cstring>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>

#include "catch_shim.hpp"
#include "temporary.hpp"
#include "trace/statistics.hpp"
#include "trace/waves.hpp"

using namespace sunshaft;
using sunshaft::test::approx;

namespace {

std::string slurp(const std::string& path) {
    std::ifstream in(path, std::ios::binary);
    std::stringstream s;
    s << in.rdbuf();
    return s.str();
}
std::vector<std::string> fields(const std::string& line) {
    std::vector<std::string> out(1);
    for (char c : line)
        if (c == ',') out.emplace_back();
        else out.back() += c;
    return out;
}

struct Read {
    std::vector<std::string> names, units;
    std::vector<std::vector<double>> columns;
    std::vector<double> t;
    double rate = 0, line_Hz = 0;
    std::string kind;
};
Read read_back(const std::string& cfg_path) {
    Read r;
    std::vector<std::string> lines;
    const std::string cfg = slurp(cfg_path);
    for (std::size_t at = 0, end; at < cfg.size(); at = end + 2) {
        end = cfg.find("\r\n", at);
        REQUIRE(end != std::string::npos);  // every line ends with CR LF
        lines.push_back(cfg.substr(at, end - at));
    }
    REQUIRE(fields(lines.at(0)).size() == 3);
    REQUIRE(fields(lines[0])[2] == "2013");
    const auto total = fields(lines.at(1));
    const std::size_t n = std::stoul(total.at(0));
    REQUIRE(total.at(1) == std::to_string(n) + "A");
    REQUIRE(total.at(2) == "0D");
    std::vector<double> a, b;
    for (std::size_t c = 0; c < n; ++c) {
        const auto f = fields(lines.at(2 + c));
        REQUIRE(f.size() == 13);
        REQUIRE(f[0] == std::to_string(c + 1));
        r.names.push_back(f[1]);
        r.units.push_back(f[4]);
        a.push_back(std::stod(f[5]));
        b.push_back(std::stod(f[6]));
        REQUIRE((f[12] == "P" || f[12] == "S"));
    }
    std::size_t at = 2 + n;
    r.line_Hz = std::stod(lines.at(at++));
    REQUIRE(lines.at(at++) == "1");
    const auto rate = fields(lines.at(at++));
    r.rate = std::stod(rate.at(0));
    const std::size_t count = std::stoul(rate.at(1));
    for (int k = 0; k < 2; ++k) {  // dd/mm/yyyy,hh:mm:ss.ssssss
        const std::string s = lines.at(at++);
        REQUIRE(s.size() == 26);
        REQUIRE((s[2] == '/' && s[5] == '/' && s[10] == ',' && s[13] == ':' && s[16] == ':' && s[19] == '.'));
    }
    r.kind = lines.at(at++);
    REQUIRE(std::stod(lines.at(at++)) == 1.0);
    REQUIRE(fields(lines.at(at++)).size() == 2);
    REQUIRE(fields(lines.at(at++)).size() == 2);
    REQUIRE(at == lines.size());

    const std::string dat = slurp(cfg_path.substr(0, cfg_path.size() - 3) + "dat");
    r.columns.resize(n);
    if (r.kind == "ASCII") {
        std::stringstream in(dat);
        std::string line;
        std::size_t k = 0;
        while (std::getline(in, line)) {
            REQUIRE(line.back() == '\r');
            line.pop_back();
            const auto f = fields(line);
            REQUIRE(f.size() == 2 + n);
            REQUIRE(std::stoul(f[0]) == ++k);
            r.t.push_back(1e-6 * std::stod(f[1]));
            for (std::size_t c = 0; c < n; ++c) r.columns[c].push_back(a[c] * std::stod(f[2 + c]) + b[c]);
        }
        REQUIRE(k == count);
        return r;
    }
    const std::size_t word = r.kind == "BINARY" ? 2 : 4, record = 8 + word * n;
    REQUIRE((r.kind == "BINARY" || r.kind == "FLOAT32"));
    REQUIRE(dat.size() == record * count);
    const auto unsigned_at = [&](std::size_t p, std::size_t bytes) {
        std::uint32_t v = 0;
        for (std::size_t k = bytes; k-- > 0;) v = v << 8 | static_cast<unsigned char>(dat[p + k]);
        return v;
    };
    for (std::size_t k = 0; k < count; ++k) {
        REQUIRE(unsigned_at(k * record, 4) == k + 1);
        r.t.push_back(1e-6 * unsigned_at(k * record + 4, 4));
        for (std::size_t c = 0; c < n; ++c) {
            const std::uint32_t raw = unsigned_at(k * record + 8 + word * c, word);
            double x;
            if (word == 2) {
                x = static_cast<std::int16_t>(raw);
            } else {
                float f;
                std::memcpy(&f, &raw, 4);
                x = f;
            }
            r.columns[c].push_back(a[c] * x + b[c]);
        }
    }
    return r;
}

trace::Recording two_signals() {
    trace::Recording r;
    r.names = {"drive.u:drive.v", "around.u"};
    r.y0.resize(2);
    r.y1.resize(2);
    for (const trace::Segment& s : trace::CarrierPwm(320, 50, 0.8, 2000).line_to_line(0, 1, 2)) {
        r.t0.push_back(s.t0);
        r.t1.push_back(s.t1);
        r.y0[0].push_back(s.y0);
        r.y1[0].push_back(s.y1);
        r.y0[1].push_back(3 + 40 * s.t0);
        r.y1[1].push_back(3 + 40 * s.t1);
    }
    return r;
}

}  // namespace

TEST_CASE("COMTRADE of every kind comes back within its resolution") {
    const trace::Recording r = two_signals();
    const auto samples = report::sampled(r, 10e3);
    struct Kind {
        report::Comtrade kind;
        const char* name;
        double resolution;  // of the span
    };
    for (const Kind& k : {Kind{report::Comtrade::ascii, "ASCII", 0.5 / 2 / 99998},
                          Kind{report::Comtrade::binary, "BINARY", 0.5 / 2 / 32767},
                          Kind{report::Comtrade::float32, "FLOAT32", 6e-8}}) {
        INFO(k.name);
        const std::string path = test::temporary("-waves.cfg"), dat = test::temporary("-waves.dat");
        report::write_comtrade(path, r, 10e3, k.kind, 50);
        const Read back = read_back(path);
        CHECK(back.kind == k.name);
        CHECK(back.names == r.names);
        CHECK(back.units == std::vector<std::string>{"V", "A"});
        CHECK(back.rate == 10e3);
        CHECK(back.line_Hz == 50);
        REQUIRE(back.t.size() == 400);
        CHECK(back.t[399] == approx(399e-4).epsilon(1e-12));
        const double span[] = {640, 1.6};
        for (std::size_t c = 0; c < 2; ++c)
            for (std::size_t s = 0; s < 400; ++s)
                CHECK(std::fabs(back.columns[c][s] - samples[c][s]) <=
                      1.02 * k.resolution * span[c] + 1e-7 * std::fabs(samples[c][s]));
        CHECK_FALSE(std::filesystem::exists(path + ".part"));
        CHECK_FALSE(std::filesystem::exists(dat + ".part"));
        std::filesystem::remove(path);
        std::filesystem::remove(dat);
    }
}

TEST_CASE("A sample is the mean over its interval: nothing in between is lost") {
    const trace::Recording r = two_signals();
    const auto s = report::sampled(r, 1e3);
    REQUIRE(s[0].size() == 40);
    const trace::Trace wave = r.signal(0);
    for (std::size_t k = 0; k < 40; ++k) {
        const double a = static_cast<double>(k) * 1e-3;
        CHECK(s[0][k] == approx(trace::statistics(trace::slice(wave, a, a + 1e-3)).mean).epsilon(1e-9).margin(1e-9));
        CHECK(s[1][k] == approx(3 + 40 * (a + 0.5e-3)).epsilon(1e-9));
    }
}

TEST_CASE("WAV: 32-bit floating point, one channel a signal, in the signal's unit") {
    const trace::Recording r = two_signals();
    const std::string path = test::temporary("-waves.wav");
    report::write_wav(path, r, 8000);
    const std::string data = slurp(path);
    std::filesystem::remove(path);
    const auto at = [&](std::size_t p, std::size_t bytes) {
        std::uint32_t v = 0;
        for (std::size_t k = bytes; k-- > 0;) v = v << 8 | static_cast<unsigned char>(data[p + k]);
        return v;
    };
    CHECK(data.substr(0, 4) == "RIFF");
    CHECK(at(4, 4) == data.size() - 8);
    CHECK(data.substr(8, 8) == "WAVEfmt ");
    CHECK(at(20, 2) == 3);
    CHECK(at(22, 2) == 2);
    CHECK(at(24, 4) == 8000);
    CHECK(at(34, 2) == 32);
    const std::size_t body = data.find("data");
    REQUIRE(body != std::string::npos);
    REQUIRE(at(body + 4, 4) == 320 * 2 * 4);
    const auto samples = report::sampled(r, 8000);
    for (std::size_t k = 0; k < 320; ++k)
        for (std::size_t c = 0; c < 2; ++c) {
            const std::uint32_t raw = at(body + 8 + 4 * (2 * k + c), 4);
            float f;
            std::memcpy(&f, &raw, 4);
            CHECK(f == static_cast<float>(samples[c][k]));
        }
}

TEST_CASE("Nothing is left of a file that cannot be written") {
    CHECK_THROWS_AS(report::write_wav("/nonexistent/folder/x.wav", two_signals(), 8000), std::invalid_argument);
    CHECK_THROWS_AS(
        report::write_comtrade("/nonexistent/folder/x.cfg", two_signals(), 8000, report::Comtrade::ascii, 50),
        std::invalid_argument);
    CHECK_THROWS_AS(report::write_wav((std::filesystem::temp_directory_path() / "x.wav").string(), {}, 8000),
                    std::invalid_argument);
}
