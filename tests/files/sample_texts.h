// A small sound project as text: a block with a bore, a flanged bush on six screws, a mirror pair
// of feet.
#pragma once

#include <map>
#include <string>

namespace fitwright::files_test {

using Texts = std::map<std::string, std::string>;  // by path inside the project

inline constexpr const char* kMachine = R"toml(# A bushed block on two feet.
format = "fitwright-machine/1"
name = "sample"
units = "mm"
cautions = ["guard the belt"]

[[part]]
sheet = "block"

[[part]]
sheet = "bush"
quantity = 1
at = [30, 0, 20]
turn = [0, 90, 0]

[[part]]
sheet = "foot"

[[part]]
sheet = "foot_right"

[[joint]]
name = "bush_face"
kind = "face_contact"
fixed = "block.front"
moving = "bush.under"

[[joint]]
name = "bush_spigot"
kind = "spigot_in_bore"
fixed = "block.bore"
moving = "bush.spigot"
float = "pushed"
push = "-z"
comes_apart = false

[[joint]]
name = "bush_screws"
kind = "screwed_pattern"
fixed = "block.front_holes"
moving = "bush.screw_holes"
screw = { thread = "M3", length = "12 mm" }

[[joint]]
name = "foot_face"
kind = "face_contact"
fixed = "block.left"
moving = "foot.mount"

[[joint]]
name = "foot_screws"
kind = "screwed_pattern"
fixed = "block.side_holes"
moving = "foot.screw_holes"
screw = { thread = "M4", length = 16 }
float = "chance"

[[requirement]]
name = "R1"
kind = "square"
a = "block.bore"
b = "block.bottom"
within = 0.02
over = 40
say = "the bore lies level"

[[requirement]]
name = "R2"
kind = "square"
a = "block.bore"
b = "block.well"
within_mrad = 0.7

[[requirement]]
name = "R3"
kind = "axes_meet"
a = "block.bore"
b = "block.well"
within = 0.1

[[requirement]]
name = "R4"
kind = "distance"
a = "bush.outer"
b = "block.front"
limits = [5.9, 6.1]
at = [36, 0, 20]

[[requirement]]
name = "R5"
kind = "flush"
a = "foot.bottom"
b = "block.bottom"
within = 0.05

[[requirement]]
name = "R6"
kind = "screws_enter"
joint = "bush_screws"
)toml";

inline constexpr const char* kBlock = R"toml(format = "fitwright-part/1"
material = "aluminium"
unit = "mm"
general_tolerance = "m"

[envelope]
block = { x = [-30, 30], y = [-25, 25], z = [0, 40] }

[stock]
form = "flat"
size = [64, 55, 45]

[[feature]]
name = "deck"
kind = "planar_face"
side = "+z"
plus_minus = 0.02

[[feature]]
name = "bore"
kind = "bore"
from = "+x"
at = [0, 20]
diameter = 20
fit = "H7"
through = true
finish = "honed"
do_not_grip = true

[[feature]]
name = "well"
kind = "bore"
from = "+z"
at = [0, 0]
diameter = 12
limits = [11.98, 12.02]
until = "bore"

[[feature]]
name = "lead"
kind = "chamfer"
on = "bore"
end = "start"
axial = 0.5
radial = 0.5

[[feature]]
name = "front_holes"
kind = "hole"
from = "+x"
at = [0, 20]
circle = { diameter = 30, count = 6, first = 30, zero = "+z", towards = "+y" }
thread = "M3"
thread_depth = 7
depth = 9
bottom = "118"

[[feature]]
name = "side_holes"
kind = "hole"
from = "+y"
points = [[-12, 12], [12, 12]]
thread = "M4"
depth = 10

[[feature]]
name = "corner"
kind = "step"
from = "+z"
removed = { x = [20, 30], y = [-25, 25], z = [36, 40] }

[[feature]]
name = "window"
kind = "slot"
from = "-y"
at = [-20, 8]
along = "+x"
length = 14
width = 6
deviations = [0, 0.1]
depth = 4

[[feature]]
name = "well_top"
kind = "pocket"
from = "+z"
at = [-18, 15]
along = "+y"
length = 12
width = 8
corner_radius = 3
depth = 2
note = "clears the nut"
)toml";

inline constexpr const char* kBush = R"toml(format = "fitwright-part/1"
material = "bronze"
unit = "mm"
general_tolerance = "m"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[[feature]]
name = "spigot"
kind = "spigot"
from = -15
to = 0
diameter = 20
fit = "g6"

[[feature]]
name = "flange"
kind = "outer_diameter"
from = 0
to = 6
diameter = 38

[[feature]]
name = "under"
kind = "planar_face"
side = "-z"
at = 0

[[feature]]
name = "outer"
kind = "planar_face"
side = "+z"

[[feature]]
name = "root"
kind = "undercut"
inside = false
from = -1
to = 0
diameter = 19.4

[[feature]]
name = "hole"
kind = "bore"
from = "-z"
diameter = 10
plus_minus = 0.01
through = true

[[feature]]
name = "screw_holes"
kind = "hole"
from = "+z"
circle = { diameter = "30 mm", count = 6, first = 30, zero = "-x", towards = "+y" }
diameter = 3.2
through = true

[[feature]]
name = "wrench"
kind = "flats"
from = 2
to = 6
across = 36
normal = "+y"
)toml";

inline constexpr const char* kFoot = R"toml(format = "fitwright-part/1"
material = "mild steel"
unit = "mm"
general_tolerance = "c"

[envelope]
block = { x = [-20, 20], y = [25, 45], z = [0, 24] }

[[feature]]
name = "mount"
kind = "planar_face"
side = "-y"

[[feature]]
name = "inside"
kind = "step"
from = "+z"
removed = { x = [-20, 20], y = [33, 45], z = [8, 24] }

[[feature]]
name = "base_top"
kind = "planar_face"
side = "+z"
at = 8

[[feature]]
name = "screw_holes"
kind = "hole"
from = "+y"
points = [[-12, 12], [12, 12]]
diameter = 4.5
through = true

[[feature]]
name = "edge"
kind = "chamfer"
between = ["base_top", "left"]
legs = [3, 6]
)toml";

inline constexpr const char* kFootRight = R"toml(format = "fitwright-part/1"
mirror_of = "foot"
mirror = "y"
)toml";

inline constexpr const char* kShop = R"toml(format = "fitwright-shop/1"
name = "back shed"
level = "careful"
without = ["rotary_table"]

[[machine]]
name = "mill"
travel_mm = [450, 180, 320]
x_sense = -1

[[holding]]
name = "small_vise"
kind = "vise"
on = "mill"
opening_mm = 60
jaw_width_mm = 75
jaw_height_mm = 25
parallels_mm = [8, 12]

[[tool]]
name = "end_mill_7"
kind = "end_mill"
on = "mill"
diameter_mm = 7
flute_mm = 16
stick_out_mm = 30

[[instrument]]
name = "ring_gauge"
kind = "bore_gauge"
from_mm = 10
to_mm = 18

[spread.edge_finder]
spread = 0.006
measured = true

[[remedy]]
for_what = "R1"
words = "scrape the bottom"
minutes = 40
mends = 0.5

[times]
tool_change = 2
)toml";

inline constexpr const char* kChoices = R"toml(format = "fitwright-choices/1"

[[pin]]
kind = "technique"
subject = "bush_screws"
value = "spot_through"
first = 1

[[pin]]
kind = "order"
subject = "bush"
value = "block"

[[pin]]
kind = "zero"
subject = "block.+z"
value = "edges"

[[pin]]
kind = "aim"
subject = "bush.spigot"
value = "fit_to_measured"

[[pin]]
kind = "datum"
subject = "block.+x"
value = "bottom"
)toml";

inline Texts SampleProject() {
  return {
      {"machine.toml", kMachine}, {"parts/block.toml", kBlock},          {"parts/bush.toml", kBush},
      {"parts/foot.toml", kFoot}, {"parts/foot_right.toml", kFootRight}, {"shop.toml", kShop},
      {"choices.toml", kChoices}};
}

}  // namespace fitwright::files_test
