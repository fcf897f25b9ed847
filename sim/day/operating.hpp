// The operating point that array, drive, motor, pump and water come to rest at, while well, tank and temperatures stand
// where they are.
//
//   mppt    the link stands at the tracker's target, the setting is what the array's power can turn; at the ceiling, or
//           with all the volts there are, the link rises to where the array gives just that
//   v-f     the ceiling, as long as the array can; else the link stands where its weakness holds the ramp, or
//           collapses, and all begins anew
//   fixed   a test stand: frequency and index as set
//
// Which of them, the voltages they keep by, and whether it runs at all: drive/control.hpp, whose settings and state are
// used as they are.
#pragma once

#include <map>
#include <memory>
#include <optional>
#include <tuple>
#include <vector>

#include "day/array_side.hpp"
#include "day/motor_side.hpp"

namespace sunshaft::day {

struct Operating {
    bool turning = false;   // the output is on
    bool standing = false;  // on, and the shaft does not turn
    bool starved = false;   // the array cannot carry even the slowest it may run at: the link collapses
    double link_V = 0.0, field_Hz = 0.0, amplitude = 0.0;
    double setting = 0.0;            // share of the frequency ceiling, or of full amplitude
    double speed = 0.0, flow = 0.0;  // rad/s of the shaft; m3/s in the main
    double load_Nm = 0.0;
    double dc_W = 0.0;  // into the drive
    double dc_A = 0.0;
    Turn turn{};
};

// What the drive remembers and the day knows.
struct Wanted {
    double start_V = 0.0;   // as its sensor saw the link when it began
    double target_V = 0.0;  // of the tracker, as its sensor sees it
    double most = 1.0;      // of the setting: on its ramp
    bool turns = true;      // the shaft has broken away
};

// One site over all lights and warmths; keeps what it has worked out.
class Averager {
  public:
    Averager(Scenario scenario, std::vector<site::Fault> faults, std::vector<site::Act> acts = {});

    const Scenario& scenario() const { return scenario_; }
    const site::Works& works() const { return works_; }  // as at the start
    // Takes over well, main, guards, wear, and how warm the windings are.
    void follow(const plant::State& s);
    Curve curve(double irradiance, double cell_degC) { return array_.at(irradiance, cell_degC); }
    // Link voltage with the output off: what bleeds and the electronics' draw loads the array.
    double idle_V(const Curve& curve) const;
    // Where the tracker stands in this light, beginning at `from` (V, true).
    double tracked_V(const Curve& curve, double from, double start_V);
    Operating at(const Curve& curve, const Wanted& wanted);
    // Whether the shaft breaks away on the way up to a setting.
    bool breaks_away(const Curve& curve, const Wanted& wanted);
    // What turns it there, at its most or (at_most false) until that frees it, and what holds it.
    struct Start {
        double torque_Nm = 0.0, hold_Nm = 0.0;
    };
    Start start(const Curve& curve, const Wanted& wanted, bool at_most);
    // A site of its own for well, tank, guards and warmth (plant/slow.hpp), without sources.
    std::shared_ptr<site::Site> motor_site() const;
    int pole_pairs() const { return cold().pole_pairs(); }
    bool leads() const { return cold().leads(); }
    bool averaged() const { return cold().averaged(); }
    bool whole_network() const { return array_.whole_network(); }
    // Flow in the main with the shaft held at a speed, rad/s.
    double flow_at(double speed) { return side(0).flowing(speed).flow; }
    // Adds what shaft and water turn over.
    void account(const Operating& o, double dt, plant::Energies& e) { side(0).account(o.speed, o.flow, dt, e); }
    // W that the drive itself takes at a link voltage.
    double own_W(double link_V) const;

  private:
    using Key = std::tuple<int, int>;  // warmth of the windings in steps; what has parted or burnt
    MotorSide& side(int warmer);
    MotorSide& cold() const { return *sides_.begin()->second; }
    Turn turn(double field_Hz, double volts, double slip_Hz);
    double torque(double field_Hz, double volts, double slip_Hz);
    double power(double field_Hz, double volts, double slip_Hz);
    struct Balance {
        bool found = false;
        double volts = 0.0, slip_Hz = 0.0, speed = 0.0, bridge_W = 0.0;
        Flowing water;
    };
    Balance balance(double field_Hz, double most_V);
    bool carry(Balance& b, double field_Hz, double most_V);
    double above_about(double field_Hz) const;
    bool slip(Balance& b, double field_Hz);
    double volts_for(double field_Hz, double link_V) const;
    double reach(double link_V) const;  // volts at full amplitude
    double slowest_Hz() const;
    double shaft_W(double field_Hz);
    double no_faster_Hz(double watt, double most_Hz);
    std::optional<Operating> regulated(double link_V, double watt, double most_Hz);
    std::optional<Operating> unbound(const Curve& curve, double from, double most_Hz);
    std::optional<Operating> look_unbound(const Curve& curve, double from, double most_Hz);
    std::optional<Operating> with_all_volts(const Curve& curve, double from, double most_Hz);
    Operating point(double link_V, double field_Hz, const Balance& b);
    Operating held(const Curve& curve, const Wanted& wanted);  // hold(), kept
    Operating hold(const Curve& curve, const Wanted& wanted);

    Scenario scenario_;
    std::vector<site::Fault> faults_;
    std::vector<site::Act> acts_;
    site::Works works_;
    ArraySide array_;
    double sun_open_V_;
    std::map<Key, std::unique_ptr<MotorSide>> sides_;
    int warmth_ = 0, parted_ = 0;
    double warmer_ = 0.0;  // share of the way to the next node of warmth
    plant::State state_;
    // Where the last search ended: the next begins there.
    double last_slip_ = 0.0, last_regulated_ = 0.0, last_full_ = 0.0, memo_Hz_ = 0.0;
    double last_link_ = 0.0, slip_slope_ = 0.0, regulated_slope_ = 0.0, link_slope_ = 0.0,
           full_slope_ = 0.0;                // and with which slopes
    double least_W_ = 0.0, least_at_ = 0.0;  // what the slowest took, and at which water level that was
    struct Carried {
        double field_Hz, above_V;  // of the link times amplitude, above the EMF
    };
    std::map<double, Carried> above_;  // where a motor that leads carried its load, by the table's nearest frequency
    Balance memo_;
    bool starved_ = false;
    std::array<double, 5> unbound_key_{};  // what unbound_ was asked for since the last follow()
    std::optional<Operating> unbound_;
    std::map<std::tuple<int, int, int, int>, Operating> held_;
    double begun_V();
    const Turn& begun();
    std::map<Key, Turn> begun_;
    bool overcurrent_at_start(double link_V);
    bool falls_through(const Curve& curve, const Operating& o, double start_V) const;
    std::map<std::tuple<int, int, int>, bool> breaks_;
    std::map<std::tuple<int, int>, bool> shorted_;
};

}  // namespace sunshaft::day
