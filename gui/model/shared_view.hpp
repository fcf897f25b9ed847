#pragma once
// What panels tell each other about the picture and nobody else: where leads leave the meter, which planted fault is
// looked at. make_panels() makes one and hands it to the panels that want it. Design units in the window.
#include <optional>
#include <string>
#include <vector>

#include "meter/sources.hpp"
#include "model/geometry.hpp"
#include "model/turn.hpp"

namespace sunshaft::view {

struct SharedView {
    // Sockets on the meter's body, written by the meters panel in every frame it is drawn; the cutaway hangs the leads
    // from them. Empty: the meters are not shown, leads come in from the cutaway's right edge.
    struct Jacks {
        Point red, black, clamp;
    };
    std::optional<Jacks> jacks;

    // Where the panels that show one instant of a turn look.
    TurnCursor turn_cursor;

    // What of the drawing the figure comes from that is pointed at in a reading's reasons, of a clamp's reading its
    // jaws; of this frame, for the drawing of the next.
    meter::Part lit = meter::Part::none;
    bool lit_by_clamp = false;

    // An act that somebody means to do: its card asks first.
    struct AskedAct {
        std::string kind, place;
    };
    std::optional<AskedAct> asked;

    // Of the suspects: the test that is looked at, by its place among those proposed; the outcome of it a hand lies on,
    // as what it would leave of each suspect (of this frame); and the part of the site that is asked for, of
    // diagnose::wheres.
    std::size_t chosen_test = 0;
    std::vector<double> would_leave;
    std::optional<std::size_t> asked_where;

    // The planted fault that is looked at: set by a click on its mark or in the drawer.
    struct FaultName {
        std::string kind, place;
        friend bool operator==(const FaultName&, const FaultName&) = default;
    };
    std::optional<FaultName> chosen_fault;
    bool chosen_fault_is_new = false;  // the drawer opens and scrolls to it, then clears this
};

}  // namespace sunshaft::view
