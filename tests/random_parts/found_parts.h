// Made-up parts whose plans were once refused by their own proof, each with what was wrong.
#pragma once

#include <array>
#include <string_view>

namespace fitwright::random_parts {

struct FoundPart {
  std::string_view name;
  std::string_view sheet;
  bool made = true;  // false: refused, and rightly
  std::string_view shop = {};
};

inline constexpr std::array<FoundPart, 14> kFoundParts = {{
    // The jaws of a seated end stand against the shoulder: their length counted it, undercut and all.
    {"grip_against_a_shoulder",
     R"(format = "fitwright-part/1"
material = "cast iron"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 42
length = 49.5
start = -1

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 11
diameter = 35.5
plus_minus = 0.05

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 11
to = 33
diameter = 42
finish = "as_supplied"

[[feature]]
name = "outside_3"
kind = "outer_diameter"
from = 33
to = 47.5
diameter = 31.5

[[feature]]
name = "hole_1"
kind = "hole"
from = "+z"
diameter = 6
through = true
fit = "H7"

[[feature]]
name = "undercut_2"
kind = "undercut"
inside = false
from = 33
to = 34.6
diameter = 29.7

[[feature]]
name = "edge_round_3"
kind = "edge_round"
on = "outside_3"
end = "end"
radius = 1
)"},
    // A stub does not touch where the bore's edge is rounded.
    {"stub_in_a_rounded_bore",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "tube"
outer = 32
inner = 14
length = 25
start = -1

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 23
diameter = 29.5
plus_minus = 0.05

[[feature]]
name = "bore_1"
kind = "bore"
from = "+z"
diameter = 19.5
through = true
fit = "H7"

[[feature]]
name = "edge_round_2"
kind = "edge_round"
on = "bore_1"
end = "start"
radius = 1.3
)"},
    // Facing 43 mm of spare bar off by slices stands too far out: it is sawn.
    {"spare_bar_sawn_off",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 16
length = 67
start = -34

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 16.5
diameter = 7

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 16.5
to = 25
diameter = 13.5
ra = 1.6

[[feature]]
name = "outside_3"
kind = "outer_diameter"
from = 25
to = 32
diameter = 5

[[feature]]
name = "taper_1"
kind = "taper"
inside = false
from = 0
to = 13.5
start_diameter = 6.2
end_diameter = 7
angle_within = 0.2
)"},
    // A jaw does not hold on an end 5 across: 20 mm2.
    {"lying_by_a_small_end",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 18
length = 68.5
start = -35

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 20.5
diameter = 16
plus_minus = 0.05

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 20.5
to = 28.5
diameter = 11

[[feature]]
name = "outside_3"
kind = "outer_diameter"
from = 28.5
to = 32.5
diameter = 5

[[feature]]
name = "hole_1"
kind = "hole"
from = "+x"
at = [0, 10.25]
diameter = 3
through = true

[[feature]]
name = "groove_2"
kind = "groove"
inside = false
from = 23.5
to = 25.5
diameter = 10
profile = "square"

[[feature]]
name = "chamfer_3"
kind = "chamfer"
on = "outside_1"
end = "start"
axial = 0.4
radial = 0.4
)", false},
    // A V-block does not touch where the edge is rounded.
    {"vee_block_beside_an_edge",
     R"(format = "fitwright-part/1"
material = "brass"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "hex"
across = 16
length = 29
start = -1

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 17.5
diameter = 6
fit = "h7"
ra = 1.6

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 17.5
to = 27
diameter = 14.5

[[feature]]
name = "hole_1"
kind = "hole"
from = "+x"
at = [0, 22.25]
diameter = 4
through = true

[[feature]]
name = "edge_round_2"
kind = "edge_round"
on = "outside_1"
end = "start"
radius = 0.8

[[feature]]
name = "edge_round_3"
kind = "edge_round"
on = "outside_2"
end = "end"
radius = 0.5
)"},
    // The pointed tool is wider than the vee that it cuts.
    {"vee_close_to_the_jaws",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 32
length = 24
start = -1

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 22
diameter = 31

[[feature]]
name = "hole_1"
kind = "hole"
from = "-z"
diameter = 10
through = true
fit = "H7"

[[feature]]
name = "groove_2"
kind = "groove"
inside = false
from = 14
to = 16
diameter = 29.8
profile = "vee"
vee_angle = 90

[[feature]]
name = "chamfer_3"
kind = "chamfer"
on = "outside_1"
end = "start"
axial = 1
radial = 1
)"},
    // A groove inside waits for the bore, which is cut from the other end.
    {"inside_groove_before_its_bore",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "hex"
across = 45
length = 39
start = -26

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 4
diameter = 40

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 4
to = 12
diameter = 31
fit = "h7"
ra = 1.6

[[feature]]
name = "bore_1"
kind = "bore"
from = "-z"
diameter = 18.5
through = true
plus_minus = 0.05

[[feature]]
name = "groove_2"
kind = "groove"
inside = true
from = 4
to = 7
diameter = 20.9
profile = "square"

[[feature]]
name = "taper_3"
kind = "taper"
inside = false
from = 0
to = 3
start_diameter = 32.4
end_diameter = 40

[[feature]]
name = "edge_round_4"
kind = "edge_round"
on = "outside_2"
end = "end"
radius = 0.5
)"},
    // Four drills come out where the jaws' steps are, and no packing goes between; what stands above the jaws is
    // a narrow land and a taper, which no indicator goes round.
    {"drills_over_jaw_steps",
     R"(format = "fitwright-part/1"
material = "brass"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "hex"
across = 38
length = 57
start = -33

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 14.5
diameter = 24
plus_minus = 0.05

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 14.5
to = 23
diameter = 34.5
plus_minus = 0.05
ra = 1.6

[[feature]]
name = "taper_1"
kind = "taper"
inside = false
from = 16
to = 23
start_diameter = 34.5
end_diameter = 27.3

[[feature]]
name = "hole_2"
kind = "hole"
from = "-z"
at = [0, 0]
entry = 0
circle = { diameter = 12, count = 4, first = 0, zero = "+x", towards = "+y" }
diameter = 4.2
through = true
)",
     false},
    // The point is as long as the size the drill is taken for.
    {"longer_drill_of_another_size",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "casting"
allowance = 2
skin = 0.5

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 15.5
diameter = 24.5
fit = "h7"

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 15.5
to = 27
diameter = 33
ra = 1.6

[[feature]]
name = "hole_1"
kind = "hole"
from = "-z"
diameter = 10.5
through = true

[[feature]]
name = "edge_round_2"
kind = "edge_round"
on = "hole_1"
end = "start"
radius = 1.1

[[feature]]
name = "hole_3"
kind = "hole"
from = "+x"
at = [0, 21.25]
diameter = 3
through = true
)"},
    // The jaws touched where a cross hole comes out.
    {"jaws_over_a_cross_hole",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 18.5
length = 53
start = -28

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 6.5
diameter = 14

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 6.5
to = 18
diameter = 18.5
finish = "as_supplied"

[[feature]]
name = "outside_3"
kind = "outer_diameter"
from = 18
to = 24
diameter = 9

[[feature]]
name = "hole_1"
kind = "hole"
from = "+x"
at = [0, 3.25]
diameter = 2
through = true

[[feature]]
name = "chamfer_2"
kind = "chamfer"
on = "outside_3"
end = "end"
axial = 0.7
radial = 0.7
)"},
    // The drill before the reamer was as long as the hole, its point not counted.
    {"drill_that_comes_out_below",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 45
length = 56.5
start = -1

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 18.5
diameter = 30.5
fit = "h7"

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 18.5
to = 34
diameter = 40

[[feature]]
name = "outside_3"
kind = "outer_diameter"
from = 34
to = 54.5
diameter = 28

[[feature]]
name = "hole_1"
kind = "hole"
from = "-z"
diameter = 6
through = true
fit = "H7"

[[feature]]
name = "taper_2"
kind = "taper"
inside = false
from = 0
to = 15.5
start_diameter = 25.9
end_diameter = 30.5
angle_within = 0.2

[[feature]]
name = "chamfer_3"
kind = "chamfer"
on = "outside_3"
end = "end"
axial = 0.8
radial = 0.8
)",
     false},
    // A bar that the spindle does not let through stood in it; the steady carries its end.
    {"bar_too_thick_for_the_spindle",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 33.5
length = 445
start = -34

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 410
diameter = 33.5
finish = "as_supplied"

[[feature]]
name = "chamfer_1"
kind = "chamfer"
on = "outside_1"
end = "start"
axial = 0.6
radial = 0.6
)",
     true},
    // Between a groove and a broken edge nothing is left for the jaws.
    {"groove_beside_a_broken_edge",
     R"(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 38
length = 45.5
start = -32

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 12.5
diameter = 36.5

[[feature]]
name = "groove_1"
kind = "groove"
inside = false
from = 7.5
to = 11.5
diameter = 35.5
profile = "square"

[[feature]]
name = "chamfer_2"
kind = "chamfer"
on = "outside_1"
end = "end"
axial = 1
radial = 1
)"},
    // A chamfer tool stands over the end that it works on: the work ends below it.
    {"edge_cut_just_within_reach",
     R"(format = "fitwright-part/1"
material = "brass"
unit = "mm"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[stock]
form = "round"
diameter = 20
length = 52
start = -30

[[feature]]
name = "outside_1"
kind = "outer_diameter"
from = 0
to = 10
diameter = 11
plus_minus = 0.05

[[feature]]
name = "outside_2"
kind = "outer_diameter"
from = 10
to = 15
diameter = 19
fit = "h7"

[[feature]]
name = "outside_3"
kind = "outer_diameter"
from = 15
to = 21
diameter = 5
ra = 1.6

[[feature]]
name = "knurl_1"
kind = "knurl"
on = "outside_1"
from = 0.5
to = 9.5
pitch = 1
pattern = "straight"

[[feature]]
name = "chamfer_2"
kind = "chamfer"
on = "outside_1"
end = "start"
axial = 0.4
radial = 0.4

[[feature]]
name = "chamfer_3"
kind = "chamfer"
on = "outside_3"
end = "end"
axial = 0.8
radial = 0.8
)"},
}};

}  // namespace fitwright::random_parts
