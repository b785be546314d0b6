// Remembers what holds a piece, for a search that asks the same of the same piece many times.
#pragma once

#include <map>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "fitwright/planner/pieces.h"
#include "fitwright/planner/route.h"

namespace fitwright::planner {

// Ways to hold a setup, and why there is none where the list is empty.
struct Holdings {
  std::vector<SetupSketch> sketches;
  std::string why = {};
};

// By the outline asked for and the pieces as they stand. Belongs to one shop and one set of parts; for many threads.
class HoldingMemo {
 public:
  std::shared_ptr<const Holdings> Find(const SetupSketch& asked, const std::vector<const PieceState*>& pieces) const;
  std::shared_ptr<const Holdings> Keep(const SetupSketch& asked, const std::vector<const PieceState*>& pieces, Holdings holdings);

 private:
  // A piece outlives the machine that it was asked about: an excerpt's goes with its search.
  struct Standing {
    PartId part;
    Box3 box_P;
    std::vector<Band> bands;
    std::vector<FeatureId> made;
    bool Is(const PieceState& piece) const;
  };
  struct Entry {
    SetupSketch asked;
    std::vector<Standing> pieces;
    std::shared_ptr<const Holdings> holdings;
  };
  // Of the same part with as much made: the rest is compared.
  using Shelf = std::pair<PartId, std::size_t>;
  std::shared_ptr<const Holdings> In(const Shelf& shelf, const SetupSketch& asked, const std::vector<const PieceState*>& pieces) const;

  mutable std::mutex mutex_;
  std::map<Shelf, std::vector<Entry>> entries_;
};

// Variants(sketch, piece, shop), worked out once.
std::shared_ptr<const Holdings> RecallVariants(HoldingMemo& memo, const SetupSketch& sketch, const PieceState& piece, const Shop& shop);

}  // namespace fitwright::planner
