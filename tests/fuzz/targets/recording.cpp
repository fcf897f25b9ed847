// Any bytes as a recording: CSV, or COMTRADE where a group separator parts configuration and data.
#include <cmath>

#include "demand.hpp"
#include "fuzz/order.hpp"
#include "report/measured.hpp"

using namespace sunshaft;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const std::string_view text(reinterpret_cast<const char*>(data), size);
    const std::size_t parted = text.find('\x1D');
    try {
        const report::Measured m =
            parted == std::string_view::npos
                ? report::parse_csv(text, "r.csv")
                : report::parse_comtrade(text.substr(0, parted), "r.cfg", text.substr(parted + 1), "r.dat");
        const trace::Recording& r = m.recording;
        demand(r.rows() >= 2 && r.names.size() == m.units.size() && r.y0.size() == r.names.size() &&
                   r.y1.size() == r.names.size(),
               "a wave for each name");
        for (std::size_t n = 0; n < r.rows(); ++n)
            demand(r.t0[n] < r.t1[n] && (n == 0 || r.t0[n] >= r.t1[n - 1]) && std::fabs(r.t1[n]) <= 1e12, "time rises");
        for (std::size_t c = 0; c < r.names.size(); ++c) {
            demand(files::is_plain(r.names[c]) && files::is_plain(m.units[c]), "names are plain text");
            demand(r.y0[c].size() == r.rows() && r.y1[c].size() == r.rows(), "a value for each time");
            for (std::size_t n = 0; n < r.rows(); ++n)
                for (const double y : {r.y0[c][n], r.y1[c][n]})
                    demand(std::isnan(y) || std::fabs(y) <= 1e30, "figures one can square");
        }
    } catch (const site::BadInput& wrong) {
        demand(test::one_clean_line(wrong.what()), "a mistake is one clean line");
    }
    return 0;
}
