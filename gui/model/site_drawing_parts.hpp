// The steps of draw_site(), each in its own file. Only for the site_drawing*.cpp files.
#pragma once

#include "model/site_drawing.hpp"

namespace sunshaft::view::drawing {

// What the steps share: the site, the box and the main lines of the picture.
struct Frame {
    const site::Site& site;
    Box box;
    double unit = 1.0;      // size of symbols, 1 at 976 x 584
    double ground = 0.0;    // y
    double left_end = 0.0;  // right of hill and tank: x from where the array may stand
    bool well = false, mains = false, bench = false;
    double pole_plus_y = 0.0, pole_minus_y = 0.0;  // of the DC run
};

Frame frame_of(const site::Site& site, const Box& box);

void place_drive(const Frame& f, SiteDrawing& d);
void place_array(const Frame& f, SiteDrawing& d);   // after the drive
void place_supply(const Frame& f, SiteDrawing& d);  // instead of an array
void place_sun(const Frame& f, SiteDrawing& d);
void place_ground(const Frame& f, const MovingPart& moving, SiteDrawing& d);  // hill, tank, bore, rising main
void place_bench_motor(const Frame& f, SiteDrawing& d);
void place_sheets(const Frame& f, SheetChoice choice, SiteDrawing& d);
void run_cable(const Frame& f, SiteDrawing& d);  // drive to motor, after bore and sheets
void place_points(const Frame& f, SiteDrawing& d);

}  // namespace sunshaft::view::drawing
