// The single-diode law as these tests need it (the room itself knows nothing of the sun):
//   I = IL - I0 (exp((V + I Rs) / a) - 1) - (V + I Rs) / Rsh
// W. De Soto, S. A. Klein, W. A. Beckman, Solar Energy 80 (2006) 78-88, eq. 1, solved with Lambert's W.
#pragma once

#include <cmath>
#include <memory>

#include "circuit/circuit.hpp"

namespace sunshaft::test {

struct PhotovoltaicLaw final : circuit::CurrentLaw {
    double IL, I0, Rs, Rsh, a;

    PhotovoltaicLaw(double IL_, double I0_, double Rs_, double Rsh_, double a_)
        : IL(IL_), I0(I0_), Rs(Rs_), Rsh(Rsh_), a(a_) {}

    // Branch a is the positive terminal, so the branch current is minus what the module delivers.
    circuit::CurrentAndSlope operator()(double v) const override {
        const double share = Rsh / (Rs + Rsh);
        const double y = std::log(I0 * Rs * share / a) + share * (Rs * (IL + I0) + v) / a;
        double w = y > 1.0 ? y - std::log(y) : 1.0 / (1.0 + std::exp(-y));
        for (int pass = 0; pass < 5 && y > -700.0; ++pass) {  // Fritsch, Shafer, Crowley, CACM 16 (1973) 123
            const double off = y - w - std::log(w), q = 2.0 * (1.0 + w) * (1.0 + w + 2.0 / 3.0 * off);
            const double change = off / (1.0 + w) * (q - off) / (q - 2.0 * off);
            w *= 1.0 + change;
            if (std::fabs(change) < 1e-4) break;
        }
        if (y <= -700.0) w = 0.0;
        const double delivered = share * (IL + I0) - v / (Rs + Rsh) - a / Rs * w;
        return {-delivered, 1.0 / (Rs + Rsh) + share * w / (1.0 + w) / Rs};
    }
};

// The 54-cell module of M. G. Villalva, J. R. Gazoli, E. R. Filho, "Comprehensive approach to modeling and
// simulation of photovoltaic arrays", IEEE Trans. Power Electronics 24(5) 2009 (adjusted-model table, from
// memory), at 25 degC; `part` of its cells in series. Isc 8.21 A, Voc 32.9 V, n 1.3, Rs 0.221 ohm, Rp 415.405
// ohm.
inline std::shared_ptr<PhotovoltaicLaw> module54(double irradiance = 1000.0, double part = 1.0) {
    const double a = 1.3 * 54 * 1.3806503e-23 * 298.15 / 1.60217646e-19;  // the paper's constants
    return std::make_shared<PhotovoltaicLaw>(8.214 * irradiance / 1000.0, 8.21 / std::expm1(32.9 / a), 0.221 * part,
                                             415.405 * part, a * part);
}

// A bypass path as near the ideal clamp at 0.5 V as doubles allow: within 4 uV at 4 A, 5 nA at 0 V.
struct ClampLaw final : circuit::CurrentLaw {
    circuit::CurrentAndSlope operator()(double v) const override {
        constexpr double siemens = 1e6, round = 1e-7;
        const double x = v - 0.5, root = std::hypot(x, round);
        const double sum = x > 0.0 ? x + root : round * round / (root - x);
        return {0.5 * siemens * sum, 0.5 * siemens * sum / root};
    }
};

}  // namespace sunshaft::test
