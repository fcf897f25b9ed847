#include "callout/spoken.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <sstream>

#include "bench/hands.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "text/heard.hpp"
#include "text/language.hpp"
#include "text/words.hpp"

namespace sunshaft::callout {

enum class Spoken::Verb { help, look, read, clamp, gauge, act, wait, notes, strike, swap, say, leave };

namespace {

using Verb = Spoken::Verb;
// The first word of each line is what is typed, in whatever language it stands.
struct Way {
    Verb verb;
    const char* help;
};
constexpr Way ways[] = {
    {Verb::look, text::id("  look                          lamps, the drive's display, the outlet, the sound")},
    {Verb::read, text::id("  read RED BLACK MODE [METER]   a meter on two points: read drive.u drive.v acv")},
    {Verb::clamp, text::id("  clamp CONDUCTOR [MODE [METER]] a clamp: clamp u; clamp s1 dca")},
    {Verb::gauge, text::id("  gauge NAME                    flow, head, water, tank, sun, module_temp ...")},
    {Verb::act, text::id("  do ACT@PLACE                  do open@isolator; do pull@pump (sunshaft acts)")},
    {Verb::wait, text::id("  wait SECONDS                  for the link, the shaft, a retry")},
    {Verb::notes, text::id("  notes                         what was read so far")},
    {Verb::strike,
     text::id("  strike NUMBER                 a reading of the notes does not count; once more: it counts again")},
    {Verb::swap, text::id("  swap                          the two at this laptop change roles")},
    {Verb::say,
     text::id("  say FAULT@PLACE [another]     what it is, and the end: say lost-phase@v, say health, say low-sun")},
    {Verb::leave, text::id("  leave                         without a word")},
    {Verb::help, text::id("  help                          these lines")}};

Verb verb_of(const std::string& typed) {
    for (const Way& way : ways)
        for (const std::string& line : text::said(way.help)) {
            const std::size_t from = line.find_first_not_of(' ');
            if (line.substr(from, line.find(' ', from) - from) == text::folded(typed)) return way.verb;
        }
    throw site::BadInput(text::say(
        "{}: is not known here, expected one of look read clamp gauge do wait notes strike swap say leave help",
        site::on_one_line(typed)));
}

// works: of the site, for the places a fault can be at.
Named named_by(const std::string& word, const site::Works& works) {
    const std::size_t at = word.find('@');
    const Named said{word.substr(0, at), at == std::string::npos ? "" : word.substr(at + 1)};
    if (!site::find_fault(said.fault) && said.fault != "health" && said.fault != "low-sun")
        throw site::BadInput(
            text::say("say: {}: is no fault, expected one of `sunshaft faults`, health or low-sun", said.fault));
    const site::FaultRow* row = site::find_fault(said.fault);
    if (const auto places = row ? row->places(works) : std::vector<std::string>{};
        said.place.empty() && places.size() > 1)
        throw site::BadInput(text::say("say: {0}: where? Expected {0}@PLACE, one of {1}", said.fault,
                                       site::on_one_line(text::spaced(places), 300)));
    return said;
}

// What stands behind a line's first word: at least, at most so many.
void takes(const std::vector<std::string>& w, std::size_t least, std::size_t most) {
    if (w.size() < least + 1 || w.size() > most + 1)
        throw site::BadInput(text::say("{}: expected {} after it (help)", w[0], least));
}

double seconds_of(const std::string& word) {
    double s = 0.0;
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), s);
    if (error != std::errc() || end != word.data() + word.size())
        throw site::BadInput(text::say("wait: {}: expected seconds, 0 to 3600", site::on_one_line(word)));
    return s;
}

}  // namespace

Spoken::Spoken(Visit& visit, const Terms& terms, std::vector<std::string> who, std::size_t turn)
    : visit_(visit),
      terms_(terms),
      who_(std::move(who)),
      turn_(turn),
      priors_(diagnose::load_priors(diagnose::shipped_priors())) {}

std::string Spoken::roles() const {
    if (who_.size() < 2) return "";
    return text::say("{} has the meter, {} the notes.", who_[turn_ % 2], who_[(turn_ + 1) % 2]);
}

Conducted Spoken::conducted(std::size_t person) const {
    Conducted c = visit_.conducted(said_[person].first);
    c.second = said_[person].second;
    return c;
}

std::vector<std::string> Spoken::line(const std::string& text) {
    out_.clear();
    std::istringstream in(text);
    std::vector<std::string> words;
    for (std::string w; in >> w;) words.push_back(w);
    if (words.empty() || words[0].starts_with("#")) return {};
    try {
        carry_out(std::move(words));
    } catch (const bench::Refused& why) {
        if (terms_.exam) {
            tell(text::say("  stopped: {}. It is unsafe now, and it counts.", act_words(why.act)));
        } else {
            tell(text::say("  refused: {}", why.act));
            for (const std::string& reason : bench::reasons(why.hazards)) tell("    " + reason);
            tell("    " + text::say("In this order: {}", bench::order(why.hazards)));
        }
    } catch (const std::exception& e) {
        tell("  " + site::on_one_line(e.what(), 400));
    }
    return std::move(out_);
}

void Spoken::before(const std::vector<std::string>& cautions) {
    if (cautions == told_ && !told_.empty()) return tell(std::string("  ") + text::tr("before you touch: as before"));
    told_ = cautions;
    for (const std::string& line : cautions) tell("  " + text::say("before you touch: {}", line));
}

void Spoken::notes() {
    std::size_t number = 0;
    for (const Deed& d : visit_.deeds()) {
        if (d.stopped) continue;
        if (d.kind == Deed::Kind::read)
            tell(fmt::format("  {:>3}  {:<26} {:<10} {}", ++number, d.seen.what(), d.seen.mode, says(d.seen)));
        else if (d.kind == Deed::Kind::strike) tell(text::say("       struck out, or counts again: {}", d.entry + 1));
    }
}

void Spoken::carry_out(std::vector<std::string> w) {
    const bool insists = w.back().ends_with("!") && (w.size() > 1 || w.back().size() > 1);
    if (insists) w.back().pop_back();
    if (w.back().empty()) w.pop_back();
    const Verb verb = verb_of(w[0]);
    const bool works =
        verb == Verb::look || verb == Verb::read || verb == Verb::clamp || verb == Verb::gauge || verb == Verb::act;
    if (works) {
        if (terms_.exam && terms_.minutes > 0.0 && minutes(visit_.notes(), priors_) >= terms_.minutes * terms_.extra)
            throw site::BadInput(text::tr("The time is up. Say what it is."));
        work(verb, w, insists && !terms_.exam);
    } else {
        between(verb, w);
    }
}

// What is done on the site.
void Spoken::work(Verb verb, const std::vector<std::string>& w, bool anyway) {
    const auto given = [&](std::size_t n) { return w.size() > n ? w[n] : ""; };
    if (verb == Verb::look) {
        before(visit_.cautions("sound"));
        for (const char* name : {"lamps", "drive_V", "drive_Hz", "drive_A", "drive_stop", "outlet", "sound"})
            tell(fmt::format("  {:<11} {}", name, visit_.gauge(name)));
    } else if (verb == Verb::read) {
        takes(w, 3, 4);
        measure({w[1], w[2], ""}, w[3], given(4), anyway);
    } else if (verb == Verb::clamp) {
        takes(w, 1, 3);
        measure({"", "", w[1]}, w.size() > 2 ? w[2] : std::string(meter::mode_name(bench::clamp_mode(w[1]))), given(3),
                anyway);
    } else if (verb == Verb::gauge) {
        takes(w, 1, 1);
        if (const auto cautions = visit_.cautions(w[1]); !cautions.empty()) before(cautions);
        tell("  " + visit_.gauge(w[1]));
    } else if (verb == Verb::act) {
        takes(w, 1, 1);
        const std::size_t at = w[1].find('@');
        const std::string place = at == std::string::npos ? "" : w[1].substr(at + 1);
        before(visit_.cautions(site::Act{w[1].substr(0, at), place, 0.0}));
        visit_.act(w[1].substr(0, at), place, anyway);
        tell(text::tr("  done"));
    }
}

// What touches nothing on the site: waiting, the notes, and what it is.
void Spoken::between(Verb verb, const std::vector<std::string>& w) {
    if (verb == Verb::help) {
        for (const Way& way : ways) tell(text::tr(way.help));
        tell(text::tr("An exclamation mark at the end of a line does what is refused; it counts as unsafe."));
    } else if (verb == Verb::wait) {
        takes(w, 1, 1);
        visit_.wait(seconds_of(w[1]));
        tell(text::tr("  done"));
    } else if (verb == Verb::notes) {
        notes();
    } else if (verb == Verb::strike) {
        takes(w, 1, 1);
        visit_.strike(static_cast<std::size_t>(std::max(0L, std::strtol(w[1].c_str(), nullptr, 10) - 1)));
    } else if (verb == Verb::swap) {
        visit_.swap();
        ++turn_;
        tell(roles());
    } else if (verb == Verb::say) {
        takes(w, 1, 2);
        Said said;
        said.first = named_by(w[1], visit_.works());
        if (w.size() > 2) said.second = named_by(w[2], visit_.works());
        said_.push_back(said);
        if (said_.size() < who_.size()) tell(text::say("Kept. Now {} says what it is.", who_[said_.size()]));
    } else if (verb == Verb::leave) {
        left_ = true;
    }
}

void Spoken::measure(const bench::Probes& probes, const std::string& mode, const std::string& meter, bool anyway) {
    const auto known = meter::mode_from(mode);
    if (!known) throw site::BadInput(text::say("{}: is no mode (help)", site::on_one_line(mode)));
    before(visit_.cautions(probes, *known, meter));
    tell("  " + visit_.read(probes, *known, meter, anyway));
}

}  // namespace sunshaft::callout
