#include "fitwright/service/solid/pieces.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "fitwright/solid/build.h"
#include "fitwright/solid/cut.h"
#include "fitwright/solid/cutters.h"
#include "fitwright/solid/measure.h"

namespace fitwright::service {
namespace {

using solid::Solid;

PartId SheetOf(const PartId& part) {
  return PartId(part.text().substr(0, part.text().find('#')));
}

Error Unknown(const std::string& what, const std::string& name) {
  return {ErrorCode::kUnknownFeature, "the plan names " + what + " that is not there", name,
          "plan again with these sheets and this shop", {}};
}

// What is left after parting off or sawing is the piece that holds most of the drawn part.
Result<Solid> KeepPart(const Solid& piece, const Part& part) {
  if (solid::CountPieces(piece) < 2) return piece;
  auto pieces = solid::SplitPieces(piece);
  if (!pieces) return Unexpected(pieces.error());
  auto design = solid::MakeDesign(part);
  if (!design) return Unexpected(design.error());
  double most_mm3 = -1;
  Solid kept;
  for (const Solid& candidate : *pieces) {
    const auto common = solid::CalcCommonVolume_mm3(candidate, *design);
    if (!common) return Unexpected(common.error());
    if (*common > most_mm3) {
      most_mm3 = *common;
      kept = candidate;
    }
  }
  return kept;
}

class Shopfloor {
 public:
  Shopfloor(const Machine& machine, const Shop& shop) : machine_(machine), shop_(shop) {}

  Result<Solid> PieceOf(const PartId& id) {
    const auto found = pieces_.find(id);
    if (found != pieces_.end()) return found->second;
    const Part* part = machine_.FindPart(SheetOf(id));
    if (part == nullptr) return Unexpected(Unknown("a part", id.text()));
    auto stock = solid::MakeStock(*part);
    if (stock) pieces_[id] = *stock;
    return stock;
  }

  // Cutters of the steps [from, to) taken from every part that is in the setup by then.
  Status CutSteps(const Setup& setup, std::size_t from, std::size_t to,
                  const std::vector<bool>& present) {
    std::vector<Solid> cutters_S;
    for (std::size_t i = from; i < to; ++i) {
      const Step& step = setup.steps[i];
      for (const PathPiece& path : step.path) {
        const Tool* tool = shop_.Find(step.tool);
        if (tool == nullptr) return Unexpected(Unknown("a tool", step.tool.text()));
        auto swept = solid::MakeSweptCutter(*tool, path);
        if (!swept) return Unexpected(swept.error());
        cutters_S.insert(cutters_S.end(), swept->begin(), swept->end());
      }
    }
    if (cutters_S.empty()) return Ok{};
    for (std::size_t k = 0; k < setup.parts.size(); ++k) {
      if (!present[k]) continue;
      if (auto status = CutPart(setup.parts[k], cutters_S); !status) return status;
    }
    return Ok{};
  }

 private:
  Status CutPart(const PartPose& pose, const std::vector<Solid>& cutters_S) {
    auto piece = PieceOf(pose.part);
    if (!piece) return Unexpected(piece.error());
    std::vector<Solid> cutters_P;
    for (const Solid& c : cutters_S) cutters_P.push_back(solid::Moved(c, pose.X_PS));
    auto cut = solid::Cut(*piece, cutters_P);
    if (!cut) return Unexpected(cut.error());
    auto kept = KeepPart(*cut, *machine_.FindPart(SheetOf(pose.part)));
    if (!kept) return Unexpected(kept.error());
    pieces_[pose.part] = *kept;
    return Ok{};
  }

  const Machine& machine_;
  const Shop& shop_;
  std::map<PartId, Solid> pieces_;
};

std::size_t PlaceOf(const Setup& setup, const PartId& part) {
  const auto found = std::find_if(setup.parts.begin(), setup.parts.end(),
                                  [&](const PartPose& p) { return p.part == part; });
  return static_cast<std::size_t>(found - setup.parts.begin());
}

// Parts come and go at assemble and take_apart steps; cuts between two such steps are one batch.
Status WorkSetup(Shopfloor& floor, const Setup& setup, std::size_t steps) {
  std::vector<bool> present;
  for (const PartPose& p : setup.parts) present.push_back(p.held);
  std::size_t batch = 0;
  for (std::size_t i = 0; i < steps; ++i) {
    const Step& step = setup.steps[i];
    const bool comes = step.operation == Operation::kAssemble;
    if (!comes && step.operation != Operation::kTakeApart) continue;
    if (auto status = floor.CutSteps(setup, batch, i, present); !status) return status;
    batch = i;
    for (const PartId& part : step.parts) {
      const std::size_t place = PlaceOf(setup, part);
      if (place < present.size()) present[place] = comes;
    }
  }
  return floor.CutSteps(setup, batch, steps, present);
}

}  // namespace

Result<std::vector<SetupPieces>> MakePieces(const Machine& machine, const Shop& shop,
                                            const Plan& plan, const PiecesOptions& options) {
  Shopfloor floor(machine, shop);
  std::vector<SetupPieces> all;
  bool stopped_at_step = false;
  for (const Setup& setup : plan.setups) {
    if (options.work.cancelled()) {
      return Unexpected(Error{ErrorCode::kStopped, "stopped while cutting the pieces", "", "", {}});
    }
    options.work.Report("cutting the pieces",
                        static_cast<double>(all.size()) / static_cast<double>(plan.setups.size()));
    SetupPieces now;
    now.setup = setup.id;
    for (const PartPose& p : setup.parts) {
      auto before = floor.PieceOf(p.part);
      if (!before) return Unexpected(before.error());
      now.pieces.push_back({p.part, *before, {}});
    }
    std::size_t steps = setup.steps.size();
    for (std::size_t i = 0; options.until && i < setup.steps.size(); ++i) {
      if (setup.steps[i].id != *options.until) continue;
      steps = i + 1;
      stopped_at_step = true;
    }
    if (auto status = WorkSetup(floor, setup, steps); !status) return Unexpected(status.error());
    for (PieceInWork& piece : now.pieces) piece.after_P = floor.PieceOf(piece.part).value();
    all.push_back(std::move(now));
    if (stopped_at_step) break;
  }
  if (options.until && !stopped_at_step) {
    return Unexpected(Error{ErrorCode::kUnknownFeature, "the plan has no such step",
                            options.until->text(), "take a step id or number from the plan", {}});
  }
  return all;
}

}  // namespace fitwright::service
