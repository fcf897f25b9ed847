// Readings as JSON: the one object of `--json`. SI numbers; what does not exist is null, never 0.
#pragma once

#include <nlohmann/json.hpp>

#include "bench/bench.hpp"

namespace sunshaft::report {

nlohmann::json reading_json(const meter::Reading& reading);
nlohmann::json drive_json(bench::Bench& bench);  // phase, lamps, event log; null on the mains
nlohmann::json gauge_json(const std::string& name, const bench::Bench::Gauge& gauge);

}  // namespace sunshaft::report
