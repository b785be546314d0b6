// A part counted in another frame.
#pragma once

#include "fitwright/model/part.h"

namespace fitwright::recognize {

// X_AB: turns by whole right angles. Names stay.
Part MovedPart(const Part& part_B, const Pose& X_AB);

// A turn whose parts are whole within a millionth, made exact; false where it is none.
bool MakeRightAngled(Pose& pose);

}  // namespace fitwright::recognize
