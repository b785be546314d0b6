#include "fitwright/recognize/fit_proposals.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "fitwright/trade/fits.h"
#include "fitwright/units/length.h"

namespace fitwright::recognize {
namespace {

constexpr double kDrawnAtName_mm = 0.002;
constexpr double kBearingOff_mm = 0.03;  // a bearing's seat may be drawn at the middle of its limits

// Preferred fits of ISO 286-2, by use: common practice.
struct UsualFit {
  std::string_view bore;
  std::string_view shaft;
  std::string_view why;
};
std::optional<UsualFit> UsualFor(JointKind kind) {
  switch (kind) {
    case JointKind::kSpigotInBore:
      return UsualFit{"H7", "g6", "goes in by hand and is found again where it was"};
    case JointKind::kSliderInBore:
      return UsualFit{"H7", "g6", "slides without shake"};
    case JointKind::kRunningFit:
      return UsualFit{"H7", "f7", "runs with oil in between"};
    case JointKind::kHubOnShaft:
      return UsualFit{"H7", "h6", "pushed on by hand, held by its key, pin or screw"};
    case JointKind::kBearingSeat:
      return UsualFit{"H7", "", "the outer ring stands still and is pushed in"};
    case JointKind::kBearingOnShaft:
      return UsualFit{"", "h6", "a light load; the ring is pushed on"};
    default:
      return std::nullopt;
  }
}

struct Side {
  FeatureRef ref;
  const Size* size = nullptr;
  bool made = false;
};

class Fitter {
 public:
  Fitter(const std::set<FeatureRef>& settled, AssemblyReading& reading)
      : settled_(settled), reading_(reading) {}

  void Run() {
    for (const Joint& joint : reading_.machine.joints) {
      const auto usual = UsualFor(joint.kind);
      if (!usual) continue;
      const auto sides = SidesOf(joint);
      if (!sides) continue;
      const auto& [bore, shaft] = *sides;
      const auto name_mm = NameOf(bore, shaft, *usual);
      if (!name_mm) continue;
      Take(bore, *name_mm, usual->bore, usual->why);
      Take(shaft, *name_mm, usual->shaft, usual->why);
    }
  }

 private:
  static bool IsOpen(const Size& size) { return size.origin == LimitsOrigin::kGeneralTolerance; }

  std::optional<std::pair<Side, Side>> SidesOf(const Joint& joint) const {
    std::optional<Side> bore, shaft;
    for (const FeatureRef& ref : {joint.fixed, joint.moving}) {
      const Feature* feature = reading_.machine.Find(ref);
      if (feature == nullptr) return std::nullopt;
      const bool made = reading_.machine.FindBought(SheetIdOf(ref.part)) == nullptr;
      if (const auto* hole = std::get_if<Hole>(&feature->shape)) bore = Side{ref, &hole->diameter, made};
      if (const auto* outer = std::get_if<OuterDiameter>(&feature->shape))
        shaft = Side{ref, &outer->diameter, made};
    }
    if (!bore || !shaft) return std::nullopt;
    return std::pair{*bore, *shaft};
  }

  static bool Lies(const Size& drawn, double name_mm, std::string_view fit) {
    const auto limits = trade::FindFit(name_mm, fit);
    const double off_mm = drawn.nominal_mm - name_mm;
    return limits && off_mm > limits->lower_mm - kDrawnAtName_mm &&
           off_mm < limits->upper_mm + kDrawnAtName_mm;
  }

  // The size that both are called by; nothing where limits are stated or a clearance is drawn.
  static std::optional<double> NameOf(const Side& bore, const Side& shaft, const UsualFit& usual) {
    if (bore.made != shaft.made) {
      const Side& made = bore.made ? bore : shaft;
      const Side& bought = bore.made ? shaft : bore;
      const double off_mm = std::abs(made.size->nominal_mm - bought.size->nominal_mm);
      return off_mm < kBearingOff_mm ? std::optional(bought.size->nominal_mm) : std::nullopt;
    }
    if (!bore.made || !IsOpen(*bore.size) || !IsOpen(*shaft.size)) {
      // One of them has its fit from another joint: the other goes by the same name.
      const Size& stated = IsOpen(*bore.size) ? *shaft.size : *bore.size;
      const Size& open = IsOpen(*bore.size) ? *bore.size : *shaft.size;
      const bool alike = stated.origin == LimitsOrigin::kFit && IsOpen(open) &&
                         std::abs(open.nominal_mm - stated.nominal_mm) < kDrawnAtName_mm;
      return alike ? std::optional(stated.nominal_mm) : std::nullopt;
    }
    if (std::abs(bore.size->nominal_mm - shaft.size->nominal_mm) < kDrawnAtName_mm)
      return bore.size->nominal_mm;
    const double half_mm = std::round(2 * bore.size->nominal_mm) / 2;
    const bool meant = half_mm > 0 && Lies(*bore.size, half_mm, usual.bore) &&
                       Lies(*shaft.size, half_mm, usual.shaft);
    return meant ? std::optional(half_mm) : std::nullopt;
  }

  // Into its part, what mirrors it, and what it mirrors.
  void Take(const Side& side, double name_mm, std::string_view fit, std::string_view why) {
    const PartId sheet = SheetIdOf(side.ref.part);
    if (fit.empty() || !side.made || settled_.contains({sheet, side.ref.feature})) return;
    const auto size = trade::MakeFitSize(name_mm, fit);
    if (!size) return;
    const Part* named = reading_.machine.FindPart(sheet);
    const PartId original = named != nullptr && named->mirror_of ? *named->mirror_of : sheet;
    for (std::size_t i = 0; i < reading_.machine.parts.size(); ++i) {
      Part& part = reading_.machine.parts[i];
      if (part.name != original && part.mirror_of != original) continue;
      for (Feature& feature : part.features) {
        if (feature.name != side.ref.feature || !Set(feature, *size) || part.mirror_of) continue;
        reading_.parts[i].push_back(
            {fmt::format("features.{}.fit", feature.name.text()),
             fmt::format("drawn with no limits at {} mm; {} {} (ISO 286-2, common practice)",
                         FormatTrimmed(name_mm, 3), fit, why)});
      }
    }
  }

  static bool Set(Feature& feature, const Size& size) {
    auto* hole = std::get_if<Hole>(&feature.shape);
    auto* outer = std::get_if<OuterDiameter>(&feature.shape);
    Size* own = hole != nullptr ? &hole->diameter : outer != nullptr ? &outer->diameter : nullptr;
    if (own == nullptr || !IsOpen(*own)) return false;
    *own = size;
    return true;
  }

  const std::set<FeatureRef>& settled_;
  AssemblyReading& reading_;
};

}  // namespace

void ProposeFits(const std::set<FeatureRef>& settled, AssemblyReading& reading) {
  Fitter(settled, reading).Run();
}

}  // namespace fitwright::recognize
