#include "teach/own_meter.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <filesystem>
#include <numbers>

#include "diagnose/typed.hpp"
#include "files/fresh_file.hpp"
#include "files/text.hpp"
#include "report/waves.hpp"
#include "site/keys.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::teach {
namespace {

using std::numbers::pi;

constexpr double highest_Hz = 18e3, noise = 0.01;  // of a reading, beside the rounding: socket, ears of the meter, hand
constexpr double rate_Hz = tone_rate_Hz, seconds = 8.0;
constexpr double loud = 0.2;  // rms, of full scale: leaves room for the peaks of all of them

Tone made(std::string name, double Hz, std::vector<Tone::Harmonic> all) {
    double square = 0.0;
    std::erase_if(all, [&](const auto& h) { return h.order * Hz >= highest_Hz || (h.cosine == 0.0 && h.sine == 0.0); });
    for (const auto& h : all) square += 0.5 * (h.cosine * h.cosine + h.sine * h.sine);
    for (auto& h : all) h.cosine /= std::sqrt(square), h.sine /= std::sqrt(square);
    return {std::move(name), Hz, std::move(all)};
}
template <class Of>
Tone shape(const char* name, double Hz, Of of) {
    std::vector<Tone::Harmonic> all;
    for (int k = 1; k * Hz < highest_Hz; ++k) all.push_back(of(k));
    return made(name, Hz, std::move(all));
}

// First order above the coupling's corner, a Butterworth of some order below the bandwidth's.
struct Corners {
    double coupling, bandwidth;
    int order;
    std::complex<double> at(double Hz) const {
        const std::complex<double> i(0, 1);
        const std::complex<double> high = coupling > 0.0 ? i * Hz / (coupling + i * Hz) : 1.0;
        const std::complex<double> s = i * Hz / bandwidth;
        return high / (order == 1 ? 1.0 + s : 1.0 + std::numbers::sqrt2 * s + s * s);
    }
};

// What a detector shows of a tone of rms 1 behind these corners.
double expected(const Tone& tone, const Corners& corners, meter::Detector detector) {
    if (tone.pure()) return std::abs(corners.at(tone.Hz));
    std::vector<std::pair<int, std::complex<double>>> parts;  // a cos + b sin is the real part of (a - ib) e^ikx
    double square = 0.0;
    for (const auto& h : tone.harmonics) {
        parts.emplace_back(h.order, std::complex<double>(h.cosine, -h.sine) * corners.at(h.order * tone.Hz));
        square += 0.5 * std::norm(parts.back().second);
    }
    if (detector == meter::Detector::rms) return std::sqrt(square);
    constexpr std::size_t points = 2048;
    static const std::vector<std::complex<double>> turn = [] {
        std::vector<std::complex<double>> list;
        for (std::size_t n = 0; n < points; ++n)
            list.push_back(std::polar(1.0, 2.0 * pi * static_cast<double>(n) / points));
        return list;
    }();
    double sum = 0.0;
    for (std::size_t n = 0; n < points; ++n) {
        double y = 0.0;
        for (const auto& [k, c] : parts) {
            const std::complex<double>& e = turn[static_cast<std::size_t>(k) * n % points];
            y += c.real() * e.real() - c.imag() * e.imag();
        }
        sum += std::abs(y);
    }
    return pi / (2.0 * std::numbers::sqrt2) * sum / points;
}

struct Point {
    const Tone* tone;
    double volt, sd;
};

// Best common gain of these readings, and what it leaves.
struct Left {
    double square, gain;
};
Left left_over(const std::vector<Point>& points, const std::vector<double>& expects) {
    double xy = 0.0, xx = 0.0, square = 0.0;
    for (std::size_t n = 0; n < points.size(); ++n) {
        const double w = 1.0 / (points[n].sd * points[n].sd);
        xy += w * expects[n] * points[n].volt;
        xx += w * expects[n] * expects[n];
    }
    const double gain = xx > 0.0 ? xy / xx : 0.0;
    for (std::size_t n = 0; n < points.size(); ++n) {
        const double miss = (points[n].volt - gain * expects[n]) / points[n].sd;
        square += miss * miss;
    }
    return {square, gain};
}

std::string between(const Corner& c, const char* what) {
    const auto Hz = [](double x) { return text::quantity(x, "Hz", 2); };
    if (c.from_below && c.from_above) return text::say("{}: these readings do not tell it.", what);
    if (c.from_below) return text::say("{}: below {}; lower than that these waves cannot reach.", what, Hz(c.high));
    if (c.from_above) return text::say("{}: above {}; higher than that these waves cannot reach.", what, Hz(c.low));
    return text::say("{}: -3 dB at about {} ({} to {}).", what, Hz(c.Hz), Hz(c.low), Hz(c.high));
}

}  // namespace

double Tone::at(double t) const {
    double y = 0.0;
    for (const Harmonic& h : harmonics) {
        const double x = 2.0 * pi * std::fmod(h.order * Hz * t, 1.0);
        y += h.cosine * std::cos(x) + h.sine * std::sin(x);
    }
    return y;
}

const std::vector<Tone>& tones() {
    static const std::vector<Tone> all = [] {
        std::vector<Tone> list;
        for (const double Hz : {5.0, 10.0, 20.0, 50.0, 200.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, 12000.0, 17000.0})
            list.push_back(made(fmt::format("sine-{:.0f}", Hz), Hz, {{1, 0.0, 1.0}}));
        const auto odd = [](int k) { return k % 2 == 1; };
        list.push_back(shape("square", 50.0, [&](int k) { return Tone::Harmonic{k, 0.0, odd(k) ? 1.0 / k : 0.0}; }));
        list.push_back(shape("quasi-square", 50.0, [&](int k) {
            return Tone::Harmonic{k, 0.0, odd(k) && k % 3 != 0 ? std::cos(k * pi / 6.0) / k : 0.0};
        }));
        list.push_back(shape("triangle", 50.0, [&](int k) {
            return Tone::Harmonic{k, odd(k) ? 1.0 / (k * k) : 0.0, 0.0};
        }));
        // Both ways, one after the other: nothing in it that a capacitor would take away.
        list.push_back(shape("pulses", 50.0, [&](int k) {
            return Tone::Harmonic{k, odd(k) ? std::sin(k * pi * 0.08) / k : 0.0, 0.0};
        }));
        // A fundamental and the groups of lines a carrier brings, as large as it.
        list.push_back(made("chopped", 50.0,
                            {{1, 0.0, 1.0},
                             {78, 0.5, 0.0},
                             {82, 0.5, 0.0},
                             {159, 0.0, 0.45},
                             {161, 0.0, 0.45},
                             {238, 0.2, 0.0},
                             {242, 0.2, 0.0}}));
        return list;
    }();
    return all;
}

trace::Trace played(const Tone& tone, double rms, int turns) {
    const auto steps = static_cast<std::size_t>(std::lround(tone.pure() ? 256.0 : 192e3 / tone.Hz));
    trace::Trace wave;
    const double turn = 1.0 / tone.Hz;
    std::vector<double> y(steps);
    for (std::size_t n = 0; n < steps; ++n)
        y[n] = rms * tone.at(turn * static_cast<double>(n) / static_cast<double>(steps));
    double t = 0.0;
    for (std::size_t n = 0; n < steps * static_cast<std::size_t>(turns); ++n) {
        const double next = turn * static_cast<double>(n + 1) / static_cast<double>(steps);
        wave.push_back({t, next, y[n % steps], y[(n + 1) % steps]});
        t = next;
    }
    return wave;
}

// All of them have whole hertz: a second holds whole turns.
std::vector<float> loop(const Tone& tone) {
    std::vector<float> out(static_cast<std::size_t>(rate_Hz));
    // A shape's turn is a whole number of samples: it repeats.
    const std::size_t turn = tone.pure() ? out.size() : static_cast<std::size_t>(std::lround(rate_Hz / tone.Hz));
    for (std::size_t n = 0; n < out.size(); ++n)
        out[n] = n < turn ? static_cast<float>(loud * tone.at(static_cast<double>(n) / rate_Hz)) : out[n - turn];
    return out;
}

void write_tones(const std::string& folder) {
    std::error_code error;
    std::filesystem::create_directories(folder, error);
    if (!std::filesystem::is_directory(folder, error))
        throw std::invalid_argument(
            text::say("{}: cannot be made, expected a folder to write waves to", site::on_one_line(folder, 400)));
    std::string form = "counts, 2000\n";
    for (const Tone& tone : tones()) {
        trace::Recording r;
        r.names = {tone.name};
        r.y0.resize(1);
        const auto frames = static_cast<std::size_t>(rate_Hz * seconds);
        const std::vector<float> once = loop(tone);
        for (std::size_t n = 0; n < frames; ++n) {
            r.t0.push_back(static_cast<double>(n) / rate_Hz);
            r.t1.push_back(static_cast<double>(n + 1) / rate_Hz);
            r.y0[0].push_back(once[n % once.size()]);
        }
        r.y1 = r.y0;
        report::write_wav(folder + "/" + tone.name + ".wav", r, rate_Hz, report::Wav::pcm16);
        form += tone.name + ",\n";
    }
    files::FreshFile file(folder + "/seen.csv");
    file.write(form);
    file.finish();
}

SeenFile parse_seen(std::string_view text, const std::string& file) {
    SeenFile seen;
    std::size_t line = 0;
    const auto wrong = [&](std::size_t column, std::string_view key, const std::string& words) {
        throw site::BadInput(
            fmt::format("{}:{}:{}: {}: {}", site::on_one_line(file, 400), line, column, site::on_one_line(key), words));
    };
    std::vector<std::string_view> names;
    for (const Tone& t : tones()) names.emplace_back(t.name);
    while (!text.empty()) {
        ++line;
        const std::string row = files::plain_text(text.substr(0, text.find('\n')));
        text.remove_prefix(
            std::min(text.size(), text.find('\n') == std::string_view::npos ? text.size() : text.find('\n') + 1));
        if (row.find_first_not_of(" \t\r") == std::string::npos || row[row.find_first_not_of(" \t")] == '#') continue;
        const std::size_t comma = row.find(',');
        if (comma == std::string::npos) wrong(1, row, text::tr("expected a name, a comma and what was shown"));
        const auto trim = [](std::string s) {
            while (!s.empty() && s.back() == ' ') s.pop_back();
            return s.substr(std::min(s.size(), s.find_first_not_of(' ')));
        };
        const std::string name = trim(row.substr(0, comma)), shown = trim(row.substr(comma + 1));
        const std::size_t column = std::min(row.size(), row.find_first_not_of(' ', comma + 1)) + 1;
        const auto typed = diagnose::typed(shown, "V");
        using Kind = diagnose::Typed::Kind;
        if (name == "counts") {
            if (typed.kind != Kind::figure || !(typed.value >= 100.0 && typed.value <= 1e7))
                wrong(column, name, text::tr("expected the largest figure the display shows, such as 1999 or 6000"));
            seen.counts = typed.value;
            continue;
        }
        if (std::find(names.begin(), names.end(), name) == names.end()) {
            const auto near = site::nearest(name, names);
            wrong(1, name,
                  text::say("is no wave, expected counts or a wave's name{}",
                            near ? text::say(" (did you mean {}?)", *near) : ""));
        }
        if (std::any_of(seen.shown.begin(), seen.shown.end(), [&](const Shown& s) { return s.name == name; }))
            wrong(1, name, text::tr("is there twice, expected one reading a wave"));
        if (typed.kind == Kind::nothing || typed.kind == Kind::over) {
            seen.left_out.push_back(name);
            continue;
        }
        if (typed.kind != Kind::figure || typed.unit != "V" || typed.value < 0.0)
            wrong(column, name, text::say("{}, expected volts such as 0.213 or 213 mV", typed.read_back()));
        seen.shown.push_back({name, typed.value, std::max(typed.high - typed.low, 1e-6)});
    }
    if (seen.shown.empty()) {
        line = std::max<std::size_t>(line, 1);
        wrong(1, "seen", text::tr("no wave has a figure, expected what the display showed for some of them"));
    }
    return seen;
}

namespace {

// The readings as points: sines tell the corners, shapes the detector.
struct Points {
    std::vector<Point> sines, shapes;
    double digits = 0.0;  // of its largest figure
};
Points points_of(const SeenFile& seen) {
    Points p;
    double most = 0.0;
    for (const Shown& s : seen.shown) {
        const auto tone = std::find_if(tones().begin(), tones().end(), [&](const Tone& t) { return t.name == s.name; });
        const double sd = std::hypot(noise * s.volt, s.step / std::sqrt(12.0));
        (tone->pure() ? p.sines : p.shapes).push_back({&*tone, s.volt, std::max(sd, 1e-9)});
        if (s.volt > most) most = s.volt, p.digits = s.volt / s.step;
    }
    return p;
}

// Corners from the sines, over a grid; what fits within four of the best fits nearly as well.
constexpr int steps = 240;
struct Along {  // one side of the grid, from the lowest to the highest corner
    double low, high;
    double at(int n) const { return low * std::pow(high / low, n / static_cast<double>(steps)); }
};
constexpr Along couplings{0.3, 60.0}, bandwidths{60.0, 200e3};
struct Search {
    Corners found{couplings.low, bandwidths.high, 1};
    double best = 1e300;
    // By each corner: the best of all of the other one.
    std::vector<double> by_coupling = std::vector<double>(steps + 1, 1e300);
    std::vector<double> by_bandwidth = std::vector<double>(steps + 1, 1e300);

    explicit Search(const std::vector<Point>& sines) {
        // What each corner alone leaves of each sine: both together are their product.
        using Table = std::vector<std::vector<double>>;
        const auto table = [&](const auto& corners_of) {
            Table t(steps + 1);
            for (int n = 0; n <= steps; ++n)
                for (const Point& p : sines)
                    t[static_cast<std::size_t>(n)].push_back(std::abs(corners_of(n).at(p.tone->Hz)));
            return t;
        };
        constexpr double none_Hz = 1e12;
        const Table highs = table([&](int n) { return Corners{couplings.at(n), none_Hz, 1}; });
        std::vector<double> expects_here(sines.size());
        for (const int order : {1, 2}) {
            const Table lows = table([&](int n) { return Corners{0.0, bandwidths.at(n), order}; });
            for (std::size_t c = 0; c <= steps; ++c)
                for (std::size_t b = 0; b <= steps; ++b) {
                    for (std::size_t n = 0; n < sines.size(); ++n) expects_here[n] = highs[c][n] * lows[b][n];
                    const double square = left_over(sines, expects_here).square;
                    by_coupling[c] = std::min(by_coupling[c], square);
                    by_bandwidth[b] = std::min(by_bandwidth[b], square);
                    if (square < best)
                        best = square,
                        found = {couplings.at(static_cast<int>(c)), bandwidths.at(static_cast<int>(b)), order};
                }
        }
    }

    Corner coupling() const { return corner(by_coupling, couplings, found.coupling); }
    Corner bandwidth() const { return corner(by_bandwidth, bandwidths, found.bandwidth); }

  private:
    Corner corner(const std::vector<double>& squares, const Along& side, double value) const {
        const double low = side.low, high = side.high;
        Corner k{value, high, low, false, false};
        for (int n = 0; n <= steps; ++n) {
            if (squares[static_cast<std::size_t>(n)] > best + 4.0) continue;
            // A step of the grid is no more certain than half of it.
            k.low = std::min(k.low, side.at(n) / std::pow(high / low, 0.5 / steps));
            k.high = std::max(k.high, side.at(n) * std::pow(high / low, 0.5 / steps));
        }
        k.from_below = k.low <= low * 1.0001;
        k.from_above = k.high >= high * 0.9999;
        return k;
    }
};

// The detector from the shapes, beside the sines that give the gain.
constexpr std::array detectors{meter::Detector::average, meter::Detector::rms};
void find_detector(const std::vector<Point>& all, const Corners& found, OwnMeter& own) {
    std::array<std::vector<double>, 2> expects;
    std::array<Left, 2> fits{};
    for (std::size_t k = 0; k < 2; ++k) {
        for (const Point& p : all) expects[k].push_back(expected(*p.tone, found, detectors[k]));
        fits[k] = left_over(all, expects[k]);
    }
    constexpr double sure = 9.0;  // three times the noise
    const std::size_t winner = fits[0].square < fits[1].square ? 0 : 1;
    if (std::abs(fits[0].square - fits[1].square) >= sure) own.detector = detectors[winner];
    for (std::size_t n = 0; n < all.size(); ++n) {
        const double should = fits[winner].gain * expects[winner][n];
        if (should > 5.0 * all[n].sd) own.worst = std::max(own.worst, std::abs(all[n].volt / should - 1.0));
    }
}

// The wave that would part the two detectors most, of those that were not read.
const Tone* would_tell(const std::vector<Point>& all, const Corners& found) {
    double apart = 0.0;
    const Tone* more = nullptr;
    for (const Tone& t : tones()) {
        if (std::any_of(all.begin(), all.end(), [&](const Point& p) { return p.tone == &t; })) continue;
        const double a = expected(t, found, detectors[0]), b = expected(t, found, detectors[1]);
        if (const double d = std::abs(a - b) / std::max(a, b); d > apart) apart = d, more = &t;
    }
    return more;
}

OwnMeter fit_of(const SeenFile& seen) {
    OwnMeter own;
    own.counts = seen.counts;
    const Points points = points_of(seen);
    constexpr double enough = 40.0;  // digits of its largest figure
    if (points.digits < enough || points.sines.size() < 4) {
        own.says.push_back(
            points.digits < enough
                ? text::tr("The display shows too few digits at these volts: this meter is not reachable this "
                           "way. Take its lowest AC range.")
                : text::tr("Fewer than four sines were read: its corners cannot be found. Play more of them."));
        return own;
    }
    own.reachable = true;
    const Search search(points.sines);
    own.coupling = search.coupling();
    own.bandwidth = search.bandwidth();
    own.order = search.found.order;
    std::vector<Point> all = points.sines;
    all.insert(all.end(), points.shapes.begin(), points.shapes.end());
    find_detector(all, search.found, own);
    own.says.push_back(!own.detector ? text::tr("Averaging or true rms: these readings do not tell.")
                       : *own.detector == meter::Detector::average ? text::tr("Averaging, calibrated on a sine.")
                                                                   : text::tr("True rms."));
    own.says.push_back(between(own.bandwidth, text::tr("Bandwidth of meter and socket")));
    own.says.push_back(between(own.coupling, text::tr("AC coupling of meter and socket")));
    own.says.push_back(text::say("The readings lie within {} of this.", text::percent(own.worst)));
    if (const Tone* more = own.detector ? nullptr : would_tell(all, search.found))
        own.says.push_back(text::say("The wave {} would tell most.", more->name));
    own.says.push_back(text::tr(
        "Not reachable this way: accuracy in volts, crest limit, loading, other positions. These stand in its data "
        "sheet."));
    return own;
}

// A reading so far off that the others fit well without it: mistyped, or of another range. None: they agree, or no
// single one is to blame.
std::optional<std::size_t> misread(const SeenFile& seen, double worst) {
    constexpr double far = 0.3, near = 0.1;  // an hour's reading errors stay well below (common practice, no source)
    if (worst < far) return std::nullopt;
    std::optional<std::size_t> found;
    double least = near;
    for (std::size_t n = 0; n < seen.shown.size(); ++n) {
        SeenFile rest = seen;
        rest.shown.erase(rest.shown.begin() + static_cast<std::ptrdiff_t>(n));
        if (const OwnMeter own = fit_of(rest); own.reachable && own.worst < least) least = own.worst, found = n;
    }
    return found;
}

}  // namespace

OwnMeter fitted(const SeenFile& seen) {
    const OwnMeter own = fit_of(seen);
    const auto off = own.reachable ? misread(seen, own.worst) : std::nullopt;
    if (!off) return own;
    const Shown& s = seen.shown[*off];
    OwnMeter none;
    none.counts = seen.counts;
    none.says = {text::say("{}, read as {}, does not fit the other readings.", s.name, text::quantity(s.volt, "V", 4)),
                 text::tr("Play it again, read it again, and look at volts or millivolts.")};
    return none;
}

std::string OwnMeter::toml() const {
    std::string ranges;
    double full = counts;
    while (full > 2.5) full /= 10.0;
    for (; full < 900.0; full *= 10.0) ranges += (ranges.empty() ? "" : ", ") + text::plain(full);
    const auto corner = [](const Corner& c, bool low) {
        return low ? (c.from_below ? 0.0 : c.Hz) : (c.from_above ? 0.0 : c.Hz);
    };
    const auto digits = [](double x) { return text::plain(x == 0.0 ? 0.0 : std::round(x * 100.0) / 100.0); };
    return fmt::format(
        "name = \"my own meter\"\n"
        "description = \"Found with waves from a headphone socket. Resistance and accuracy as usual, to be taken from "
        "its data sheet.\"\ncounts = {0}\n\n[dcv]\nresistance_ohm = 10e6\nranges_V = [{1}, 1000]\naccuracy = {{ "
        "percent = "
        "1, "
        "counts = 3 }}\n\n[acv]\ndetector = \"{2}\"\nresistance_ohm = 10e6\ncoupling_Hz = {3}\nbandwidth_Hz = {4}\n"
        "bandwidth_order = {5}\nranges_V = [{1}, 1000]\naccuracy = {{ percent = {6}, counts = 5 }}\n",
        text::plain(counts), ranges, detector == meter::Detector::average ? "average" : "true-rms",
        digits(corner(coupling, true)), digits(corner(bandwidth, false)), order, digits(std::max(1.0, 100.0 * worst)));
}

}  // namespace sunshaft::teach
