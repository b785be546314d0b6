// One requirement of the machine on its way to forms. Internal to variation/.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fitwright/variation/analysis.h"

namespace fitwright::variation {

class RequirementMaker {
 public:
  RequirementMaker(const AssemblyInput& input, const PlacedMap& placed,
                   const std::vector<Play>& plays, const Requirement& requirement)
      : in_(input), placed_(placed), plays_(plays), r_(requirement) {}

  Result<RequirementForms> Make();

 private:
  std::vector<FeatureRef> Subjects() const;
  Status NeedMade(const FeatureRef& ref);
  Unexpected WrongKind(const FeatureRef& ref, const std::string& wanted) const;
  const FeatureForms& FormsOf(const FeatureRef& ref) const { return in_.features->at(ref); }

  // Move of plus's feature less minus's, at a point, in W.
  Form Difference(const FeatureRef& plus, const FeatureRef& minus, const Vec3& p,
                  const Vec3& n) const;
  // The same where run-off of a drilled hole counts too.
  Form DeepDifference(const FeatureRef& plus, const FeatureRef& minus, const Vec3& p,
                      const Vec3& n) const;
  void AddDeepMove(FormSum& sum, const FeatureRef& ref, std::size_t hole, const Vec3& p,
                   const Vec3& n, double factor) const;
  Form TurnDifference(const Vec3& n) const;
  void AddTurnInW(FormSum& sum, const FeatureRef& ref, const Vec3& n, double factor) const;
  void LimitMagnitude();
  void AddSizeAt(FormSum& sum, const FeatureRef& ref, const Datum& datum, const Vec3& z, double at,
                 double factor) const;
  bool StandOnFace() const;
  static Vec3 Across(const Datum& a, const Datum& b);
  Form DistanceForm(const FeatureRef& a, const FeatureRef& b,
                    const std::optional<Vec3>& at_W) const;
  const Joint* ScrewedJoint() const;
  const Joint* PinnedJoint() const;  // the named joint, when its pins are stated
  Unexpected NoScrews() const;
  std::vector<SourceIndex> OwnPlays(const Joint& joint) const;
  Form AxialPlayShare(const FeatureRef& ref) const;
  std::optional<FeatureRef> FaceAt(const PartId& part, const Vec3& p_W, const Vec3& n_W) const;

  Result<RequirementForms> MakeClearance(double sign);
  Result<RequirementForms> MakeStep();
  Result<RequirementForms> MakeAngle();
  Result<RequirementForms> MakeDistance();
  Result<RequirementForms> MakeAxesMeet();
  Result<RequirementForms> MakeOnOneLine();
  Result<RequirementForms> MakeEndFloat();
  Result<RequirementForms> MakeFormula();
  Result<RequirementForms> MakeEngagement();
  Result<RequirementForms> MakeWallLeft();
  Result<RequirementForms> MakeWallOfFaces();
  Result<RequirementForms> MakeScrews();
  Result<RequirementForms> MakePins(const Joint& joint);

  const AssemblyInput& in_;
  const PlacedMap& placed_;
  const std::vector<Play>& plays_;
  const Requirement& r_;
  RequirementForms out_;
  Datum a_;
  Datum b_;
};

}  // namespace fitwright::variation
