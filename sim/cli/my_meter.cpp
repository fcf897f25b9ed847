// sunshaft my-meter: what kind of meter one owns, from waves played through a headphone socket.
#include <fmt/format.h>

#include <memory>

#include "cli/verb.hpp"
#include "files/fresh_file.hpp"
#include "files/input.hpp"
#include "site/keys.hpp"
#include "teach/own_meter.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

struct MyMeterOptions {
    std::string waves, seen, out;
};

int my_meter(const MyMeterOptions& o) {
    if (o.waves.empty() == o.seen.empty())
        throw site::BadInput(
            text::tr("sunshaft my-meter: expected one of --waves FOLDER (to begin) and --seen FILE (to finish)"));
    if (!o.waves.empty()) {
        fmt::print("{}\n", text::say("before you touch: {}", text::tr(teach::own_meter_caution)));
        teach::write_tones(o.waves);
        fmt::print("{}\n", text::say("{}: {} waves of 8 s and seen.csv", o.waves, teach::tones().size()));
        int number = 0;
        for (const char* step :
             {text::id("Set the meter to AC volts, its lowest range. Tip and sleeve of the plug are the two points."),
              text::id("How many digits show? Write the largest figure of the display behind counts, 1999 or 6000."),
              text::id("Play sine-200.wav and turn the volume up to a few hundred millivolts. Do not touch it again."),
              text::id("Play each wave in turn, wait for the display, write what it shows behind the wave's name.")})
            fmt::print("{}. {}\n", ++number, text::tr(step));
        fmt::print("{}. sunshaft my-meter --seen {}/seen.csv --out my-meter.toml\n", ++number, o.waves);
        return 0;
    }
    std::string text;
    try {
        text = files::read_whole(o.seen, files::most_settings);
    } catch (const files::Unreadable& why) {
        throw site::BadInput(text::say("{}:0:0: seen: {}, expected a file of names and figures",
                                       site::on_one_line(o.seen, 400), why.what()));
    }
    const teach::OwnMeter own = teach::fitted(teach::parse_seen(text, o.seen));
    for (const std::string& line : own.says) fmt::print("{}\n", line);
    if (!own.reachable || !own.detector) return 1;
    if (!o.out.empty()) {
        files::FreshFile file(o.out);
        file.write(own.toml());
        file.finish();
        fmt::print("{}\n", text::say("{}: a meter's file; sunshaft meters {} shows how it reads", o.out, o.out));
    }
    return 0;
}

}  // namespace

Run add_my_meter(CLI::App& app) {
    auto o = std::make_shared<MyMeterOptions>();
    app.add_option("--waves", o->waves, text::tr("write the waves to play, and a form to fill in, to this folder"))
        ->type_name("FOLDER");
    app.add_option("--seen", o->seen, text::tr("the form, filled in: a name, a comma and what was shown, a line each"))
        ->type_name("FILE");
    app.add_option("--out", o->out, text::tr("write the meter's file, to be used with --meter"))->type_name("FILE");
    app.footer(
        "Example: sunshaft my-meter --waves waves\n"
        "         sunshaft my-meter --seen waves/seen.csv --out mine.toml");
    return [o] { return my_meter(*o); };
}

}  // namespace sunshaft::cli
