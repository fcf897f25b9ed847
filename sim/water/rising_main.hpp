// Rising main: static head, friction in every regime, minor losses, and the inertia of the water in it.
#pragma once

#include <vector>

namespace sunshaft::water {

// Darcy friction factor: 64/Re below 2300, Colebrook-White (constants 3.7 and 2.51; C. F. Colebrook, J. Inst. Civil
// Eng. 11 (1939) 133) above 4000, a smooth cubic blend between. relative_roughness = e/D. Re = 0 gives inf.
double friction_factor(double reynolds, double relative_roughness);

struct RisingMain {
    double length, diameter, roughness;  // m
    double minor_loss;                   // sum of K, wellhead valve included
    double density, kinematic_viscosity; // kg/m3, m2/s
    double area() const;
    // Friction and minor losses in m of water, sign of flow.
    double loss(double flow) const;
    // rho L / A in Pa s2/m3: the inertia against a change of flow.
    double inertance() const;
};

// The loss curve tabulated for the solver: odd in flow, monotone, C1; between nodes cubic Hermite, beyond the last
// node quadratic. Relative error against RisingMain::loss below 1e-5 from 1 % of max_flow up (tested).
class LossTable {
  public:
    LossTable() = default;
    LossTable(const RisingMain& main, double max_flow);
    double operator()(double flow) const;

  private:
    double step_ = 1.0, last_ = 0.0;
    std::vector<double> value_, slope_;
};

// Pure water: density (Kell 1975), dynamic viscosity (IAPWS 2008), vapour pressure (Wagner & Pruss). 0..60 degC.
struct Water { double density, dynamic_viscosity, vapour_pressure; };
Water water_at(double degC);

}  // namespace sunshaft::water
