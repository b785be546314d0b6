// One setup worked out from its outline: held, zeroed and cut. Private to build_plan.cc and setup_maker*.cc.
#pragma once

#include <string>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/planner/holding.h"
#include "fitwright/planner/measuring.h"
#include "fitwright/planner/planner.h"
#include "fitwright/planner/process.h"
#include "fitwright/planner/strategy.h"

namespace fitwright::planner {

// The one that is held first.
std::vector<PartId> PartsOf(const SetupSketch& sketch);

// Setups are made one after the other, each on the pieces as those before it left them.
class SetupMaker {
 public:
  // What is to be bought and to be warned of goes to `plan`, whose setups so far are read where one follows from them; `memo` may be
  // null. All must outlive this.
  SetupMaker(const Machine& machine, const Shop& shop, const Subjects& subjects, const Strategy& strategy, const std::vector<Pin>& pins,
             CutMemo* memo, Plan& plan);
  // From now on sizes are measured beside the cuts' own (measuring.h).
  void Measure();
  bool measures() const { return !wanted_.empty(); }
  // Requirements that something is made to suit once the rest is measured.
  Settled SettledByFits() const;
  PieceStates& pieces() { return pieces_; }
  // The setup by itself: neither its number nor what stands on the machine counts. Errors: kNoPlan with the reason.
  Result<Setup> Make(const SetupSketch& sketch);

 private:
  Status Fill(const SetupSketch& sketch);
  static bool DrivesPin(const SetupSketch& sketch);
  double PartedAt_S_mm(const SetupSketch& sketch) const;
  CutContext Context(const SetupSketch& sketch) const;
  Status Take(Result<CutResult> result);
  void NameCarried(const FeatureRef& ref, std::size_t from);
  // Limits that what was read of other sizes leaves this one.
  void WorkToWindow(const FeatureRef& ref, std::size_t from);
  void SayLengthToSuit(const FeatureRef& ref, std::size_t from);
  // What the builder wrote beside the feature, where it is finished.
  void SayNote(const FeatureRef& ref, std::size_t from);
  // Words that no plan can read, and what the step makes of them.
  std::string NoteBeside(const FeatureRef& ref, const std::string& note) const;
  // An aim off the middle of the fit is another figure than a builder writes down.
  std::string NoteFollowed(const SuitPair& pair, const std::string& note) const;
  Status CutAll(const SetupSketch& sketch);
  void AddDeburr(const SetupSketch& sketch);
  // Not only drilled and reamed, which follows the drill.
  bool IsBoredHere(const FeatureRef& bore) const;
  void AddReasons(const SetupSketch& sketch);
  void AddWarning(const std::string& text);

  // With other parts on it (setup_maker_mates.cc).
  Step AssemblyStep(const SetupSketch& sketch, Operation operation, const std::string& words, double minutes) const;
  int ScrewsOf(const SetupSketch& sketch) const;
  std::string MateNames(const SetupSketch& sketch) const;
  // Where along the part its mates stand, one after the other.
  std::string EndsOfMates(const SetupSketch& sketch) const;
  Status CutTogether(const SetupSketch& sketch);
  const Joint* JointOf(const SetupSketch& sketch, JointKind kind) const;
  // How the parts are brought together before the holes go through both.
  std::string JoinWords(const SetupSketch& sketch) const;
  Status PutMatesOn(const SetupSketch& sketch);
  // The mates on, then each hole through all of them in one go.
  Status CutThroughBoth(const SetupSketch& sketch);
  void SayAfter(const SetupSketch& sketch);
  // Spot, drill and tap the `first` holes, screw the mate down by them, then the rest.
  Status CutThrough(const SetupSketch& sketch);
  // How the mate finds its place: a spigot, else the faces that must come flush.
  std::string PlacedBy(const SetupSketch& sketch) const;
  // Pointed screws in the threads, the mate dropped on them square.
  Status MarkByPoints(const SetupSketch& sketch);
  Status CutGroup(const SetupSketch& sketch, const FeatureRef& ref, const std::vector<int>& group, int screws, bool last);

  const Machine& machine_;
  const Shop& shop_;
  const Subjects& subjects_;
  const Strategy& strategy_;
  const std::vector<Pin>& pins_;
  CutMemo* memo_;
  Plan& plan_;
  PieceStates pieces_;
  WantedOfParts wanted_;  // empty: no measuring beside the cuts' own
  Setup setup_;           // being made
  double clearance_below_mm_ = 0;
};

}  // namespace fitwright::planner
