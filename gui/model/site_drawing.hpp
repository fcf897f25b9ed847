// The section drawing of a site as plain geometry: where every part, conductor and test point stands for a given site,
// size and state. Free of ImGui and SFML. Design units in the window; angles in radians, clockwise on the screen.
//
//   const SiteDrawing d = draw_site(*snapshot.site, box, moving_part(snapshot));
//   for (const Dot& dot : d.dots) ...
//
// Anchors are functions of the box, so the same site redraws narrower or higher. Heights and depths are to one scale
// (`metre`); what is left out of a deep bore is said by `tear`. Pump, motor and widths are symbols, not to scale.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "model/geometry.hpp"
#include "model/snapshot.hpp"
#include "site/site.hpp"

namespace sunshaft::view {

// What of a snapshot moves the drawing.
struct MovingPart {
    double water_level_m = 0.0;  // below ground
    double tank_fill = 0.0;      // 0 .. 1
};
MovingPart moving_part(const Snapshot& snapshot);

enum class Wire { l1, l2, l3, earth, dc_plus, dc_minus };
inline constexpr std::array<Wire, 3> core_wire = {Wire::l1, Wire::l2, Wire::l3};

struct WirePath {
    Wire wire;
    std::vector<Point> points;
};

// A test point. `radius` shrinks where points stand close; a hand always has `reach` (10 or more) to hit it.
struct Dot {
    std::string name, where;
    Point at;
    bool reachable = true;
    double radius = 5.5;
};
inline constexpr double dot_reach = 11.0;

// Where a clamp closes: an ellipse round its conductor or conductors.
struct Ring {
    std::string name, where;
    Point at;
    double rx = 8.0, ry = 8.0;
};

// A part that hands can part or join; `place` is that of the acts.
struct Part {
    enum class Kind { connector, fuse, isolator, wire, array, guard, changeover, breaker } kind;
    std::string place;
    Box box;             // where it is hit
    bool apart = false;  // parted, pulled; of the array: covered; of the change-over: on the second supply
    // Its own among all parts: the second supply's switch and breaker are one place to the acts.
    std::string id() const { return kind == Kind::breaker ? "breaker." + place : place; }
};

struct ModuleDrawing {
    Box box;
    std::array<double, 3> light{1, 1, 1};  // of each sub-string, from the left
    bool reversed = false;
};

// A joint of a string: from `a` to `b`, drawn as a hanging loop or a gap.
struct JointDrawing {
    std::string place;
    Point a, b;
    double droop = 7.0;
    bool open = false;
};

struct StringDrawing {
    std::vector<ModuleDrawing> modules;  // m1 first (at the right, next to the plus end)
    std::vector<JointDrawing> joints;    // joints[k] as in site::String
    Box fuse;
    bool fuse_open = false, covered = false;
    Point label;    // left end of the name's baseline
    Point current;  // right end of the current's baseline
};

// A guard's pair of terminals at the drive; `place` is "dry" or "float".
struct GuardDrawing {
    std::string place;
    std::array<Point, 2> terminal{};
    bool pulled = false, jumper = false;
    bool holds = false;  // its circuit reads as broken: the drive waits
};

// A second supply on the ground and the switch that puts the drive onto it; plus, then minus.
struct ChangeOver {
    Box box, source;
    std::array<Point, 2> from_array{}, from_second{}, to_drive{};
    bool chosen = false;                   // on the second supply
    bool standing = false, mains = false;  // its breaker is open
    double volt_ac = 0.0;                  // line to line
};

struct Tear {
    double top = 0.0, bottom = 0.0;   // y
    double from_m = 0.0, to_m = 0.0;  // depths left out
};

struct Depth {                            // vertical scale
    double ground_y = 0.0, metre = 11.0;  // units per m
    std::optional<Tear> tear;
    double y(double depth_m) const;
};

struct Bore {
    Box box;  // from the ground down
    double rest_y = 0.0, water_y = 0.0;
    bool water_in_tear = false;  // the level stands in the part left out
    Box pump, motor;             // the intake is between them
    double intake_y = 0.0, probe_y = 0.0, splice_y = 0.0;
    std::vector<Point> table;  // water table outside, left to right
    struct Tick {
        double y;
        int metres;
        bool labelled;
    };
    std::vector<Tick> ruler;
    std::array<double, 3> core_x{};
    double earth_x = 0.0;
};

struct Tank {
    Box box;
    double level_y = 0.0;
    Point hinge, ball;  // float
    Point outlet;       // of the pipe
    double terrace_y = 0.0;
};

// What the motor looks like where there is no bore: on its feet on the floor.
struct BenchMotor {
    Box body, fan;
};

struct Sun {
    Point centre;  // of the arc
    double rx = 0.0, ry = 0.0;
    double hours = 12.0;
    Point at;
    Point on_arc(double hours) const;
    // Hours nearest to a point, 5.5 .. 18.5.
    double hours_at(Point p) const;
    // Height above the ends of the arc, 0 .. 1.
    double height(double hours) const;
    // What a hand that puts the sun there asks for on the array: 1000 W/m2 at the top of the arc.
    double asked_W_m2(double at_hours) const { return 1000.0 * height(at_hours); }
};

// Where the sheets beside the bore stand; an empty box is not shown.
struct SheetPlaces {
    Box splice, motor, power;
    bool chooser = false;                 // room for one only: words to choose between them
    std::array<double, 3> row_y{};        // conductors of the splice sheet
    double cable_x = 0.0, motor_x = 0.0;  // their ends there
    double figures_x = 0.0;               // of the splice sheet: its figures stand between here and its right edge
    Point star;                           // test point of the star point on the motor sheet
};
enum class SheetChoice { splice, motor, power };

struct SiteDrawing {
    Box box;
    double left = 0.0;  // x from where it is in sight: more than box.x where the picture keeps its least width
    Depth depth;
    std::vector<Point> surface;  // ground line, left to right
    std::optional<Sun> sun;
    std::vector<StringDrawing> strings;
    Box array;  // modules all together; empty: none
    std::vector<Box> posts;
    bool array_shorted = false;  // by a link across the isolator's terminals
    Box supply;                  // of a bench or mains supply; empty: none
    Box isolator, drive, gland;
    std::array<Point, 2> poles_in{}, poles_out{};  // of the isolator: plus, minus
    std::array<bool, 2> pole_open{};
    std::optional<ChangeOver> change_over;  // between isolator and drive
    Point link_plus, link_minus;
    std::array<Point, 3> terminal{}, lead_end{};
    std::array<bool, 3> pulled{};
    std::vector<GuardDrawing> guards;
    Point earth;  // top of the electrode
    std::optional<Bore> bore;
    std::vector<Point> main;  // centre line of the rising main, upwards
    Point valve;              // on it, at the wellhead
    std::optional<Tank> tank;
    std::optional<BenchMotor> bench_motor;
    SheetPlaces sheets;
    Box keys;  // of the window, which lie on the picture; empty: none
    std::vector<WirePath> wires;
    std::vector<Dot> dots;
    std::vector<Ring> rings;
    std::vector<Part> parts;

    const Dot* dot(const std::string& name) const;
    const Ring* ring(const std::string& name) const;
    const Dot* dot_near(Point p, double reach) const;    // nearest within reach, else null
    const Ring* ring_near(Point p, double reach) const;  // the ellipse counts as a whole
    const Ring* ring_at(Point p, double reach) const;    // its middle alone
    const Part* part_at(Point p) const;                  // smallest box wins
    // Where the mark of a planted fault sits.
    Point fault_anchor(const std::string& kind, const std::string& place) const;
};

SiteDrawing draw_site(const site::Site& site, const Box& box, const MovingPart& moving,
                      SheetChoice choice = SheetChoice::splice);

// Moves labels apart: each at least `pitch` below the one before, within low .. high where there is room, and as near
// to its wish as that allows. Wishes in rising order.
std::vector<double> spread(std::vector<double> wishes, double pitch, double low, double high);

// Replaces each corner by an arc of at most `radius`.
std::vector<Point> rounded(const std::vector<Point>& path, double radius);

// "hh:mm" as hours; 12 when it is not that.
double hours_of(const std::string& time_of_day);
std::string time_of_day(double hours);  // to 5 minutes

}  // namespace sunshaft::view
