#include "fitwright/planner/process_memo.h"

#include <algorithm>
#include <cstring>
#include <mutex>
#include <unordered_map>
#include <vector>

namespace fitwright::planner {
namespace {

class KeyWriter {
 public:
  void Text(const std::string& text) {
    key_ += text;
    key_ += '\n';
  }
  void Number(double value) {
    const double clean = value == 0 ? 0.0 : value;  // one zero
    char bytes[sizeof(double)];
    std::memcpy(bytes, &clean, sizeof(double));
    key_.append(bytes, sizeof(double));
  }
  void Count(std::size_t value) { Number(static_cast<double>(value)); }
  void Point(const Vec3& p) {
    for (int i = 0; i < 3; ++i) Number(p[i]);
  }
  void Ref(const FeatureRef& ref) {
    Text(ref.part.text());
    Text(ref.feature.text());
  }
  std::string Take() { return std::move(key_); }

 private:
  std::string key_;
};

void WriteAim(KeyWriter& key, const Aim& aim) {
  key.Count(static_cast<std::size_t>(aim.kind));
  for (const double v : {aim.target_mm, aim.lower_mm, aim.upper_mm, aim.clearance_mm,
                         aim.clearance_lower_mm, aim.clearance_upper_mm})
    key.Number(v);
  key.Text(aim.closes.text());
  key.Count(aim.mate ? 1 : 0);
  if (aim.mate) key.Ref(*aim.mate);
}

void WritePiece(KeyWriter& key, const PieceInSetup& piece) {
  key.Text(piece.part->name.text());
  for (int column = 0; column < 4; ++column) key.Point(piece.X_PS.matrix().col(column).head<3>());
  key.Point(piece.piece_S.min_mm);
  key.Point(piece.piece_S.max_mm);
  key.Number(piece.bar_diameter_mm);
  key.Count(piece.rounds_S.size());
  for (const RoundSpan& r : piece.rounds_S) {
    for (const double v : {r.low_mm, r.high_mm, r.diameter_mm}) key.Number(v);
  }
}

void WriteContext(KeyWriter& key, const CutContext& context) {
  key.Text(context.machine->name.text());
  key.Count(static_cast<std::size_t>(context.holding));
  key.Number(context.clearance_below_mm);
  key.Count(context.jaws_S_mm ? 1 : 0);
  key.Number(context.jaws_S_mm.value_or(0));
  const ViseRoom vise = context.vise.value_or(ViseRoom{});
  for (const double v : {vise.jaws_mm, vise.bed_from_mm, vise.bed_to_mm}) key.Number(v);
  key.Count(context.centred ? 1 : 0);
  key.Number(context.set_over_mm);
  key.Number(context.most_depth_mm);
  key.Count(context.parted_S_mm ? 1 : 0);
  key.Number(context.parted_S_mm.value_or(0));
  key.Count(context.pieces.size());
  for (const PieceInSetup& piece : context.pieces) WritePiece(key, piece);
  // What is made matters, not in which order.
  std::vector<FeatureId> made;
  if (context.made != nullptr) made = *context.made;
  std::sort(made.begin(), made.end());
  key.Count(made.size());
  for (const FeatureId& id : made) key.Text(id.text());
}

}  // namespace

struct CutMemo::Kept {
  std::mutex mutex;
  std::unordered_map<std::string, Result<CutResult>> cuts;
};

CutMemo::CutMemo() : kept_(std::make_unique<Kept>()) {}
CutMemo::~CutMemo() = default;
std::size_t CutMemo::size() const {
  const std::lock_guard lock(kept_->mutex);
  return kept_->cuts.size();
}

const Result<CutResult>* CutMemoAccess::Find(const CutMemo& memo, const std::string& key) {
  const std::lock_guard lock(memo.kept_->mutex);
  const auto found = memo.kept_->cuts.find(key);
  return found == memo.kept_->cuts.end() ? nullptr : &found->second;
}

void CutMemoAccess::Keep(CutMemo& memo, const std::string& key, const Result<CutResult>& made) {
  const std::lock_guard lock(memo.kept_->mutex);
  memo.kept_->cuts.emplace(key, made);
}

std::string PartOffKey(const CutContext& context, double z_S_mm) {
  KeyWriter key;
  key.Text("part off");
  WriteContext(key, context);
  key.Number(z_S_mm);
  return key.Take();
}

std::string CutKey(const CutContext& context, const CutRequest& request) {
  KeyWriter key;
  WriteContext(key, context);
  key.Count(request.features.size());
  for (const FeatureRef& ref : request.features) key.Ref(ref);
  key.Count(request.holes.size());
  for (const int hole : request.holes) key.Number(hole);
  key.Count(static_cast<std::size_t>(request.aim));
  key.Count(static_cast<std::size_t>(request.technique));
  key.Number(request.leave_mm);
  key.Count(request.measure_finely ? 1 : 0);
  key.Count(request.true_first ? 1 : 0);
  key.Count(request.given_aim ? 1 : 0);
  if (request.given_aim) WriteAim(key, *request.given_aim);
  key.Count(request.aimed_mm ? 1 : 0);
  key.Number(request.aimed_mm.value_or(0));
  key.Count(request.through ? 1 : 0);
  if (request.through) key.Ref(*request.through);
  return key.Take();
}

}  // namespace fitwright::planner
