// Every verb returns: every shipped site with every fault at its usual severity and every act, untimed and timed,
// through the program itself as its user runs it. Each answers or refuses with a reason within 10 s of processor time
// and 200 MB, and shows nothing that is no number. Every key likewise, at the ends of its domain and at random inside.
// A random sample runs with the fast tests; SUNSHAFT_SOAK_SHARE (0 to 1) makes the soak a random share of itself.
#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdlib>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "catch_shim.hpp"
#include "names.hpp"
#include "site/faults.hpp"
#include "site/keys.hpp"
#include "site/load.hpp"

using namespace sunshaft;

namespace {

constexpr double most_s = 10.0, most_MB = 200.0;
constexpr double give_up_s = 15.0;  // of processor time, after which it is ended

struct VerbEnded {
    int status = -1;  // -1: ended by a signal
    double seconds = 0, megabytes = 0;
    std::string text;  // both streams
};

VerbEnded run(const std::vector<std::string>& words) {
    int ends[2];
    REQUIRE(pipe(ends) == 0);
    const pid_t child = fork();
    REQUIRE(child >= 0);
    if (child == 0) {
        dup2(ends[1], 1), dup2(ends[1], 2);
        close(ends[0]), close(ends[1]);
        rlimit cpu{};
        cpu.rlim_cur = cpu.rlim_max = static_cast<rlim_t>(give_up_s);
        setrlimit(RLIMIT_CPU, &cpu);
        std::vector<char*> argv{const_cast<char*>(SUNSHAFT_PROGRAM)};
        for (const std::string& w : words) argv.push_back(const_cast<char*>(w.c_str()));
        argv.push_back(nullptr);
        execv(SUNSHAFT_PROGRAM, argv.data());
        _exit(127);
    }
    close(ends[1]);
    VerbEnded o;
    std::array<char, 65536> buffer{};
    for (ssize_t n; (n = read(ends[0], buffer.data(), buffer.size())) > 0;)
        o.text.append(buffer.data(), static_cast<std::size_t>(n));
    close(ends[0]);
    int raw = 0;
    rusage used{};
    wait4(child, &raw, 0, &used);
    if (WIFEXITED(raw)) o.status = WEXITSTATUS(raw);
    const auto s = [](const timeval& t) {
        return static_cast<double>(t.tv_sec) + 1e-6 * static_cast<double>(t.tv_usec);
    };
    o.seconds = s(used.ru_utime) + s(used.ru_stime);
    o.megabytes = static_cast<double>(used.ru_maxrss) / 1024;
    return o;
}

// A value that is none, as a word of its own.
bool shows_no_number(const std::string& text) {
    for (const std::string_view bad : {"nan", "inf"})
        for (std::size_t at = text.find(bad); at != std::string::npos; at = text.find(bad, at + 1)) {
            const auto letter = [&](std::size_t n) {
                return n < text.size() && (std::isalnum(static_cast<unsigned char>(text[n])) || text[n] == '_');
            };
            if (!letter(at - 1) && !letter(at + bad.size())) return true;
        }
    return false;
}

struct VerbsTally {
    int runs = 0, refused = 0;
    double slowest = 0, largest = 0;
    std::string slow, large;
};

void check(const std::vector<std::string>& words, VerbsTally& tally, const std::string& must_name = {}) {
    const VerbEnded o = run(words);
    std::string line;
    for (const std::string& w : words) line += fmt::format(" {}", w);
    INFO("sunshaft" << line << "\n" << o.text.substr(0, 600));
    ++tally.runs;
    CHECK((o.status == 0 || o.status == 1 || o.status == 2));
    if (o.status > 0) {
        ++tally.refused;
        CHECK(!o.text.empty());
    }
    // A refusal's own words may say "expected ... inf".
    if (o.status == 0) CHECK_FALSE(shows_no_number(o.text));
    if (o.status > 0 && !must_name.empty()) {
        // The key, or one it disagrees with, or the section the solver found far off.
        CHECK(o.text.find(must_name.substr(0, must_name.find('.'))) != std::string::npos);
    }
    CHECK(o.seconds < most_s);
    CHECK(o.megabytes < most_MB);
    if (o.seconds > tally.slowest) tally.slowest = o.seconds, tally.slow = line;
    if (o.megabytes > tally.largest) tally.largest = o.megabytes, tally.large = line;
}

void report(const char* what, const VerbsTally& t) {
    WARN(what << ": " << t.runs << " runs, " << t.refused << " refused, slowest " << t.slowest << " s (" << t.slow
              << "), largest " << t.largest << " MB (" << t.large << ")");
}

// One of every `in` combinations at random; combinations are counted, not stored.
struct Lot {
    std::mt19937 random;
    double share;
    bool drawn() { return std::uniform_real_distribution<double>(0, 1)(random) < share; }
    template <class List>
    const auto& one_of(const List& list) {
        return list[random() % list.size()];
    }
};

double soak_share() {
    const char* given = std::getenv("SUNSHAFT_SOAK_SHARE");
    return given ? std::atof(given) : 1.0;
}

double usual(const std::string& fault) { return site::find_fault(fault.substr(0, fault.find('@')))->usual; }

void verbs(Lot lot, const char* what) {
    VerbsTally tally;
    for (const char* name : shipped_names) {
        const site::Works w = site::set_up(site::load_scenario(site::find_scenario(name)));
        std::vector<std::string> faults{""}, acts{""};
        for (const auto& row : site::fault_catalogue())
            if (const auto places = row.places(w); !places.empty())
                faults.push_back(fmt::format("{}@{}", row.kind, lot.one_of(places)));
        for (const auto& row : site::act_catalogue())
            if (const auto places = row.places(w); !places.empty())
                acts.push_back(fmt::format("{}@{}", row.kind, lot.one_of(places)));
        const std::vector<std::vector<std::string>> readings = {{"--red", "drive.u", "--black", "drive.v"},
                                                                {"--around", "v"},
                                                                {"--red", "link+", "--black", "link-"},
                                                                {"--red", "motor.v", "--black", "motor.w"}};
        for (const std::string& fault : faults)
            for (const std::string& act : acts)
                for (const char* when : {"", "@2"})
                    for (const char* verb : {"read", "sheet", "analyse"}) {
                        if (!lot.drawn()) continue;
                        std::vector<std::string> words{verb, name};
                        // Timed, the fault comes while the site runs, or stands from the start.
                        const bool late = *when && lot.random() % 2;
                        if (!fault.empty())
                            words.insert(words.end(),
                                         {"--fault", late ? fmt::format("{}={}{}", fault, usual(fault), when) : fault});
                        if (!act.empty()) words.insert(words.end(), {"--do", fmt::format("{}{}", act, when)});
                        if (std::string(verb) == "read") {
                            const auto& leads = lot.one_of(readings);
                            words.insert(words.end(), leads.begin(), leads.end());
                        }
                        check(words, tally);
                    }
    }
    report(what, tally);
}

void keys(Lot lot, const char* what) {
    VerbsTally tally;
    for (const char* name : shipped_names)
        for (const site::Key& key : site::keys()) {
            const auto* range = std::get_if<site::Range>(&key.domain);
            if (!range) continue;
            const bool whole = std::holds_alternative<int& (*)(Scenario&)>(key.member);
            const double low = range->low, high = std::isfinite(range->high) ? range->high : 1e12;
            for (int n = 0; n < 22; ++n) {
                if (!lot.drawn()) continue;
                double x = n == 0 ? low : high;
                // By ratio where the domain is positive and wide, so that small values come up too.
                const double share = std::uniform_real_distribution<double>(0, 1)(lot.random);
                if (n > 1)
                    x = low >= 0 && n % 2 ? std::pow(10.0, -6 + share * (std::log10(std::max(high, 1e-6)) + 6))
                                          : low + share * (high - low);
                if (n == 0 && range->low_open) x = low + 1e-9 * std::max(1.0, std::abs(low));
                if (n == 1 && range->high_open) x = high - 1e-9 * std::max(1.0, std::abs(high));
                if (whole) x = std::round(x);
                check({"read", name, "--around", "u", "--set", fmt::format("{}={}", key.path, x)}, tally,
                      std::string(key.path));
            }
        }
    report(what, tally);
}

}  // namespace

TEST_CASE("a random sample of sites, faults and acts through read, sheet and analyse", "[sample]") {
    verbs({std::mt19937{20281}, 0.0008}, "a sample of the verbs");
}

TEST_CASE("a random sample of the keys' values", "[sample]") {
    keys({std::mt19937{20282}, 0.002}, "a sample of the keys");
}

TEST_CASE("every verb returns", "[.soak]") { verbs({std::mt19937{4712}, soak_share()}, "verbs"); }

TEST_CASE("every key's value is answered or refused", "[.soak]") { keys({std::mt19937{4713}, soak_share()}, "keys"); }
