// How often the suspects are right, from the complaint on: sites drawn (drawn.hpp), played (played.hpp), counted.
// Prints what comes out, whatever it is.
//
//   sunshaft-bench-diagnosis [--part faults|healthy|pairs|left-out] [--way proposed|textbook|random] [--cases N]
//                            [--seed S] [--site NAME] [--costs 0.5|1|2] [--only N] [--keep FOLDER]
//
// faults: half drawn by the priors, half evenly over the kinds; healthy: a fifth of them with a wrong statement about
// the site. Of both those stand apart whose pump is so far off its data that no acceptance test would pass it: there a
// second thing is wrong, or one at all. pairs: two faults, what is advised is done until both are mended; left-out: the
// library knows no splice, or no guard, and that is what is wrong. only: of these cases that one; keep: the notes of
// each as a case file (for `sunshaft suspects`). Not part of the fast tests.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <deque>
#include <map>
#include <string>

#include "played.hpp"
#include "site/faults.hpp"
#include "site/load.hpp"

using namespace sunshaft;
using namespace sunshaft::evaluation;

namespace {

// Two-sided 95 % (Wilson 1927).
std::pair<double, double> wilson(int k, int n) {
    const double z = 1.959963984540054, p = static_cast<double>(k) / n, d = 1 + z * z / n;
    const double middle = (p + z * z / (2 * n)) / d, half = z / d * std::sqrt(p * (1 - p) / n + z * z / (4.0 * n * n));
    return {middle - half, middle + half};
}

std::string share(int k, int n) {
    if (!n) return "none";
    const auto [low, high] = wilson(k, n);
    return fmt::format("{} of {}, {:.2f} ({:.2f} to {:.2f})", k, n, static_cast<double>(k) / n, low, high);
}

struct Count {
    int cases = 0, found = 0, wrong_lifts = 0, healthy = 0, dangers = 0;
    double minutes = 0.0, visits = 0.0, log_score = 0.0;
};

struct Options {
    std::string part = "faults", way = "proposed", site = "hill-orchard";
    int cases = 20, only = -1;
    std::string keep;
    unsigned long seed = 1;
    double costs = 1.0;
};

bool read(int argc, char** argv, Options& o) {
    for (int n = 1; n + 1 < argc; n += 2) {
        const std::string option = argv[n], value = argv[n + 1];
        if (option == "--cases") o.cases = std::atoi(argv[n + 1]);
        else if (option == "--only") o.only = std::atoi(argv[n + 1]);
        else if (option == "--keep") o.keep = value;
        else if (option == "--seed") o.seed = std::strtoul(argv[n + 1], nullptr, 10);
        else if (option == "--site") o.site = value;
        else if (option == "--part") o.part = value;
        else if (option == "--way") o.way = value;
        else if (option == "--costs") o.costs = std::strtod(argv[n + 1], nullptr);
        else
            return fmt::print(stderr,
                              "{}: expected --part, --way, --cases, --seed, --site, --costs, --only or --keep\n",
                              option),
                   false;
    }
    return true;
}

const std::vector<std::vector<std::string>> mechanisms = {
    {"high-resistance-splice", "lost-phase", "core-broken", "splice-opens-when-warm", "wet-splice",
     "wet-splice-to-earth", "high-resistance-core"},
    {"guard-cable-cut", "guard-cable-shorted", "dry-probe-open", "dry-probe-fouled", "clean-water", "dry-probe-high",
     "float-stuck-up", "float-stuck-down", "flow-switch-open", "flow-switch-stuck", "jumper-left-in"}};

class Evaluation {
  public:
    explicit Evaluation(const Options& o)
        : o_(o),
          scenario_(site::load_scenario(site::find_scenario(o.site))),
          whole_(diagnose::load_priors(diagnose::shipped_priors())) {
        for (auto* table : {&whole_.minutes, &whole_.repair})
            for (auto& [name, minutes] : *table) minutes *= o.costs;
        for (const auto& left_out : mechanisms) {
            known_.push_back(whole_);
            if (o.part == "left-out")
                for (const std::string& kind : left_out) known_.back().fault[kind] = 0.0;
        }
        for (const diagnose::Priors& known : known_) players_.emplace_back(o.site, scenario_, known);
    }

    void run() {
        Lottery lottery(scenario_, whole_, o_.seed);
        const Way way = o_.way == "textbook" ? Way::textbook : o_.way == "random" ? Way::random : Way::proposed;
        for (int n = 0; n < o_.cases; ++n) {
            const std::size_t library = static_cast<std::size_t>(n) % mechanisms.size();
            const Part part = o_.part == "healthy"    ? Part::healthy
                              : o_.part == "pairs"    ? Part::pairs
                              : o_.part == "left-out" ? Part::of_kinds
                              : n % 2                 ? Part::evenly
                                                      : Part::by_priors;
            const Drawn site = lottery.draw(part, mechanisms[library]);
            if (o_.only >= 0 && n != o_.only) continue;
            // What is drawn next does not depend on how many dice this case threw.
            std::mt19937_64 dice(o_.seed * 1000003UL + static_cast<unsigned long>(n));
            try {
                one(n, site, players_[library], way, dice);
            } catch (const std::exception& why) {
                fmt::print("{:>3} {}: not played: {}\n", n, words(site), why.what());
            }
            std::fflush(stdout);
        }
        print();
    }

  private:
    static bool bad_pump_besides(const Drawn& site) {
        if (site.pump_passes || site.truths.size() > 1) return false;
        return site.truths.empty() ||
               std::string_view(site::find_fault(site.truths.front().kind)->group) != "pump and water";
    }

    static std::string words(const Drawn& site) {
        std::string out;
        for (const Truth& t : site.truths)
            out += fmt::format("{}{}@{}={:.3g}", out.empty() ? "" : " + ", t.kind, t.place, t.severity);
        if (out.empty()) out = "health";
        if (bad_pump_besides(site)) out += ", pump off its data";
        return site.misstated.empty() ? out : out + fmt::format(" ({})", site.misstated.front());
    }

    void one(int n, const Drawn& site, Player& player, Way way, std::mt19937_64& dice) {
        const bool hidden = player.like_healthy(site), mild = !site.truths.empty() && player.harmless(site);
        const Played x = player.play(site, way, dice);
        std::string to = hidden ? "like a healthy site" : mild ? "costs no water now" : site.part;
        const bool off = bad_pump_besides(site);
        if (off) to += ", pump off its data";
        if (!site.misstated.empty() && !hidden && !mild) to += ", one statement wrong";
        for (const std::string& name : {to, std::string("all that can be told from health")}) {
            if ((hidden || off) && name != to) continue;
            Count& k = counts_[name];
            ++k.cases;
            k.found += x.found_at > 0 || (o_.part == "left-out" && x.leads.starts_with("nothing-here-fits"));
            k.wrong_lifts += x.wrong_lift;
            k.healthy += x.called_healthy;
            k.dangers += !x.dangers.empty();
            k.minutes += x.minutes;
            k.visits += x.visits;
            k.log_score -= std::log(std::max(1e-6, x.said_of_truth));
        }
        if (!hidden && !off) {
            auto& bin = calibration_[std::min(9, static_cast<int>(10 * x.said))];
            ++bin.first;
            bin.second += x.found_at > 0;
        }
        fmt::print("{:>3} {:<44} -> {:<40} {:<8} {} {:3.0f} min: {}\n", n, words(site), x.leads, x.advice,
                   hidden       ? "like health"
                   : mild       ? "mild, " + std::string(x.found_at ? "found" : "missed")
                   : x.found_at ? fmt::format("after {}", x.found_at)
                                : std::string("missed "),
                   x.minutes, x.path);
        if (!o_.keep.empty()) diagnose::write_case(x.notes, fmt::format("{}/{}.toml", o_.keep, n));
        if (!x.doubted.empty()) fmt::print("    doubted (all fits {:.2g}): {}\n", x.fits, x.doubted);
        for (const std::string& harm : x.dangers) fmt::print("    DANGER {}\n", harm);
    }

    void print() const {
        fmt::print("\n{}, {}, {}, {} cases, seed {}, costs x {}: from the complaint on, {} visits at most\n", o_.site,
                   o_.part, o_.way, o_.cases, o_.seed, o_.costs, o_.part == "pairs" ? "ten" : "six");
        for (const auto& [part, k] : counts_)
            fmt::print(
                "{}: found {}; visits {:.1f}, minutes {:.0f}; wrong lifts {}, called healthy {}, dangers {}; log "
                "score {:.2f} nat\n",
                part, share(k.found, k.cases), k.visits / k.cases, k.minutes / k.cases, k.wrong_lifts, k.healthy,
                k.dangers, k.log_score / k.cases);
        fmt::print("by what was said of the leading group at the stop: right\n");
        for (const auto& [tenth, n] : calibration_)
            fmt::print("  {:.1f} to {:.1f}  {}\n", tenth / 10.0, tenth / 10.0 + 0.1, share(n.second, n.first));
    }

    Options o_;
    Scenario scenario_;
    diagnose::Priors whole_;
    std::vector<diagnose::Priors> known_;  // by mechanism: what the library holds
    std::deque<Player> players_;
    std::map<std::string, Count> counts_;
    std::map<int, std::pair<int, int>> calibration_;
};

}  // namespace

int main(int argc, char** argv) {
    Options o;
    if (!read(argc, argv, o)) return 2;
    try {
        Evaluation(o).run();
    } catch (const std::exception& why) {
        fmt::print(stderr, "{}\n", why.what());
        return 2;
    }
    return 0;
}
