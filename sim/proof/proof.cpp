#include "proof/proof.hpp"

#include <cmath>

namespace sunshaft::proof {

std::vector<Row> rows() {
    std::vector<Row> all;
    for (auto list :
         {sun_rows(), solar_rows(), inverter_rows(), motor_rows(), iron_rows(), cage_rows(), fault_rows(), turn_rows(),
          water_rows(), trade_rows(), field_rows(), meter_rows(), measured_rows(), edge_rows()})
        all.insert(all.end(), list.begin(), list.end());
    return all;
}

Result check(const Row& row) {
    Result r{};
    r.computed = row.compute();
    r.error = (r.computed - row.expected) / std::abs(row.expected);
    r.holds = std::abs(r.error) <= row.tolerance;  // false for NaN
    return r;
}

}  // namespace sunshaft::proof
