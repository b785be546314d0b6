// The sample project with every kind of joint, requirement and bought part beside its own.
#pragma once

#include "tests/files/sample_project.h"

namespace fitwright::files_test {

inline constexpr const char* kRing = R"toml(format = "fitwright-part/1"
material = "cast iron"
unit = "mm"
general_tolerance = "m"

[envelope]
turned = { axis = "+z", through = [0, 0, 0] }

[[feature]]
name = "outside"
kind = "outer_diameter"
from = 0
to = 4
diameter = 19.9
plus_minus = 0.01

[[feature]]
name = "bore"
kind = "bore"
from = "+z"
diameter = 10
limits = [10.02, 10.04]
through = true

[[feature]]
name = "groove"
kind = "groove"
inside = false
from = 1
to = 2
diameter = 18
plus_minus = 0.05

[[feature]]
name = "pin_hole"
kind = "hole"
from = "+z"
at = [7, 0]
diameter = 2
through = true
)toml";

inline constexpr const char* kMoreOfTheMachine = R"toml(
[[part]]
sheet = "ring"
quantity = 4
places = [
  { at = [0, 0, 20], turn = [0, 90, 0] },
  { at = [-6, 0, 20], turn = [0, 90, 0] },
  { at = [28, 60, 20], turn = [0, 90, 0] },
]

[[bought]]
name = "front_bearing"
kind = "bearing"
what = "ball bearing 10 x 19 x 5"
size = [10, 19, 5]
axial_play = 0.08
why = "carries the shaft"
at = [10, 0, 20]
turn = [0, 90, 0]

[[bought]]
name = "shaft"
kind = "pin"
what = "ground silver steel, 10"
outside = { size = 10, fit = "h6" }
width = { size = 60, plus_minus = 0.2 }
at = [-20, 0, 20]
turn = [0, 90, 0]

[[bought]]
name = "clip"
kind = "circlip"
what = "circlip 18"
outside = 19
bore = 17
width = { size = 0.9, deviations = [-0.06, 0] }
places = [{ at = [1.05, 0, 20], turn = [0, 90, 0] }, { at = [-4.95, 0, 20], turn = [0, 90, 0] }]

[[bought]]
name = "drive"
kind = "belt"
what = "round belt 5"
section = 5
pitch_length = 390
stretch = "7 in 100"

[[bought]]
name = "oil"
kind = "item"
what = "compressor oil"
quantity = 2

[[joint]]
name = "front_seat"
kind = "bearing_seat"
fixed = "block.bore"
moving = "front_bearing.outside"

[[joint]]
name = "shaft_in_bearing"
kind = "bearing_on_shaft"
fixed = "front_bearing.bore"
moving = "shaft.outside"

[[joint]]
name = "shaft_in_bush"
kind = "running_fit"
fixed = "bush.hole"
moving = "shaft.outside"

[[joint]]
name = "ring_1"
kind = "bonded"
fixed = "shaft.outside"
moving = "ring.bore"
compound = "retaining compound"
cure_min = 20

[[joint]]
name = "ring_2"
kind = "hub_on_shaft"
fixed = "shaft.outside"
moving = "ring#2.bore"

[[joint]]
name = "ring_slides"
kind = "slider_in_bore"
fixed = "block.bore"
moving = "ring.outside"

[[joint]]
name = "clip_1"
kind = "ring_in_groove"
fixed = "ring.groove"
moving = "clip.outside"

[[joint]]
name = "rings_pinned"
kind = "pinned"
fixed = "ring.pin_hole"
moving = "ring#2.pin_hole"

[[joint]]
name = "packed"
kind = "gasketed_face"
fixed = "block.right"
moving = "foot_right.mount"

[[joint]]
name = "drive_belt"
kind = "belt"
fixed = "bush.root"
moving = "ring#3.groove"
belt = "drive"

[[requirement]]
name = "level"
kind = "parallel"
a = "shaft.outside"
b = "block.bottom"
within = 0.02
over = 50

[[requirement]]
name = "corner"
kind = "angle"
a = "block.bore"
b = "block.well"
angle = 90
within_mrad = 2

[[requirement]]
name = "one_line"
kind = "in_line"
a = "bush.hole"
b = "block.bore"
within = 0.05
extended = true

[[requirement]]
name = "true"
kind = "run_out"
a = "ring.groove"
b = "shaft.outside"
within = 0.03

[[requirement]]
name = "stands_out"
kind = "proud"
a = "foot.bottom"
b = "block.bottom"
limits = [-0.05, 0.02]

[[requirement]]
name = "float"
kind = "end_float"
gaps = [["ring.low_end", "ring#2.high_end"], ["front_bearing.low_end", "ring.high_end"]]
limits = [0.05, 9]

[[requirement]]
name = "wall"
kind = "wall_left"
a = "block.well"
b = "block.bore"
least = 0.5

[[requirement]]
name = "mesh"
kind = "engagement"
joint = "foot_screws"
least = 4

[[requirement]]
name = "swept"
kind = "formula"
value = "pi / 4 * bore ^ 2 * high / 1000"
names = { bore = "block.bore", high = ["block.deck", "block.bore"] }
unit = "cm3"
limits = [6, 6.5]
)toml";

inline Texts FullProject() {
  Texts texts = SampleProject();
  texts["machine.toml"] += kMoreOfTheMachine;
  texts["parts/ring.toml"] = kRing;
  return texts;
}

}  // namespace fitwright::files_test
