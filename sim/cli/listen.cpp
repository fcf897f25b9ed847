// sunshaft listen: what an ear hears of a site, by band, and as a WAV file.
#include <fmt/format.h>

#include <cmath>
#include <memory>
#include <nlohmann/json.hpp>

#include "bench/field_tests.hpp"
#include "bench/hazards.hpp"
#include "bench/sound.hpp"
#include "cli/verb.hpp"
#include "report/waves.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

using text::say, text::tr;

struct ListenOptions {
    BenchOptions bench;
    std::string ear = "pipe", out;
    double at = -1.0, seconds = 4.0;
    bool json = false;
};

constexpr int rate_Hz = 44100;

void write(const std::string& path, const bench::Heard& heard, double seconds) {
    trace::Recording r;
    r.names = {"sound"};
    r.y0.resize(1);
    const std::vector<float> y = bench::samples(heard, seconds, rate_Hz);
    for (std::size_t n = 0; n < y.size(); ++n) {
        r.t0.push_back(static_cast<double>(n) / rate_Hz);
        r.t1.push_back(static_cast<double>(n + 1) / rate_Hz);
        r.y0[0].push_back(static_cast<double>(y[n]));
    }
    r.y1 = r.y0;
    report::write_wav(path, r, rate_Hz);
}

int listen(const ListenOptions& o) {
    const auto ear = bench::ear_from(o.ear);
    if (!ear) throw site::BadInput(say("--ear: {}: expected pipe, wellhead or drive", site::on_one_line(o.ear)));
    bench::Conduct conduct(o.bench.anyway);
    bench::Bench b = make_bench(o.bench, conduct);
    if (o.at >= 0.0) b.advance(o.at);
    else b.settle();
    const auto hazards = bench::joined(conduct.hazards(), bench::hazards(*bench::find_test("sound"), b));
    const bench::Heard heard = bench::heard(b, *ear);
    const std::array<double, 9> dB = bench::octave_dB(heard);
    if (!o.out.empty()) write(o.out, heard, o.seconds);
    if (o.json) {
        nlohmann::json bands = nlohmann::json::array();
        for (std::size_t n = 0; n < dB.size(); ++n)
            bands.push_back({{"Hz", bench::octave_Hz[n]}, {"dB", number(dB[n])}});
        fmt::print(
            "{}\n",
            nlohmann::json{{"hazards", hazards_json(hazards)}, {"heard", heard.caption()}, {"bands", bands}}.dump(2));
        return 0;
    }
    print_cautions(hazards, stdout);
    fmt::print("{}\n", heard.caption());
    for (std::size_t n = 0; n < dB.size(); ++n)
        fmt::print("  {:>8}  {}\n", text::quantity(bench::octave_Hz[n], "Hz", 3),
                   dB[n] > -90.0 ? fmt::format("{:>6} dB", text::fixed(dB[n], 1)) : std::string("     -"));
    if (!o.out.empty()) fmt::print("{}\n", say("written: {}", o.out));
    return 0;
}

}  // namespace

Run add_listen(CLI::App& app) {
    auto options = std::make_shared<ListenOptions>();
    add_bench_options(app, options->bench);
    app.add_option("--ear", options->ear, tr("where: pipe (on the rising main), wellhead, drive"))->type_name("PLACE");
    app.add_option("--at", options->at, tr("so many simulated seconds after switching on; default: when settled"))
        ->type_name("SECONDS")
        ->check(within(0, 86400));
    app.add_option("--out", options->out, tr("write it as a WAV file to be played over and over"))->type_name("FILE");
    app.add_option("--for", options->seconds, tr("how long that is"))
        ->type_name("SECONDS")
        ->check(within(0.5, 60))
        ->capture_default_str();
    app.add_flag("--json", options->json, tr("print one JSON object"));
    app.footer(
        say("Levels are dB under the file's full scale, by octave. They compare with each other, not with a sound "
            "level meter.") +
        "\nExample: sunshaft listen hill-orchard --fault lost-phase@splice.v=1 --at 5 --out hum.wav");
    return [options] { return listen(*options); };
}

}  // namespace sunshaft::cli
