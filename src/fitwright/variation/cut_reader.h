// Walks a plan step by step and keeps the forms of every feature and part as they stand.
#pragma once

#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "fitwright/variation/analysis.h"
#include "fitwright/variation/operation_sources.h"
#include "fitwright/variation/seating.h"
#include "fitwright/variation/settling.h"
#include "fitwright/variation/setup_readings.h"

namespace fitwright::variation {

inline constexpr std::uint64_t kTableCentred = 11;  // salt of its source: the spindle over the rotary table's axis

class CutReader {
 public:
  // `known` may be null.
  CutReader(const Machine& machine, const Shop& shop, const Plan& plan, const KnownSetups* known, Analysis& out);
  Status Run();

  // What is still together at the end: displacement of `part` against `to` in W, if they are.
  std::optional<Form6> StillTogether(const PartId& part, const PartId& to) const;
  // The play in which faces of the part were cut together with others, if they were.
  const Play* CutTogetherIn(const PartId& part) const;
  // A bonded part just put on those that stand in `placed`, set right where the plan looks at it while it is wet.
  void SetWhileWet(const PlaceRequest& request, const PlacedMap& placed, Form6& t_W) const;
  const AssemblyInput& assembly() const { return assembly_; }

 private:
  struct SetupState {
    const Setup* setup = nullptr;
    const MachineTool* machine = nullptr;
    std::uint64_t key = 0;
    std::shared_ptr<const Form6> t_P;  // of the first part
    std::map<PartId, std::shared_ptr<const Form6>>
        base;  // -t of each part, as long as nothing is put on or off
  };

  // What reading a setup touches.
  struct Noted {
    std::vector<SourceIndex> sources;
    std::set<FeatureRef> features;
    std::vector<std::uint64_t> seats;
    std::vector<std::uint64_t> visits;
    double setting_min = 0;
  };

  Status ReadOrRecall(const Setup& setup, std::uint64_t history);
  bool StandsAlone(const Setup& setup) const;
  std::uint64_t ReadingKey(const Setup& setup, std::uint64_t history);
  SetupReading ReadingOf(const Setup& setup, const Noted& noted) const;
  void Recall(const Setup& setup, const SetupReading& reading);
  Status ReadSetup(const Setup& setup);
  Status ReadForCopies(const Setup& setup);
  void ShareWithCopies();
  Status SeatPiece(const Setup& setup);
  // Turned where one of its bores is looked at before its last cuts.
  void AddSetting(double minutes);
  void SetUnderSpindle(const Setup& setup, Form6& t_P);
  std::uint64_t SetupKey(const Setup& setup);
  Status ReadStep(const Step& step);
  Status Assemble(const Step& step);
  void TakeApart(const Step& step);
  Status Cut(const Step& step, const FeatureRef& ref);
  Status CutHoles(const Step& step, const FeatureRef& ref, const Hole& hole, FeatureForms& forms);
  Status FollowHoles(const Step& step, const FeatureRef& lead, const FeatureRef& ref,
                     const Hole& hole, FeatureForms& forms);
  void FollowHole(const Step& step, const FeatureRef& lead, std::size_t k, const FeatureRef& ref,
                  const Hole& hole, std::size_t i, FeatureForms& forms);
  Status SpotThrough(const Step& step, const FeatureRef& ref, const Hole& hole, std::size_t i,
                     HoleForms& forms);
  bool FollowsPilot(const Step& step, const FeatureRef& ref, const Hole& hole, std::size_t i,
                    HoleForms& forms) const;
  void ApplyHoleUse(const SourceUse& use, const Step& step, const FeatureRef& ref, const Hole& hole,
                    std::size_t i, std::uint64_t visit, FeatureForms& forms);
  void CutOneHole(const Step& step, const FeatureRef& ref, const Hole& hole, std::size_t i,
                  FeatureForms& forms);
  void CutShape(const Step& step, const FeatureRef& ref, const Feature& feature,
                FeatureForms& forms);
  void ApplyFaceUse(const SourceUse& use, const Step& step, const FeatureRef& ref,
                    const PlanarFace& face, std::uint64_t visit, FeatureForms& forms);
  SpreadId CreptUp() const;
  std::uint64_t HeightKey(const Step& step, const FeatureRef& ref, std::uint64_t visit) const;
  Status CutFace(const Step& step, const FeatureRef& ref, const PlanarFace& face,
                 FeatureForms& forms);
  void CutRound(const Step& step, const FeatureRef& ref, const Feature& feature,
                FeatureForms& forms);
  Status CutImplied(const Step& step, const FeatureRef& ref, const Feature& feature);
  void FitFace(const Step& step, const FeatureRef& ref, const PlanarFace& face,
               FeatureForms& forms);
  Status FitStack(const Step& step, const FeatureRef& ref, const PlanarFace& face,
                  FeatureForms& forms);

  Work WorkOfHole(const Step& step, const FeatureRef& ref, const Hole& hole,
                  const HoleForms& forms) const;
  Work WorkOfFace(const FeatureRef& ref, const PlanarFace& face) const;
  std::shared_ptr<const Form6> BaseOf(const PartId& part);
  Pose PoseInSetup(const PartId& part) const;
  void AddCentreTaper(double along, FeatureForms& forms);
  void AddSetOver(FeatureForms& forms);
  // How far the axis that the work turns about in a fixed steady leans from the ways, per mm; empty without one.
  Form SteadyLean();
  // Holes that a rotary table brings under the spindle, which stands at one reading of x for all of a circle.
  static bool IsDivided(const Step& step);
  void AddDivision(const FeatureRef& ref, const Hole& hole, std::size_t i, std::uint64_t visit, PoseForms& pose);
  // The slides' share, alike for all holes of a circle; false for what each hole has of its own.
  bool AddDividedUse(const SourceUse& use, const FeatureRef& ref, const Hole& hole, std::size_t i, PoseForms& pose);
  void AddPlaceUse(const SourceUse& use, const FeatureRef& ref, std::uint64_t visit,
                   const Vec3& at_P, PoseForms& pose);
  Form SizeForm(const Step& step, const FeatureRef& ref, const Feature& feature, SpreadId spread,
                std::uint64_t visit, double unit, double nominal_mm);
  Form FittedSize(const Step& step, const FeatureRef& ref, const Feature& feature, const Aim& aim,
                  SpreadId spread, std::uint64_t visit);
  Form Lobes(SpreadId spread, const FeatureRef& ref, const Hole& hole);
  Form Oversize(const Step& step, double diameter_mm, std::uint64_t visit);
  SourceIndex WorkedSource(const Step& step, SpreadId cut, const Feature& feature, double low,
                           double high, std::uint64_t visit, const PartId& part);
  void AddReadings(FormSum& sum, const InstrumentId& instrument, const Feature& feature,
                   std::uint64_t key, double sign);
  Form Warmth(const PartId& part, double diameter_mm);
  SourceIndex Draw(SpreadId spread, Law law, std::uint64_t scope, double unit,
                   std::uint64_t salt = 0, double extra = 0);
  std::uint64_t VisitKey(const Step& step, const FeatureRef& ref, std::size_t hole);
  InstrumentId InstrumentFor(const Step& step, const Feature& feature) const;
  SpreadId ReadingOf(const InstrumentId& instrument, const Feature& feature) const;
  int PartIndex(const PartId& part);

  const Machine& machine_;
  const Shop& shop_;
  const Plan& plan_;
  const KnownSetups* known_;
  Analysis& out_;
  std::vector<Joint> joints_;
  AssemblyInput assembly_;
  SetupState now_;
  std::map<PartId, std::shared_ptr<const Form6>> last_seat_P_;
  std::map<PartId, std::uint64_t> last_setup_key_;
  std::map<std::uint64_t, int> setup_counts_;
  std::map<std::uint64_t, int> visit_counts_;
  std::map<PartId, PlacedMap> groups_;  // by the group's first part
  std::map<PartId, PartId> group_of_;
  std::map<PartId, std::uint64_t> instances_;
  std::map<PartId, Play> current_play_;
  std::map<PartId, Play> cut_together_;
  std::map<RequirementId, InstrumentId> trials_;  // measured, and with what
  std::set<PartId> named_;          // parts that some setup of the plan holds
  std::vector<FeatureRef> listed_;  // features that some step of the plan names
  std::map<PartId, std::uint64_t> listed_keys_;  // of these, by part
  std::vector<SettledLean> wet_;        // what the plan sets right of bonded parts
  std::set<PartId> mixed_;          // parts that have been cut or put together with others
  std::map<PartId, std::uint64_t> left_as_;  // of the others: what names how the last setup left them
  Noted* noted_ = nullptr;          // while a reading is taken down
};

}  // namespace fitwright::variation
