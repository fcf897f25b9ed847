// The sheet of expected readings of one site under one sky, to print and take along: the field tests in a safe order,
// what each reads on the healthy site, and what another reading means here.
//
//     Sheet sheet = expected(scenario, {}, SheetMeters::usual());   // the figures
//     add_meanings(sheet, scenario, priors);   // what low, high, zero, unequal mean: every fault run
//     std::string pdf = sheet_pdf(sheet);
//
// Rows come from the table of field tests (bench/field_tests.hpp); nothing in them is written by hand but how the test
// is done. A meaning is a fault of the catalogue that was planted on this very site and moved these readings that way.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "bench/field_tests.hpp"
#include "day/skies.hpp"
#include "diagnose/priors.hpp"
#include "report/paper.hpp"

namespace sunshaft::teach {

// The meters the rows are read with: the person's own where it has the mode, else those of whoever owns more.
struct SheetMeters {
    using Spec = std::shared_ptr<const meter::Spec>;
    std::vector<Spec> volts, clamps;  // of the rows that are read with several, in the order of the figures
    Spec own = {};
    static SheetMeters usual();                         // true rms above, averaging below
    static SheetMeters owned(const std::string& name);  // a meter's file or the name of a shipped one
    std::vector<Spec> of(const bench::Observation& what) const;
};

struct Meaning {
    std::string reading;              // "low" "high" "unequal", or what is shown: "OL", "two OL", "0", "minus"
    std::vector<std::string> causes;  // titles of faults, commonest first
};

struct SheetRow {
    int number = 0;
    std::vector<std::string> tests;  // ids of the field tests it stands for
    bench::Station station = bench::Station::dead;
    std::vector<bench::Observation> looks;  // what is read there, with the first of its meters
    std::string where, set;                 // "u-v, v-w, w-u"; "ohms, pump wires off, leads zeroed"
    bool live = false;
    std::vector<std::string> healthy;  // one line a meter, or a gauge: "3.2-4.0 ohm"
    std::vector<std::string> with;     // its meter, line by line
    std::string ratio;                 // "1:1:1"; of the last lines' meters where they differ: "0.81:1"
    std::vector<Meaning> means = {};
    std::vector<std::string> boxes;  // what is written in: "u-v", "s1", "V"
};

struct Sheet {
    std::string name, description, sky;  // "820 W/m2, modules 51 degC"
    std::string meters;                  // which figure is whose
    std::vector<std::string> first;      // cautions for the dead tests
    std::vector<std::string> live;       // cautions for the live ones
    std::vector<SheetRow> rows;
    std::string note;  // where something did not settle
    site::Works works;
};

// The light a sheet is for, as somebody knows it who is not there: by the clock and a name for the sky (day/skies.hpp).
struct SheetLight {
    std::string words;                // "15:00 on 2026-06-21, haze"; empty: the scenario's sun as it is
    std::vector<double> shares{1.0};  // of the scenario's light that it may be at, the likeliest first
    std::string note;                 // what the sky does to the readings
};
// The scenario with that hour's sun, and what its light may be at. Throws site::BadInput.
SheetLight light_at(Scenario& scenario, const day::Date& date, double hour, const std::string& sky);
// The scenario's own figure of the light, worth what its source is (day/skies.hpp).
SheetLight light_by(const std::string& source, const Scenario& scenario);

// The band of a row that is read in light holds what it shows at every one of the light's shares; of one that is read
// while the pump runs, from its start until the well is drawn down. Nobody at the well knows how long it has run.
Sheet expected(const Scenario& scenario, const bench::Edits& edits, const SheetMeters& meters,
               const SheetLight& light = {});

// Plants every fault of the catalogue once and sorts them by what they do to each row; besides a weaker sun and colder
// modules, which are no faults. Some ten seconds of processor time a site. What cannot be computed is left out and
// counted in the sheet's note. progress(fraction) may be empty; once it says false the work stops, and the sheet stays
// as it was.
bool add_meanings(Sheet& sheet, const Scenario& scenario, const diagnose::Priors& priors,
                  const std::function<bool(double)>& progress = {});

// On a paper's present page and those that follow: head, cautions, the drawing where it is wanted, the rows.
void sheet_pages(report::Paper& paper, const Sheet& sheet, bool drawing);
// Its tables and cautions as a part of a web page.
std::string sheet_body(const Sheet& sheet, bool drawing);
std::string drawing_svg(const Sheet& sheet);
extern const char* const sheet_style;  // of a web page that holds them
// One or two pages of A4. placed: what was set where, for who checks it.
std::string sheet_pdf(const Sheet& sheet, std::vector<report::Paper::Placed>* placed = nullptr);
// The same as one web page, the drawing in it.
std::string sheet_html(const Sheet& sheet);
// The drawing alone: the chain from sun to tank with the numbers of the rows at their points; `wide` x `high` points.
void draw_chain(report::Paper& paper, const Sheet& sheet, double x, double y, double wide, double high);

// Signs for print in place of what a terminal takes: en dashes between figures, the ohm sign, superscripts.
std::string printed(std::string words);
std::string in_html(const std::string& words);  // the same in HTML

}  // namespace sunshaft::teach
