#include "fitwright/service/solid/part_words.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "fitwright/model/stock_words.h"
#include "fitwright/units/length.h"

namespace fitwright::service {
namespace {

std::string SideText(const Vec3& direction) {
  constexpr double kAlong = 0.999;
  for (int k = 0; k < 3; ++k) {
    if (std::abs(direction[k]) > kAlong) return fmt::format("{}{}", direction[k] > 0 ? '+' : '-', static_cast<char>('x' + k));
  }
  return "an angle";
}

std::string LengthIn(double mm, LengthUnit unit) {
  constexpr int kPlaces_mm = 3;
  constexpr int kPlaces_in = 4;
  return unit == LengthUnit::kInch ? FormatTrimmed(mm / kMmPerInch, kPlaces_in) : FormatTrimmed(mm, kPlaces_mm);
}

// One thing, and the word for several of it.
struct Text {
  std::size_t count = 1;
  std::string one;
  std::string many;
  std::string rest;
};

struct Describe {
  LengthUnit unit;

  std::string L(double mm) const { return LengthIn(mm, unit); }
  std::string Of(const Size& size) const {
    const std::string named = L(size.nominal_mm);
    if (!size.fit.empty()) return named + " " + size.fit;
    if (size.origin == LimitsOrigin::kGeneralTolerance) return named;
    return fmt::format("{} ({} to {})", named, L(size.lower_mm), L(size.upper_mm));
  }
  std::string OnWhat(const FeatureId& name) const {
    std::string text = name.text();
    std::replace(text.begin(), text.end(), '_', ' ');
    return text;
  }

  std::string Places(const Hole& hole) const {
    if (hole.circle) return fmt::format(" on a circle of {}", L(hole.circle->diameter_mm));
    return "";
  }
  Text operator()(const Hole& h) const {
    const char* one = h.use == HoleUse::kBore ? "bore" : h.use == HoleUse::kCounterbore ? "counterbore" : "hole";
    std::string rest = fmt::format(" {}, {} from {}", Of(h.diameter), h.through ? "through" : L(h.depth_mm) + " deep", SideText(-h.into_P));
    if (h.thread) rest += fmt::format(", tapped {} for {}", h.thread->designation, L(h.thread->depth_mm));
    return {h.entries_P_mm.size(), one, std::string(one) + "s", rest + Places(h)};
  }
  Text operator()(const OuterDiameter& o) const {
    return {1, o.spigot ? "spigot" : "outside", o.spigot ? "spigots" : "outsides", fmt::format(" {}, {} long", Of(o.diameter), L(o.to_mm - o.from_mm))};
  }
  Text operator()(const Slot& s) const {
    return {1, "slot", "slots", fmt::format(" {} wide, {} long, {} from {}", Of(s.width), L(s.length_mm), s.through ? "through" : L(s.depth_mm) + " deep", SideText(-s.into_P))};
  }
  Text operator()(const Pocket& p) const {
    return {1, "pocket", "pockets", fmt::format(" {} x {}, {} deep, corners {}, from {}", L(p.length_mm), L(p.width_mm), L(p.depth_mm), L(p.corner_radius_mm), SideText(-p.into_P))};
  }
  Text operator()(const StepCut& s) const {
    const Vec3 size = s.removed_P.size_mm();
    return {1, "step", "steps", fmt::format(" {} x {} x {} from {}", L(size.x()), L(size.y()), L(size.z()), SideText(-s.into_P))};
  }
  Text operator()(const EdgeChamfer& c) const {
    const std::string legs = std::abs(c.leg_a_mm - c.leg_b_mm) < kDrawnAlike_mm ? L(c.leg_a_mm) : L(c.leg_a_mm) + " x " + L(c.leg_b_mm);
    return {1, c.rounded ? "rounded edge" : "chamfered edge", c.rounded ? "rounded edges" : "chamfered edges", " " + legs};
  }
  Text operator()(const RoundChamfer& c) const {
    const char* one = c.countersink ? "countersink" : c.rounded ? "round" : "chamfer";
    return {1, one, std::string(one) + "s", fmt::format(" {} on {}", L(c.axial_mm), OnWhat(c.on))};
  }
  Text operator()(const Groove& g) const {
    return {1, g.undercut ? "undercut" : "groove", g.undercut ? "undercuts" : "grooves",
            fmt::format(" {} wide, {} to {}", L(g.to_mm - g.from_mm), g.internal ? "inside, out" : "down", Of(g.diameter))};
  }
  Text operator()(const Flats& f) const {
    return {static_cast<std::size_t>(f.count), "flat", "flats", fmt::format(" {} across, {} long", Of(f.across), L(f.to_mm - f.from_mm))};
  }
  Text operator()(const Taper& t) const {
    return {1, t.internal ? "taper inside" : "taper", t.internal ? "tapers inside" : "tapers",
            fmt::format(" {} to {}, {} long", Of(t.start_diameter), Of(t.end_diameter), L(t.to_mm - t.from_mm))};
  }
  Text operator()(const ExternalThread& t) const {
    return {1, "thread", "threads", fmt::format(" {}, {} long, on {}", t.designation, L(t.length_mm), OnWhat(t.on))};
  }
  Text operator()(const Keyway& k) const {
    return {1, "keyway", "keyways", fmt::format(" {} wide, {} long", Of(k.width), L(k.to_mm - k.from_mm))};
  }
  Text operator()(const Knurl& k) const {
    return {1, "knurl", "knurls", fmt::format(" of pitch {} on {}", L(k.pitch_mm), OnWhat(k.on))};
  }
  Text operator()(const Marking& m) const {
    return {1, "marking", "markings", fmt::format(" \"{}\"", m.text)};
  }
  Text operator()(const Outline& o) const {
    if (o.within) return {1, "cutout", "cutouts", fmt::format(" of {} sides seen from {}", o.line.size(), SideText(-o.into_P))};
    return {1, "outline", "outlines", fmt::format(" seen from {}", SideText(-o.into_P))};
  }
  Text operator()(const PlanarFace& f) const {
    return {1, "face", "faces", fmt::format(" to {} at {}", SideText(f.normal_P), L(f.at.nominal_mm))};
  }
};

bool SaysSomething(const Feature& feature) {
  const auto* face = std::get_if<PlanarFace>(&feature.shape);
  return face == nullptr || face->at.origin != LimitsOrigin::kGeneralTolerance || feature.finish != Finish::kAsMachined || !feature.geometric.empty();
}

}  // namespace

std::string StockText(const Stock& stock, LengthUnit unit) {
  return StockWords(stock, [&](double mm) { return LengthIn(mm, unit); });
}

std::vector<std::string> FeatureTexts(const Part& part, LengthUnit unit) {
  std::vector<Text> texts;
  for (const Feature& feature : part.features) {
    if (!SaysSomething(feature)) continue;
    Text text = std::visit(Describe{unit}, feature.shape);
    const auto same = std::find_if(texts.begin(), texts.end(), [&](const Text& t) { return t.one == text.one && t.rest == text.rest; });
    if (same == texts.end()) texts.push_back(std::move(text));
    else same->count += text.count;
  }
  std::vector<std::string> lines;
  for (const Text& text : texts) lines.push_back(text.count == 1 ? text.one + text.rest : fmt::format("{} {}{}", text.count, text.many, text.rest));
  return lines;
}

}  // namespace fitwright::service
