// What carries what in the machine, and what stands over screws. Private to this layer.
#pragma once

#include <optional>
#include <vector>

#include "fitwright/review/blocking.h"

namespace fitwright::review {

// The axis across which two boxes lie flat on each other; nothing where they stand clear or overlap.
std::optional<int> AxisAcross(const Box3& a, const Box3& b);

class Carried {
 public:
  Carried(const Machine& machine, const std::vector<Piece>& pieces);

  // Of those left, what would lie loose: nothing carries it that the first of them carries. A shaft is
  // carried by its bearings and what slides by its bore, not the other way; screws, seats, faces that touch
  // and adhesive hold both ways. on_bench: a joint of any kind holds, for what is in the hands.
  // What nothing carries in the whole machine is not counted.
  Indices Loose(const Indices& left, bool on_bench) const;
  // The group comes off the rest although something among them stands in the way of a screw, its head or
  // its key.
  bool KeepsScrewsShut(const Indices& group, const Indices& rest) const;
  // What stands over the screws that hold the group to the rest.
  Indices OverScrews(const Indices& group, const Indices& rest) const;
  // Joined to, or, where one has no joint of its own, lying flat on it.
  bool GoesOnto(std::size_t piece, std::size_t other) const;
  // No joint is known that touches it.
  bool IsUnjoined(std::size_t piece) const { return unjoined_[piece]; }

 private:
  struct Screwed {
    std::size_t a = 0;
    std::size_t b = 0;
    Indices over;
  };

  void AddJoint(const Machine& machine, const Joint& joint);
  void AddScrews(const Machine& machine, const Joint& joint, std::size_t a, std::size_t b);
  std::size_t IndexOf(const PartId& id) const;  // as many as there are: none
  Indices Reached(const Indices& left, const std::vector<Indices>& ways) const;

  const std::vector<Piece>& pieces_;
  std::vector<Indices> carries_;
  std::vector<Indices> bench_;
  std::vector<bool> unjoined_;
  std::vector<bool> never_;  // carried by nothing as drawn
  std::vector<Screwed> screws_;
};

}  // namespace fitwright::review
