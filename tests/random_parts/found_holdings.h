// Made-up parts whose plans were once refused by their own proof for how they are held, each with what was
// wrong; some in a shop of their own.
#pragma once

#include <array>

#include "tests/random_parts/found_parts.h"

namespace fitwright::random_parts {

inline constexpr std::array<FoundPart, 4> kFoundHoldings = {{
    // A step that runs out at an end not faced yet takes that end too, and a broken edge is not in the jaws.
    {"broken_edge_in_the_jaws",
     R"(format = "fitwright-part/1"
material = "cast iron"
unit = "mm"

[envelope]
block = { x = [-18, 18], y = [-19.5, 19.5], z = [0, 13] }

[stock]
form = "square"
size = [40, 40, 40]

[[feature]]
name = "step_1"
kind = "step"
from = "+z"
removed = { x = [12.5, 18], y = [-19.5, 19.5], z = [8.5, 13] }

[[feature]]
name = "hole_2"
kind = "hole"
from = "+z"
at = [-2.75, 0]
entry = 13
grid = { rows = 2, columns = 3, pitch = [6, 9], along = "+x" }
diameter = 2.5
through = true

[[feature]]
name = "chamfer_3"
kind = "chamfer"
between = ["bottom", "rear"]
legs = [1, 1]
)"},
    // The bar that breaks the bore's edge runs out below it, into the stub.
    {"edge_broken_above_a_stub",
     R"(format = "fitwright-part/1"
material = "brass"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 25
length = 9
start = -1

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 7
diameter = 24

[[feature]]
name = "hole_1"
kind = "hole"
from = "+z"
diameter = 12
through = true
fit = "H7"

[[feature]]
name = "countersink_2"
kind = "countersink"
on = "hole_1"
diameter = 13.4

[[feature]]
name = "groove_3"
kind = "groove"
inside = false
from = 2
to = 5.5
diameter = 21.2
profile = "vee"
vee_angle = 90

[[feature]]
name = "chamfer_4"
kind = "chamfer"
on = "outside_1"
end = "end"
axial = 0.8
radial = 0.8
)"},
    // Faced in the four-jaw its corners met the cross slide.
    {"corners_over_the_cross_slide",
     R"(format = "fitwright-part/1"
material = "steel"
unit = "mm"

[envelope]
block = { x = [-48, 48], y = [-39, 39], z = [0, 14] }

[[feature]]
name = "bore_1"
kind = "bore"
from = "+z"
at = [6, 0]
entry = 14
diameter = 34
through = true
fit = "H7"
)", true,
     R"(format = "fitwright-shop/1"
name = "short of something"
without = ["boring_head_8", "boring_head_12", "boring_head_16", "boring_head_20"]
)"},
    // A side cut in two setups lost the four-jaw of the one to the vise of the other.
    {"a_side_held_in_two_ways",
     R"(format = "fitwright-part/1"
material = "cast iron"
unit = "mm"

[envelope]
block = { x = [-37, 37], y = [-37, 37], z = [0, 13] }

[[feature]]
name = "bore_1"
kind = "bore"
from = "+z"
at = [4, 0]
entry = 13
diameter = 37
through = true
fit = "H7"

[[feature]]
name = "hole_2"
kind = "hole"
from = "+z"
entry = 13
points = [[29, 29], [-29, -29]]
diameter = 5.5
through = true
)", true,
     R"(format = "fitwright-shop/1"
name = "short of something"
without = ["boring_head_8", "boring_head_12", "boring_head_16", "boring_head_20"]
)"},
}};

}  // namespace fitwright::random_parts
