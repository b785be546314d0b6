// Where a piece stands in a setup: the plan's contacts as locating rows, with the sources of each.
#pragma once

#include <functional>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/model/machine.h"
#include "fitwright/model/plan.h"
#include "fitwright/variation/locate.h"
#include "fitwright/variation/source.h"

namespace fitwright::variation {

// Adds how far the surface that a contact touches has moved along the contact's normal (both in the
// part's frame), with the factor.
using ContactMove = std::function<void(FormSum&, const Contact&, double factor)>;

struct SeatInput {
  const Machine* machine = nullptr;
  const Shop* shop = nullptr;
  const Setup* setup = nullptr;
  std::uint64_t setup_key = 0;  // names the sources of scope setup
  SourceTable* sources = nullptr;
  ContactMove move;
};

struct Seat {
  Form6 t_S;               // displacement of the first part against the zero
  std::vector<Vec6> free;  // motions in S that nothing fixes
  bool has_rough = false;  // a first seat: what is not fixed is taken as it lies
};

// Reads the contacts in the sense of plan.h. Without a touched-off face the heights are worked to
// what is measured from the seat: the middle of the contacts along z gives the zero there, so that
// seat errors leave tilt and no height. Errors: kNoPlan: over-determined and nothing adjusts it; no
// contacts on a machine.
Result<Seat> CalcSeat(const SeatInput& input);

// kNoPlan unless every feature cut in the setup is unchanged by the motions that nothing fixes.
Status CheckFreedoms(const SeatInput& input, const Seat& seat);

}  // namespace fitwright::variation
