#include "fitwright/solid/crossing.h"

#include <BOPAlgo_BOP.hxx>
#include <BOPAlgo_PaveFiller.hxx>
#include <BRepBndLib.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRep_Builder.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <ShapeUpgrade_UnifySameDomain.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopTools_ListOfShape.hxx>
#include <TopoDS_Compound.hxx>
#include <algorithm>
#include <cmath>

#include "fitwright/solid/cut.h"
#include "fitwright/solid/measure.h"
#include "fitwright/solid/probe.h"

namespace fitwright::solid {
namespace {

// Last way when a tool just touches what it should not cut: moved by so much, in a direction that
// is no part's own, it crosses cleanly. Costs at most this times the tool's area: 0.002 mm3 on 1000
// mm2.
constexpr double kNudge_mm = 2e-6;

Bnd_Box RoughBox(const TopoDS_Shape& shape) {
  Bnd_Box box;
  BRepBndLib::Add(shape, box, false);
  return box;
}

BOPAlgo_Operation ToKernel(SetOperation operation) {
  switch (operation) {
    case SetOperation::kBodyWithoutTools:
      return BOPAlgo_CUT;
    case SetOperation::kToolsWithoutBody:
      return BOPAlgo_CUT21;
    case SetOperation::kShared:
      return BOPAlgo_COMMON;
    case SetOperation::kAll:
      break;
  }
  return BOPAlgo_FUSE;
}

// The faces that the cut made or changed, by the kernel's own rules.
bool NewFacesSound(const Solid& body, const Solid& left) {
  if (left.empty()) return true;
  TopTools_IndexedMapOfShape before;
  TopExp::MapShapes(ShapeOf(body), TopAbs_FACE, before);
  BRep_Builder builder;
  TopoDS_Compound fresh;
  builder.MakeCompound(fresh);
  for (TopExp_Explorer it(ShapeOf(left), TopAbs_FACE); it.More(); it.Next()) {
    if (!before.Contains(it.Current())) builder.Add(fresh, it.Current());
  }
  return BRepCheck_Analyzer(fresh).IsValid();
}

std::vector<Solid> Nudged(const std::vector<Solid>& tools, double by_mm) {
  // Each its own way (golden angle on the sphere), so that tools that touch each other part as
  // well.
  std::vector<Solid> nudged;
  for (std::size_t i = 0; i < tools.size(); ++i) {
    const double turn = 2.399963 * static_cast<double>(i + 1);
    const double z = 0.62 - 1.1 * std::fmod(0.618034 * static_cast<double>(i), 1.0);
    const double r = std::sqrt(1 - z * z);
    Pose pose = Pose::Identity();
    pose.translation() = by_mm * Vec3(r * std::cos(turn), r * std::sin(turn), z);
    nudged.push_back(Moved(tools[i], pose));
  }
  return nudged;
}

std::optional<Solid> TryEveryWay(const Solid& body, const std::vector<Solid>& tools) {
  for (const double fuzzy_mm : {0.0, kFuzzy_mm, 10 * kFuzzy_mm}) {
    if (std::optional<Solid> left = TryCut(body, tools, fuzzy_mm)) return left;
  }
  for (const double by_mm : {kNudge_mm, -kNudge_mm}) {
    if (std::optional<Solid> left = TryCut(body, Nudged(tools, by_mm), 0)) return left;
  }
  return std::nullopt;
}

}  // namespace

struct Crossing::Filler {
  BOPAlgo_PaveFiller kernel;
};

Crossing::Crossing(const Solid& body, const std::vector<Solid>& tools, double fuzzy_mm)
    : body_(body), tools_(tools), filler_(std::make_unique<Filler>()) {
  TopTools_ListOfShape all;
  all.Append(ShapeOf(body_));
  for (const Solid& tool : tools_) all.Append(ShapeOf(tool));
  filler_->kernel.SetArguments(all);
  filler_->kernel.SetNonDestructive(true);
  filler_->kernel.SetRunParallel(false);
  if (fuzzy_mm > 0) filler_->kernel.SetFuzzyValue(fuzzy_mm);
  filler_->kernel.Perform();
}

Crossing::~Crossing() = default;

std::optional<Solid> Crossing::Get(SetOperation operation) const {
  if (filler_->kernel.HasErrors()) return std::nullopt;
  BOPAlgo_BOP bop;
  bop.AddArgument(ShapeOf(body_));
  for (const Solid& tool : tools_) bop.AddTool(ShapeOf(tool));
  bop.SetOperation(ToKernel(operation));
  bop.SetNonDestructive(true);
  bop.SetRunParallel(false);
  bop.PerformWithFiller(filler_->kernel);
  if (bop.HasErrors() || !ShellsClosed(bop.Shape())) return std::nullopt;
  return Wrap(bop.Shape());
}

bool BoxesMiss(const Solid& a, const Solid& b) {
  return RoughBox(ShapeOf(a)).IsOut(RoughBox(ShapeOf(b)));
}

bool ShellsClosed(const TopoDS_Shape& shape) {
  for (TopExp_Explorer it(shape, TopAbs_SHELL); it.More(); it.Next()) {
    if (!BRep_Tool::IsClosed(it.Current())) return false;
  }
  return true;
}

bool SameVolume(double a_mm3, double b_mm3) {
  return std::abs(a_mm3 - b_mm3) <=
         kVolumeCheck_mm3 + kVolumeCheck * std::max(std::abs(a_mm3), std::abs(b_mm3));
}

bool AddUp(const Solid& a, const Solid& b, const Solid& whole) {
  return SameVolume(CalcQuickVolume_mm3(a) + CalcQuickVolume_mm3(b), CalcQuickVolume_mm3(whole)) ||
         SameVolume(CalcVolume_mm3(a) + CalcVolume_mm3(b), CalcVolume_mm3(whole));
}

Solid Unified(const Solid& solid, double volume_mm3) {
  if (solid.empty()) return solid;
  try {
    ShapeUpgrade_UnifySameDomain unify(ShapeOf(solid), true, true, false);
    unify.SetSafeInputMode(true);
    unify.Build();
    const Solid joined = Wrap(unify.Shape());
    if (joined.empty() || !ShellsClosed(ShapeOf(joined))) return solid;
    const bool same = CountPieces(joined) == CountPieces(solid) &&
                      SameVolume(CalcQuickVolume_mm3(joined), volume_mm3);
    return same ? joined : solid;
  } catch (const Standard_Failure&) {
    return solid;
  }
}

Error NotBelieved(const char* what) {
  return KernelError(what, "no way of cutting gave a closed solid of the right volume");
}

std::optional<Solid> TryCut(const Solid& body, const std::vector<Solid>& tools, double fuzzy_mm,
                            const Believed& believed) {
  try {
    const Crossing crossing(body, tools, fuzzy_mm);
    const std::optional<Solid> left = crossing.Get(SetOperation::kBodyWithoutTools);
    if (left && believed && believed(*left)) return left;
    const std::optional<Solid> taken = crossing.Get(SetOperation::kShared);
    if (!left || !taken) return std::nullopt;
    if (!AddUp(*left, *taken, body)) return std::nullopt;
    const Solid unified = Unified(*left, CalcQuickVolume_mm3(*left));
    if (!NewFacesSound(body, unified) || !IsCutSound(body, tools, unified)) return std::nullopt;
    return unified;
  } catch (const Standard_Failure&) {
    return std::nullopt;
  }
}

std::optional<Solid> TryCutOneByOne(const Solid& body, const std::vector<Solid>& tools) {
  Solid left = body;
  for (const Solid& tool : tools) {
    if (left.empty()) return left;
    if (BoxesMiss(left, tool)) continue;
    const std::optional<Solid> next = TryEveryWay(left, {tool});
    if (!next) return std::nullopt;
    left = *next;
  }
  return left;
}

}  // namespace fitwright::solid
