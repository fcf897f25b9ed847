// Rising main: friction in every regime, minor losses, the inertia of the water in it; and the water itself.
//
//   friction_factor()     every regime; the solver's tables and all curves stand on it
//   RisingMain            a pipe: loss in m of water, inertance
//   LossTable             the same loss as a table, for the innermost loop
//   gate_valve_loss()     K of a valve by its opening
//   swamee_jain(), haaland(), hazen_williams_loss()   the trade's shortcuts, to check against
//   water_at()            density, viscosity, vapour pressure
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace sunshaft::water {

// Darcy friction factor: 64/Re below 2300, Colebrook-White (constants 3.7 and 2.51; C. F. Colebrook, J. Inst.
// Civil Eng. 11 (1939) 133) above 4000, solved to the last digits; between them the cubic in Re with the values
// and slopes of both ends. relative_roughness = e/D, 0..0.1. Re = 0 gives inf. Throws std::invalid_argument.
double friction_factor(double reynolds, double relative_roughness);

// Explicit approximations of Colebrook-White, turbulent flow only.
double swamee_jain(double reynolds,
                   double relative_roughness);  // P. K. Swamee, A. K. Jain, J. Hydraul. Div. ASCE 102 (1976) 657
double haaland(double reynolds, double relative_roughness);  // S. E. Haaland, J. Fluids Eng. 105 (1983) 89
// Loss in m, water at ordinary temperatures only: 10.67 L Q^1.852 / (C^1.852 d^4.8704) (Hazen and Williams in
// SI).
double hazen_williams_loss(double length, double diameter, double coefficient, double flow);

// K of a gate valve: 0.17 open, 0.9 at 3/4, 4.5 at 1/2, 24 at 1/4 (Perry's Chemical Engineers' Handbook, table
// of additional frictional loss for turbulent flow through fittings and valves, by a public copy); logarithmic
// between, and with the square of the opening below 1/4. Closed gives inf. Throws std::invalid_argument outside
// 0..1.
double gate_valve_loss(double opening);

struct RisingMain {
    double length, diameter, roughness;   // m
    double minor_loss;                    // sum of K, wellhead valve included
    double density, kinematic_viscosity;  // kg/m3, m2/s
    double area() const;                  // m2
    double reynolds(double flow) const;   // of the magnitude of the flow
    // Darcy-Weisbach friction and minor losses in m of water, sign of flow.
    double loss(double flow) const;
    // d loss / d flow, s/m2.
    double loss_slope(double flow) const;
    // rho L / A in Pa s2/m3: the inertia against a change of flow.
    double inertance() const;
    bool operator==(const RisingMain&) const = default;
};

// The loss curve tabulated for the solver: odd in flow, monotone, C1. Cubic Hermite between nodes that stand on
// the borders of the regimes (laminar flow takes one piece and is exact), beyond the last node quadratic.
// Relative error against RisingMain::loss below 1e-6 for every flow up to max_flow (Re 8 million). Throws
// std::invalid_argument on a main with no diameter, a closed valve (infinite K) or anything not finite.
class LossTable {
  public:
    LossTable() = default;  // no loss at all
    LossTable(const RisingMain& main, double max_flow);

    double operator()(double flow) const {
        const double q = std::fabs(flow);
        const Zone& zone = zones_[(q >= zones_[1].from ? 1U : 0U) + (q >= zones_[2].from ? 1U : 0U)];
        const double u = (q - zone.from) * zone.per_flow;
        const int i = static_cast<int>(std::min(zone.last, u));
        const Piece& piece = pieces_[zone.first + static_cast<std::size_t>(i)];
        const double t = u - i;
        const double loss = q > last_ ? beyond(q) : piece.c0 + t * (piece.c1 + t * (piece.c2 + t * piece.c3));
        return std::copysign(loss, flow);
    }

  private:
    struct Piece {
        double c0 = 0, c1 = 0, c2 = 0, c3 = 0;
    };  // of t = 0..1
    struct Zone {
        double from = 0, per_flow = 0, last = 0;
        std::size_t first = 0;
    };  // laminar, transition, turbulent
    double beyond(double flow) const { return end_[0] + (flow - last_) * (end_[1] + (flow - last_) * end_[2]); }

    Zone zones_[3];
    double last_ = 0.0, end_[3] = {0, 0, 0};
    std::vector<Piece> pieces_{Piece{}};
};

// Pure water at atmospheric pressure, 0..60 degC; throws std::invalid_argument outside. Density: G. S. Kell, J.
// Chem. Eng. Data 20 (1975) 97. Viscosity: IAPWS SR6-08, Revised Supplementary Release on Properties of Liquid
// Water at 0.1 MPa. Vapour pressure: W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783.
struct Water {
    double density, dynamic_viscosity, vapour_pressure;  // kg/m3, Pa s, Pa
    double kinematic_viscosity() const { return dynamic_viscosity / density; }
};
Water water_at(double degC);

}  // namespace sunshaft::water
