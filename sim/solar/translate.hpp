// De Soto's translation on bare parameters: what translate() and the data-sheet fit share. Inside the room
// only.
#pragma once

#include "solar/single_diode.hpp"

namespace sunshaft::solar {

// W/m2 >= 0 and degC > -273.15, unchecked.
SingleDiode translate_desoto(const SingleDiode& stc, double alpha_sc, double irradiance, double cell_degC);

}  // namespace sunshaft::solar
