#include "model/desk_script.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <functional>
#include <map>

#include "model/desk_alter.hpp"
#include "model/script.hpp"

namespace sunshaft::view {

namespace {

using Words = std::vector<std::string>;

double number(const std::string& word) {
    double v = 0.0;
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), v);
    if (error != std::errc{} || end != word.data() + word.size() || !std::isfinite(v))
        throw ScriptError(fmt::format("'{}' is not a number", word));
    return v;
}

bool on(const std::string& word) {
    if (word != "on" && word != "off") throw ScriptError(fmt::format("'{}': expected on or off", word));
    return word == "on";
}

void probe(Desk& desk, const Words& w) {
    bench::Probes probes = desk.probes();
    const std::string point = w[2] == "-" ? "" : w[2];
    if (w[1] == "red") probes.red = point;
    else if (w[1] == "black") probes.black = point;
    else if (w[1] == "around") probes.around = point;
    else throw ScriptError(fmt::format("there is no probe '{}', expected red, black or around", w[1]));
    desk.place(probes);
}

void choose_mode(Desk& desk, const std::string& name) {
    const auto mode = meter::mode_from(name);
    if (!mode) throw ScriptError(fmt::format("there is no mode '{}'", name));
    desk.choose_mode(*mode);
}

void alter(Desk& desk, const std::string& field) {
    desk.show_instead(nullptr);
    desk.show_day_instead(nullptr);
    if (field == "back") return;
    for (const Alteration& a : alterations()) {
        if (a.field != field) continue;
        auto altered = std::make_shared<Snapshot>(*desk.snapshot());
        a.apply(*altered);
        if (a.day) {
            auto day = std::make_shared<DayView>(*desk.the_day());
            a.day(*day);
            desk.show_day_instead(std::move(day));
        }
        return desk.show_instead(altered);
    }
    throw ScriptError(fmt::format("there is no field '{}' to alter", field));
}

struct Act {
    int words;  // after the name; -1: any number
    std::function<void(Desk&, const Words&)> play;
};

std::map<std::string, Act> acts() {
    return {
        {"probe", {2, probe}},
        {"mode", {1, [](Desk& d, const Words& w) { choose_mode(d, w[1]); }}},
        {"extremes", {1, [](Desk& d, const Words& w) { d.keep_extremes(w[1] == "on"); }}},
        {"inrush", {1, [](Desk& d, const Words& w) { d.await_inrush(w[1] == "on"); }}},
        {"meter", {2, [](Desk& d, const Words& w) { d.choose_meter(static_cast<int>(number(w[1])) - 1, w[2]); }}},
        {"change-meter", {3, [](Desk& d, const Words& w) { d.change_meter(w[1], w[2], w[3]); }}},
        {"restore-meter", {1, [](Desk& d, const Words& w) { d.restore_meter(w[1]); }}},
        {"plant", {3, [](Desk& d, const Words& w) { d.plant(w[1], w[2], number(w[3])); }}},
        {"heal",
         {-1,
          [](Desk& d, const Words& w) {
              if (w.size() == 2 && w[1] == "all") d.heal_all();
              else if (w.size() == 3) d.heal(w[1], w[2]);
              else throw ScriptError("expected 'heal all' or 'heal KIND PLACE'");
          }}},
        {"do", {2, [](Desk& d, const Words& w) { d.act(w[1], w[2]); }}},
        {"set", {2, [](Desk& d, const Words& w) { d.set(w[1], w[2]); }}},
        {"undo", {0, [](Desk& d, const Words&) { d.undo(); }}},
        {"redo", {0, [](Desk& d, const Words&) { d.redo(); }}},
        {"run", {0, [](Desk& d, const Words&) { d.run(); }}},
        {"hold", {0, [](Desk& d, const Words&) { d.hold(); }}},
        {"step",
         {0,
          [](Desk& d, const Words&) {
              d.step();
              d.work(0.0);
          }}},
        {"rate", {1, [](Desk& d, const Words& w) { d.rate(number(w[1])); }}},
        {"wait",
         {1,
          [](Desk& d, const Words& w) {
              const double seconds = number(w[1]);
              if (!(seconds >= 0.0 && seconds <= 3600.0)) throw ScriptError("expected 0 to 3600 seconds");
              d.work(seconds);
          }}},
        {"channels",
         {-1,
          [](Desk& d, const Words& w) {
              d.choose_channels({w.begin() + 1, w.end()});
          }}},
        {"scope",
         {1,
          [](Desk& d, const Words& w) {
              d.scope.seconds_per_division = number(w[1]);
              d.show_seconds(d.scope.width() * 2.0);
          }}},
        {"trigger",
         {3,
          [](Desk& d, const Words& w) {
              if (w[3] != "rising" && w[3] != "falling")
                  throw ScriptError(fmt::format("'{}': expected rising or falling", w[3]));
              Trigger t = d.scope.trigger;
              t.source = w[1] == "-" ? "" : w[1], t.level = number(w[2]);
              t.slope = w[3] == "rising" ? Slope::rising : Slope::falling;
              d.trigger(t);
          }}},
        {"lay",
         {1,
          [](Desk& d, const Words& w) {
              try {
                  d.laid = w[1] == "-" ? nullptr : lay(w[1]);
              } catch (const std::exception& e) {
                  throw ScriptError(e.what());
              }
          }}},
        {"ghost", {1, [](Desk& d, const Words& w) { d.scope.ghost = on(w[1]); }}},
        {"teaching", {1, [](Desk& d, const Words& w) { d.teaching_points = on(w[1]); }}},
        {"day",
         {2,
          [](Desk& d, const Words& w) {
              try {
                  d.day.date = day::parse_date(w[1]);
              } catch (const std::invalid_argument& e) {
                  throw ScriptError(e.what());
              }
              d.day.sky = w[2];
              d.want_day(false);
          }}},
        {"hour",
         {1,
          [](Desk& d, const Words& w) {
              d.want_day(false);
              d.at_hour(number(w[1]), false);
          }}},
        {"marks", {1, [](Desk& d, const Words& w) { d.marks_hidden = !on(w[1]); }}},
        {"alter", {1, [](Desk& d, const Words& w) { alter(d, w[1]); }}},
        {"lesson",
         {-1,
          [](Desk& d, const Words& w) {
              if (w.size() < 3 || w.size() > 4)
                  throw ScriptError("expected 'lesson NAME SEED' or 'lesson NAME SEED class'");
              teach::PlayOptions options;
              options.seed = static_cast<std::uint64_t>(number(w[2]));
              options.of_class = w.size() == 4;
              d.begin_lesson(w[1], options);
          }}},
        {"answer", {1, [](Desk& d, const Words& w) { d.answer_lesson(w[1]); }}},
        {"tell", {0, [](Desk& d, const Words&) { fmt::print("{}", told(*d.snapshot())); }}},
    };
}

}  // namespace

void play(Desk& desk, const Words& words) {
    const auto all = acts();
    const auto act = all.find(words.at(0));
    if (act == all.end()) throw ScriptError(fmt::format("unknown act '{}'", words[0]));
    const auto given = static_cast<int>(words.size()) - 1;
    if (act->second.words >= 0 && given != act->second.words)
        throw ScriptError(fmt::format("'{}' takes {} words after it, not {}", words[0], act->second.words, given));
    const std::string before = desk.last_error();  // stays until the next good edit
    act->second.play(desk, words);
    if (const std::string refused = desk.last_error(); !refused.empty() && refused != before)
        throw ScriptError(refused);
}

std::string told(const Snapshot& s) {
    const auto shown = [](const std::shared_ptr<const meter::Reading>& r) { return r ? r->shown : std::string("-"); };
    return fmt::format("meter 1: {}\nmeter 2: {}\nclamp: {}\n", shown(s.meters[0].reading), shown(s.meters[1].reading),
                       shown(s.clamp));
}

}  // namespace sunshaft::view
