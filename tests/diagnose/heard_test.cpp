// What people type is understood in every language there is a catalogue of, whichever is spoken.
#include "text/heard.hpp"
#include "bench/senses.hpp"
#include "catch_shim.hpp"
#include "diagnose/case.hpp"
#include "diagnose/facts.hpp"
#include "diagnose/history.hpp"
#include "diagnose/priors.hpp"
#include "diagnose/typed.hpp"
#include "figure.hpp"
#include "text/language.hpp"

using namespace sunshaft;
using diagnose::Told;
using diagnose::told;
using diagnose::Typed;
using diagnose::typed;
using test::approx;
using test::figure;

namespace {

void all_of_it() {
    figure("8,73 A", "A", 8.73, "A");
    figure("no sale agua", "m3/h", 0.0, "m3/s");
    figure("0,2 kiloohmios", "ohm", 200.0, "ohm");
    figure("18 litros por minuto", "m3/h", 18e-3 / 60, "m3/s");
    figure("2,4 metros cúbicos por hora", "m3/h", 2.4 / 3600, "m3/s");
    figure("43 grados", "degC", 43.0, "degC");
    figure("230 voltios", "V", 230.0, "V");
    CHECK(typed("fuera de rango", "ohm").kind == Typed::Kind::over);
    CHECK(typed("no se pudo medir", "V").kind == Typed::Kind::nothing);
    CHECK(typed("unos 230 V", "V").about);
    CHECK(typed("más de 500 Mohm", "Mohm").at_least);
    CHECK(typed("MAS DE 500", "Mohm").at_least);
    CHECK(typed("menos de 5", "V").at_most);
    CHECK(typed("180, bajando", "V").moves == Typed::Moves::falls);
    const Typed swing = typed("salta de 180 a 210 V", "V");
    CHECK(swing.low == approx(180));
    CHECK(swing.high == approx(210));
    CHECK(swing.unit == "V");
    CHECK(typed("entre 7 y 8 A", "A").value == approx(7.5));

    const auto noon = told("se para a mediodía, vuelve a las tres");
    REQUIRE(noon);
    CHECK(noon->what == Told::What::stops_midday);
    CHECK(noon->now == approx(15));
    const auto full = told("tanque lleno a las dos el mes pasado, a las cuatro ahora");
    REQUIRE(full);
    CHECK(full->what == Told::What::full_by);
    CHECK(full->before == approx(14));
    CHECK(full->now == approx(16));
    const auto starts = told("unos veinte arranques al día");
    REQUIRE(starts);
    CHECK(starts->now == approx(20));
    REQUIRE(told("salta, pero solo cuando llueve"));
    CHECK(told("salta, pero solo cuando llueve")->what == Told::What::after_rain);

    const diagnose::Priors priors = diagnose::load_priors(diagnose::shipped_priors());
    using Means = std::vector<std::string>;
    CHECK(priors.means("zumba y no gira") == Means{"stands", "trips"});
    CHECK(priors.means("hums and does not turn") == Means{"stands", "trips"});
    CHECK(priors.means("steady hum at 100 Hz, no pump heard") == Means{"stands", "trips"});
    CHECK(priors.means("zumbido constante, no se oye la bomba") == Means{"stands", "trips"});
    CHECK(priors.means("está en silencio") == Means{"off"});
    CHECK(priors.means("gira, suena normal") == Means{"turns"});
    CHECK(priors.means("sobrecorriente") == Means{"over-current"});
    CHECK(priors.means("tanque lleno") == Means{"tank-hold"});
    CHECK(priors.times("high-resistance-splice", {"empalme nuevo en mayo"}) > 1.0);
    CHECK(priors.times("splice-opens-when-warm", {"después de un rato se para"}) > 1.0);
    // Fragments of one language stand inside words of another: no rats in "un rato", none in "se trata".
    CHECK(priors.times("guard-cable-cut", {"después de un rato se para"}) == approx(1.0));
    CHECK(priors.times("guard-cable-cut", {"se trata de la bomba"}) == approx(1.0));
    CHECK(priors.times("guard-cable-cut", {"rats in the box"}) > 1.0);
    for (const char* said : {"Pumps less than before", "does not pump as much as last year", "not enough water",
                             "no bombea tanto", "da menos agua que el año pasado"}) {
        INFO(said);
        CHECK(priors.times("worn-pump", {said}) > 1.0);
        CHECK(priors.times("drive-dead", {said}) == approx(1.0));
    }

    CHECK(diagnose::Tried{"", "", "sigue igual", ""}.what() == diagnose::Tried::What::no_change);
    CHECK(diagnose::Tried{"", "", "funciona de nuevo", ""}.what() == diagnose::Tried::What::well);
    CHECK(diagnose::Tried{"", "", "volvió a fallar después de una hora", ""}.what() ==
          diagnose::Tried::What::came_back);

    CHECK(bench::sense_told("outlet", "no water") == 0U);
    CHECK(bench::sense_told("outlet", "sin agua") == 0U);
    for (const char* said :
         {"It does not pump", "no bombea", "No water", "no water comes since yesterday", "no sale agua"}) {
        INFO(said);
        const auto sensed = diagnose::sensed_in_passing(said);
        REQUIRE(sensed);
        CHECK(sensed->gauge == "outlet");
        CHECK(sensed->number == 0U);
    }
    CHECK_FALSE(diagnose::sensed_in_passing("no water in the well"));
    CHECK_FALSE(diagnose::sensed_in_passing("does not pump as much as last year"));
    CHECK_FALSE(diagnose::sensed_in_passing("no bombea tanto"));
    CHECK_FALSE(diagnose::sensed_in_passing("stops at noon, no water comes till three"));
    CHECK(bench::sense_told("lamps", "running, supply") == bench::sense_told("lamps", "supply, running"));
    CHECK_FALSE(bench::sense_told("lamps", "supply, supply"));
}

}  // namespace

TEST_CASE("Spanish and English are understood, whichever is spoken") {
    text::speak_english();
    all_of_it();
    text::speak(text::Catalogue::shipped("es"));
    all_of_it();
    text::speak_english();
}

TEST_CASE("accents and capitals do not count") {
    CHECK(text::folded("MÁS Año, ¿Qué?") == "mas ano, \u00bfque?");
    CHECK(text::folded("3 × 2 ÷ 1 \xC3") == "3 × 2 ÷ 1 \xC3");
    CHECK(text::word_in("se para", "para"));
    CHECK_FALSE(text::word_in("separa", "para"));
}
