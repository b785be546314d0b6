// The sample project with a shaft and a lever that use every kind of feature, and the lever's
// mirror.
#pragma once

#include "tests/files/sample_texts.h"

namespace fitwright::files_test {

inline constexpr const char* kShaft = R"toml(format = "fitwright-part/1"
material = "mild steel"
unit = "mm"
general_tolerance = "m"

[dimensions]
shaft = 20
wall = "shaft / 4"
collar = "shaft + 2 * wall"

[envelope]
turned = { axis = "+x", through = [0, 0, 0] }

[stock]
form = "hex"
across = 32
length = 110
start = -4
flat = "+z"
bar_limits = [-0.16, 0]
skin = 0.2

[[feature]]
name = "collar"
kind = "outer_diameter"
from = 0
to = 20
diameter = "collar"
finish = "lapped"
ra = 0.8

[[feature]]
name = "journal"
kind = "outer_diameter"
from = 20
to = 80
diameter = "shaft"
fit = "g6"
geometric = [{ kind = "run_out", datum = "collar", within = 0.02 }, { kind = "round", within = 0.005 }]

[[feature]]
name = "tail"
kind = "outer_diameter"
from = 80
to = 100
diameter = 8

[[feature]]
name = "cone"
kind = "taper"
inside = false
from = 60
to = 80
start_diameter = { size = "shaft", plus_minus = 0.01 }
ratio = "1:10"
angle_within = 0.1

[[feature]]
name = "tail_thread"
kind = "thread"
on = "tail"
end = "end"
length = 15
designation = "M8"

[[feature]]
name = "key"
kind = "keyway"
inside = false
from = 40
to = 55
width = 6
fit = "P9"
depth = 3.5
side = "+z"

[[feature]]
name = "grip"
kind = "knurl"
on = "collar"
pitch = 1
pattern = "straight"

[[feature]]
name = "belt_groove"
kind = "groove"
inside = false
from = 24
to = 29
diameter = 15
profile = "vee"
vee_angle = 40

[[feature]]
name = "ring_groove"
kind = "groove"
inside = false
from = 32
to = 34
diameter = 18
profile = "round"

[[feature]]
name = "hexagon"
kind = "flats"
from = 0
to = 8
across = 27
normal = "+y"
count = 6

[[feature]]
name = "bore"
kind = "bore"
from = "-x"
diameter = 10
depth = 20

[[feature]]
name = "mouth"
kind = "taper"
inside = true
from = 0
to = 5
start_diameter = 12
end_diameter = 10

[[feature]]
name = "nose_round"
kind = "edge_round"
on = "collar"
end = "end"
radius = 2
)toml";

inline constexpr const char* kLever = R"toml(format = "fitwright-part/1"
material = "bronze"
unit = "inch"
general_tolerance = "m"

[dimensions]
centres = 1.5
rim = "1/8 in"

[envelope]
block = { x = [-0.5, 2.0], y = [-0.5, 0.5], z = [0, "8 mm"] }

[stock]
form = "plate"
size = [3, 1.5, "8 mm"]
sawn_lean = "0.5 mm"

[[feature]]
name = "shape"
kind = "outline"
from = "-z"
discs = [[0, 0, "2 * rim + 0.5"], ["centres", 0.1, 0.6]]
bars = [[0, 0, "centres", 0.1, 0.3]]
inside_radius = "3 mm"

[[feature]]
name = "screws"
kind = "hole"
from = "+z"
at = [0, 0]
grid = { rows = 2, columns = 3, pitch = ["5 mm", "4 mm"], along = "+y" }
diameter = "2 mm"
through = true

[[feature]]
name = "heads"
kind = "countersink"
on = "screws"
diameter = "3 mm"

[[feature]]
name = "label"
kind = "marking"
from = "-z"
at = ["centres / 2", 0.05]
text = "this way"
height = "3 mm"
depth = "0.2 mm"
along = "+x"

[[feature]]
name = "soft_edge"
kind = "edge_round"
between = ["top", "front"]
radius = "1 mm"

[[feature]]
name = "underside"
kind = "planar_face"
side = "-z"
finish = "as_supplied"
)toml";

inline Texts VocabularyProject() {
  Texts texts = SampleProject();
  texts["parts/shaft.toml"] = kShaft;
  texts["parts/lever.toml"] = kLever;
  texts["parts/lever_right.toml"] =
      "format = \"fitwright-part/1\"\nmirror_of = \"lever\"\nmirror = \"y\"\n";
  texts["machine.toml"] +=
      "\n[[part]]\nsheet = \"shaft\"\n\n[[part]]\nsheet = \"lever\"\n\n[[part]]\nsheet = "
      "\"lever_right\"\n";
  return texts;
}

}  // namespace fitwright::files_test
