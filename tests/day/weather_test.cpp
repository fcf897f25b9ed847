// Weather: files, gaps, clear sky, and what reaches an array.
#include "day/weather.hpp"

#include <algorithm>
#include <cmath>

#include "catch_shim.hpp"
#include "files/input.hpp"
#include "site/keys.hpp"

using namespace sunshaft;
using day::parse_weather;
using test::approx;

namespace {

Scenario at(double latitude, double longitude, double elevation) {
    Scenario s;
    s.site.latitude_deg = latitude, s.site.longitude_deg = longitude, s.site.elevation_m = elevation;
    return s;
}
std::string refused(const std::string& csv) {
    try {
        parse_weather(csv, "w.csv", Scenario());
    } catch (const site::BadInput& e) {
        return e.what();
    }
    return "";
}

}  // namespace

TEST_CASE("dates count as the calendar does") {
    REQUIRE(day::seconds_of({1970, 1, 1}) == 0.0);
    REQUIRE(day::seconds_of({2000, 3, 1}) == 951868800.0);  // the POSIX clock's own count
    for (const day::Date d : {day::Date{1999, 12, 31}, {2000, 2, 29}, {2024, 2, 29}, {2026, 3, 1}, {2100, 2, 28}})
        REQUIRE(day::date_of(day::seconds_of(d) + 3600) == d);
    REQUIRE(day::parse_date("2026-06-21") == day::Date{2026, 6, 21});
    for (const char* bad : {"2026-13-01", "2026-02-30", "21.6.2026", "2026-6-1", ""})
        REQUIRE_THROWS_AS(day::parse_date(bad), std::invalid_argument);
}

TEST_CASE("a measured day is read, its gaps counted and not filled") {
    // NOAA SURFRAD network, station near Alamosa, 1 January 2016, minute means; the file's own names for its columns.
    const std::string file = std::string(SUNSHAFT_TEST_DATA) + "/measured_minute_day.csv";
    const day::Weather w = day::read_weather(file, at(37.70, -105.92, 2317));
    REQUIRE(w.rows.size() == 1440);
    REQUIRE(w.rows.front().end - w.rows.front().begin == approx(60));
    REQUIRE(w.notes.size() == 2);  // zenith and pressure are not asked for
    // Its sum over the day against a plain sum of the column.
    double ghi = 0.0;
    for (const day::Sky& s : w.rows)
        if (!std::isnan(s.ghi)) ghi += s.ghi * 60 / 3.6e6;
    REQUIRE(ghi == approx(2.9).margin(0.5));
    // Take out an hour: it stays out.
    std::string text = files::read_whole(file, 1 << 20), cut;
    std::size_t rows = 0;
    for (std::size_t from = 0, to; (to = text.find('\n', from)) != std::string::npos; from = to + 1) {
        const std::string line = text.substr(from, to - from + 1);
        if (line.rfind("2016-01-01T18:", 0) == 0 && ++rows) continue;
        cut += line;
    }
    REQUIRE(rows == 60);
    const day::Weather holed = parse_weather(cut, "cut.csv", at(37.70, -105.92, 2317));
    REQUIRE(holed.gap_s == approx(w.gap_s + 3600));
    REQUIRE(holed.gaps == w.gaps + 1);
    const auto moments = day::moments(holed, day::Array(at(37.70, -105.92, 2317)), 60);
    double gap = 0.0;
    for (const day::Moment& m : moments) gap += m.gap ? m.seconds() : 0.0;
    REQUIRE(gap == approx(holed.gap_s));
}

TEST_CASE("the plane of a horizontal array is the measured global light") {
    // Three instruments of that station close: beam times cosine and sky are what lies flat.
    const Scenario flat = [] {
        Scenario s = at(37.70, -105.92, 2317);
        s.array.tilt_deg = 0;
        return s;
    }();
    const day::Array array(flat);
    double plane = 0.0, ghi = 0.0;
    for (const day::Sky& s :
         day::read_weather(std::string(SUNSHAFT_TEST_DATA) + "/measured_minute_day.csv", flat).rows) {
        if (s.gap() || !(s.ghi > 50)) continue;
        const day::Moment m = array.moment(s);
        REQUIRE(m.cells <= m.plane);
        plane += m.plane, ghi += s.ghi;
    }
    REQUIRE(plane == approx(ghi).epsilon(0.03));
}

TEST_CASE("a typical year of hours") {
    // NREL TMY3, station 723170: 8760 rows without a year.
    Scenario s = at(36.10, -79.95, 273);
    s.site.utc_offset_h = -5;
    const day::Weather w = day::read_weather(std::string(SUNSHAFT_TEST_DATA) + "/typical_year.csv", s);
    REQUIRE(w.rows.size() == 8760);
    REQUIRE(w.gap_s == 0.0);
    // Its light is centred about noon by the sun, 20 minutes after noon by the clock there: labels are not hours off.
    const day::Array array(s);
    double light = 0.0, weighed = 0.0;
    for (const day::Sky& sky : w.rows) {
        const double hour = std::fmod(0.5 * (sky.begin + sky.end) - 5 * 3600.0, 86400.0) / 3600;
        const double plane = array.moment(sky).plane;
        light += plane, weighed += plane * hour;
    }
    REQUIRE(weighed / light == approx(12.33).margin(0.25));
}

TEST_CASE("light on the ground alone is split") {
    // D. G. Erbs and others (1982), their correlation at a clearness of a half: 0.6596 from the sky.
    Scenario s = at(0, 0, 0);
    s.array.tilt_deg = 0;
    const std::string csv = "time_utc,ghi_W_m2\n2024-03-20T11:30Z,600\n2024-03-20T12:00Z,680\n2024-03-20T12:30Z,600\n";
    const day::Weather w = parse_weather(csv, "w.csv", s);
    REQUIRE(w.notes.back().find("Erbs") != std::string::npos);
    const day::Moment m = day::Array(s).moment(w.rows[1]);
    REQUIRE(m.plane == approx(680).epsilon(1e-6));  // split and put together again
}

TEST_CASE("a clock of the site is one that nobody changes, and what is wrong with a time is quoted whole") {
    Scenario s = at(46, 15, 300);
    const auto read = [&](const std::string& rows) {
        return parse_weather("time_local,ghi_W_m2\n" + rows, "w.csv", s);
    };
    const day::Weather w = read("2026-03-29T01:00,0\n2026-03-29T03:00,0\n2026-03-29T04:00,0\n2026-03-29T05:00,5\n");
    CHECK(w.notes.front() == "time_local is read as UTC+1 h all the year, without summer time");
    CHECK(w.gap_s == 3600);
    const auto said = [&](const std::string& rows) {
        try {
            read(rows);
        } catch (const site::BadInput& e) {
            return std::string(e.what());
        }
        return std::string();
    };
    CHECK(said("2026-10-25T02:00,0\n2026-10-25T02:00,0\n").find("clocks were put back") != std::string::npos);
    CHECK(said("2026-10-25T02:00Z,0\n2026-10-25T03:00Z,0\n").find("is 2026-10-25T02:00Z,") != std::string::npos);
}

TEST_CASE("a cloudless day follows the sun of the site") {
    const Scenario s = at(34, 0, 0);
    const day::Weather w = day::clear_sky(s, {2026, 6, 21}, 1, 60);
    REQUIRE(w.rows.size() == 1440);
    double sum = 0.0;
    for (const day::Sky& sky : w.rows) sum += sky.ghi * 60 / 3.6e6;
    // Clear days at 34 degrees in June bring some 8 kWh/m2 (from memory).
    REQUIRE(sum == approx(8.2).epsilon(0.08));
    // Facing east it has its sun in the morning; a hill there takes it away.
    Scenario east = s;
    east.array.azimuth_deg = 90, east.array.tilt_deg = 40;
    Scenario hill = east;
    hill.array.horizon = "60:30 120:30 200:0 350:0";
    double morning = 0.0, evening = 0.0, behind = 0.0;
    for (const day::Sky& sky : w.rows) {
        const double hour = std::fmod(sky.begin, 86400.0) / 3600;
        (hour < 12 ? morning : evening) += day::Array(east).moment(sky).plane;
        if (hour < 12) behind += day::Array(hill).moment(sky).plane;
    }
    REQUIRE(morning > 1.3 * evening);
    REQUIRE(behind < 0.9 * morning);
    hill.array.horizon = "hills";
    REQUIRE_THROWS_AS(day::Array(hill), site::BadInput);
}

TEST_CASE("a site says how the sky's light falls into its plane") {
    Scenario s = at(34, 0, 0);
    s.array.tilt_deg = 20, s.array.azimuth_deg = 180;
    const day::Weather w = day::clear_sky(s, {2026, 6, 21}, 1, 60);
    const day::Sky& noon = w.rows[720];
    const double jd = 0.5 * (noon.begin + noon.end) / 86400 + 2440587.5;
    const solar::SunPosition sun = solar::sun_position(jd, 34, 0, {101325, s.sun.air_temperature_degC});
    const double outside = solar::extraterrestrial_normal(solar::day_of_year(2026, 6, 21));
    const solar::Irradiance light{noon.dni, noon.dhi, noon.ghi};
    const auto plane = [&](const char* model) {
        site::set_key(s, std::string("array.transposition=") + model);
        return day::Array(s).moment(noon).plane;
    };
    const solar::Plane tilted{20, 180};
    CHECK(plane("isotropic") == approx(solar::plane_of_array(light, sun, tilted).total()).epsilon(1e-6));
    CHECK(plane("hay-davies") == approx(solar::hay_davies(light, sun, outside, tilted).total()).epsilon(1e-6));
    CHECK(plane("perez") == approx(solar::perez(light, sun, outside, tilted).total()).epsilon(1e-6));
    // The sun high and in front: what counts round it as beam gives more than what comes from all over.
    CHECK(plane("hay-davies") > plane("isotropic") + 1.0);
    CHECK(std::abs(plane("perez") - plane("hay-davies")) > 0.5);
    CHECK(day::Array(at(34, 0, 0)).moment(noon).plane > 0.0);
    CHECK_THROWS_AS(site::set_key(s, "array.transposition=flat"), site::BadInput);
}

TEST_CASE("wind cools modules") {
    // With 1 m/s the module's own NOCT; Faiman's law (2008) for more.
    Scenario s = at(0, 0, 0);
    s.array.module_noct_degC = 45;
    day::Sky sky;
    sky.begin = day::seconds_of({2024, 3, 20}) + 43200, sky.end = sky.begin + 60;
    sky.poa = 800, sky.air = 20, sky.wind = 1;
    REQUIRE(day::Array(s).moment(sky).cell_degC == approx(45).margin(1e-9));
    sky.wind = 6;
    REQUIRE(day::Array(s).moment(sky).cell_degC == approx(20 + 25 * (25 + 6.84) / (25 + 6.84 * 6)).margin(1e-9));
    sky.wind = day::missing;
    REQUIRE(day::Array(s).moment(sky).cell_degC == approx(45).margin(1e-9));
}

TEST_CASE("what is wrong with a weather file is one line with its place") {
    REQUIRE(refused("") == "w.csv:1: header: no line of column names");
    REQUIRE(refused("ghi_W_m2\n1\n2\n").rfind("w.csv:1: header: is ghi_W_m2, expected one of time_utc", 0) == 0);
    REQUIRE(refused("time_utc,air_degC\n").rfind("w.csv:1: header: is time_utc air_degC, no light", 0) == 0);
    REQUIRE(refused("time_utc,poa_W_m2\n2024-01-01T00:00Z,5000\n").find("w.csv:2: poa_W_m2: is 5000") == 0);
    REQUIRE(refused("time_utc,poa_W_m2\n2024-01-01T00:00,5\n").find("expected a time as 2016-01-01T13:05Z") !=
            std::string::npos);
    REQUIRE(refused("time_utc,poa_W_m2\n2024-01-01T01:00Z,5\n2024-01-01T00:00Z,5\n").find("w.csv:3: time: not after") ==
            0);
    REQUIRE(refused("time_utc,poa_W_m2\n2024-01-01T01:00Z,nan\n2024-01-01T02:00Z,5\n").find("poa_W_m2: is nan") !=
            std::string::npos);
    REQUIRE(refused("time_utc,poa_W_m2\n2024-01-01T01:00Z,5\n").find("expected at least two") != std::string::npos);
    REQUIRE(refused("time_utc,time_utc,poa_W_m2\n").find("twice") != std::string::npos);
    // What was found is named, not only what was expected.
    REQUIRE(refused("time_utc;ghi_W_m2\n1;2\n").find("is time_utc;ghi_W_m2, expected commas") != std::string::npos);
    REQUIRE(refused("when,ghi_W_m2\n1,2\n").find("is when ghi_W_m2, expected one of") != std::string::npos);
    REQUIRE(refused("time_utc,poa_W_m2\n2024-01-01T01:00Z,\n2024-01-01T02:00Z,\n").find("light: no row has any") !=
            std::string::npos);
}

TEST_CASE("a byte-order mark and quotes are what spreadsheets write, and read") {
    const day::Weather w = parse_weather(
        "\xEF\xBB\xBF\"time_utc\",\"poa_W_m2\"\n\"2024-06-01T12:00Z\",\"500\"\n\"2024-06-01T13:00Z\",600\n", "w.csv",
        at(34, 0, 300));
    REQUIRE(w.rows.size() == 2);
    REQUIRE(w.rows.back().poa == 600);
}

TEST_CASE("weather of another place or clock is doubted, that of the place is not") {
    const std::string day_file = std::string(SUNSHAFT_TEST_DATA) + "/measured_minute_day.csv",
                      year_file = std::string(SUNSHAFT_TEST_DATA) + "/typical_year.csv";
    const auto doubted = [](const day::Weather& w, const char* words) {
        return std::any_of(w.notes.begin(), w.notes.end(),
                           [&](const std::string& n) { return n.find(words) != std::string::npos; });
    };
    const char *night = "while the sun is down here", *dark = "next to no light while the sun is up";
    const day::Weather here = day::read_weather(day_file, at(37.70, -105.92, 2317)),
                       elsewhere = day::read_weather(day_file, at(34, 0, 300));
    CHECK_FALSE(doubted(here, night));
    CHECK_FALSE(doubted(here, dark));
    CHECK(doubted(elsewhere, night));
    Scenario greensboro = at(36.10, -79.95, 273);
    greensboro.site.utc_offset_h = -5;
    const day::Weather year = day::read_weather(year_file, greensboro);
    CHECK_FALSE(doubted(year, night));
    CHECK_FALSE(doubted(year, dark));
    // The same hours taken for those of a clock half a day off.
    greensboro.site.utc_offset_h = 7;
    const day::Weather off = day::read_weather(year_file, greensboro);
    CHECK(doubted(off, night));
    CHECK(doubted(off, dark));
    // A sensor under its cap: three days of nothing.
    std::string capped = "time_utc,ghi_W_m2\n";
    for (int hour = 1; hour <= 72; ++hour)
        capped += "2024-06-0" + std::to_string(1 + hour / 24) + "T" + (hour % 24 < 10 ? "0" : "") +
                  std::to_string(hour % 24) + ":00Z,1\n";
    CHECK(doubted(parse_weather(capped, "w.csv", at(34, 0, 300)), dark));
}
