// A ring under three jaws: how it bends, and what that leaves in a bore cut meanwhile. mm, N, MPa.
#pragma once

namespace fitwright::trade {

// A thin ring of these diameters under three equal radial forces a third of a turn apart: by how much its
// radius differs between under a force and half way between two, per newton of one of them. A bore cut round
// while they press has so many three lobes when they let go, the other way; a gauge of two points, which
// stands on a lobe and a hollow at once, does not find them. Roark's formulas for circular rings (ring under
// equal radial loads equally spaced), from memory: bending only, of a section thin against the radius; a
// thick one bends less. Needs 0 < inner < outer, length > 0.
double ThreeForceLobes_mm_N(double outer_mm, double inner_mm, double length_mm, double modulus_MPa);

}  // namespace fitwright::trade
