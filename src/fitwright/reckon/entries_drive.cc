#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/reckon/drives.h"
#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/trade/belts.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

struct Wheels {
  double large_mm = 0;
  double small_mm = 0;
  double pitch_mm = 0;  // 0: no teeth
  double small_teeth = 0;
  const trade::ToothedBelt* belt = nullptr;  // by name
};

Result<Wheels> WheelsIn(const Given& given) {
  const bool pitched = given.Has("pitch") || given.Has("belt");
  const bool toothed = given.Has("teeth") && given.Has("teeth-large") && pitched;
  const bool round = given.Has("small") && given.Has("large");
  if (toothed == round || (given.Has("pitch") && given.Has("belt"))) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "teeth", "",
                              "wheels are teeth, teeth-large and one of belt and pitch, or small "
                              "and large",
                              "give the three or the two"));
  }
  Wheels wheels;
  if (toothed) {
    if (given.Has("belt")) wheels.belt = trade::FindToothedBelt(given.Word("belt"));
    wheels.pitch_mm = wheels.belt != nullptr ? wheels.belt->pitch_mm : given.Number("pitch");
    wheels.small_teeth = given.Number("teeth");
    wheels.small_mm = wheels.pitch_mm * wheels.small_teeth / kPi;
    wheels.large_mm = wheels.pitch_mm * given.Number("teeth-large") / kPi;
  } else {
    wheels.small_mm = given.Number("small");
    wheels.large_mm = given.Number("large");
  }
  if (wheels.small_mm > wheels.large_mm) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, toothed ? "teeth" : "small", "",
                              "the small wheel is larger than the large one", "swap them"));
  }
  return wheels;
}

void AddBeltAt(Reckoned& r, const Wheels& wheels, double centres_mm) {
  const double wrap = WrapOfSmall_rad(wheels.large_mm, wheels.small_mm, centres_mm);
  r.Add("belt lies round the small wheel", Kind::kAngle, wrap);
  if (wheels.pitch_mm > 0) {
    const double mesh = wheels.small_teeth * wrap / (2 * kPi);
    r.Add("teeth in mesh", Kind::kNumber, mesh);
    if (mesh < 6) {
      r.cautions.push_back(
          "Fewer than six teeth in mesh: the belt carries less than it is rated for "
          "(common practice).");
    }
  }
  const Vec2 far(centres_mm, 0);
  const double tilt = std::asin(0.5 * (wheels.large_mm - wheels.small_mm) / centres_mm);
  for (const double side : {1.0, -1.0}) {
    const Vec2 out(std::sin(tilt), side * std::cos(tilt));
    r.drawing.stretches.push_back(
        {0.5 * wheels.large_mm * out, far + 0.5 * wheels.small_mm * out, Style::kVisible});
  }
  r.drawing.stretches.push_back({Vec2(0, 0), far, Style::kCentre});
  r.drawing.rounds = {{Vec2(0, 0), 0.5 * wheels.large_mm}, {far, 0.5 * wheels.small_mm}};
}

// The whole-tooth belts at or next to a centre distance.
void AddWholeBelts(Reckoned& r, const Wheels& wheels, double length_mm) {
  Table table{"Belts of whole teeth",
              {{"teeth", Kind::kCount}, {"length", Kind::kLength}, {"centres", Kind::kFine}},
              {}};
  const double teeth = std::floor(length_mm / wheels.pitch_mm + 1e-9);
  for (const double n : {teeth, teeth + 1}) {
    const auto centres = CentresOfBelt_mm(wheels.large_mm, wheels.small_mm, n * wheels.pitch_mm);
    if (centres) table.rows.push_back({n, n * wheels.pitch_mm, *centres});
  }
  r.tables.push_back(std::move(table));
}

// What a belt by name tells of its wheels: the outside, where the tables have how far it lies under
// the pitch line.
void AddWheelOutsides(Reckoned& r, const Wheels& wheels) {
  if (wheels.belt == nullptr) return;
  r.Add("pitch of the teeth", Kind::kLength, wheels.pitch_mm);
  const double under = wheels.belt->under_pitch_line_mm;
  if (under > 0) {
    r.Add("small wheel, outside over the teeth", Kind::kLength, wheels.small_mm - under);
    r.Add("large wheel, outside over the teeth", Kind::kLength, wheels.large_mm - under);
  } else {
    r.notes.push_back("The outside diameters of these wheels are not in the tables.");
  }
}

Result<Reckoned> Belt(const Given& given) {
  const auto wheels = WheelsIn(given);
  if (!wheels) return Unexpected(wheels.error());
  if (given.Has("length") == given.Has("centres")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "length", "",
                              "a belt drive is found from its length or from its centres",
                              "give one of the two"));
  }
  Reckoned r;
  r.Add("small wheel, pitch diameter", Kind::kLength, wheels->small_mm);
  r.Add("large wheel, pitch diameter", Kind::kLength, wheels->large_mm);
  r.Add("ratio", Kind::kNumber, wheels->large_mm / wheels->small_mm);
  AddWheelOutsides(r, *wheels);
  double centres = 0;
  if (given.Has("length")) {
    const auto found = CentresOfBelt_mm(wheels->large_mm, wheels->small_mm, given.Number("length"));
    if (!found) return Unexpected(found.error());
    centres = *found;
    r.Add("centres", Kind::kFine, centres);
  } else {
    centres = given.Number("centres");
    if (centres < 0.5 * (wheels->large_mm + wheels->small_mm)) {
      return Unexpected(Refused(
          ErrorCode::kOutOfRange, "centres", ShowWithUnit(Kind::kLength, centres, given.unit()),
          "at these centres the wheels run into each other", "set them further apart"));
    }
    const double length = BeltLength_mm(wheels->large_mm, wheels->small_mm, centres);
    r.Add("length of the belt", Kind::kFine, length);
    if (wheels->pitch_mm > 0) AddWholeBelts(r, *wheels, length);
  }
  AddBeltAt(r, *wheels, centres);
  r.source =
      "geometry of an open belt, exact: L = 2 C cos a + pi / 2 (D + d) + a (D - d), "
      "sin a = (D - d) / 2 C; toothed pitch diameter = teeth x pitch / pi";
  if (wheels->belt != nullptr) {
    r.source += fmt::format("; pitch {}, from memory", wheels->belt->standard);
  }
  return r;
}

Result<Reckoned> Gears(const Given& given) {
  if (given.Has("module") == given.Has("dp")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "module", "",
                              "a tooth's size is given once: module or dp", "give one of the two"));
  }
  const double module =
      given.Has("module") ? given.Number("module") : kMmPerInch / given.Number("dp");
  const int first = given.Count("teeth");
  const int second = given.Count("teeth-second");
  Reckoned r;
  r.Add("centres", Kind::kFine, 0.5 * module * (first + second));
  r.Add("ratio", Kind::kNumber, static_cast<double>(second) / first);
  r.Add("module", Kind::kFine, module);
  r.Add("diametral pitch", Kind::kNumber, kMmPerInch / module);
  r.Add("whole depth", Kind::kLength, kWholeDepth * module);
  Table table{"Gears",
              {{"teeth", Kind::kCount},
               {"pitch dia.", Kind::kLength},
               {"outside", Kind::kLength},
               {"root", Kind::kLength}},
              {}};
  for (const int teeth : {first, second}) {
    const SpurGear gear = MakeSpurGear(teeth, module);
    table.rows.push_back(
        {static_cast<double>(teeth), gear.pitch_mm, gear.outside_mm, gear.root_mm});
  }
  r.tables.push_back(std::move(table));
  if (std::min(first, second) < 17) {
    r.notes.push_back(
        "Under 17 teeth a 20 deg cutter undercuts the flank (geometry: 2 / sin^2 20 deg "
        "= 17.1).");
  }
  r.notes.push_back(
      "Dedendum 1.25 modules (ISO 53); older diametral-pitch cutters sink to 1.157 "
      "(common practice). Without backlash.");
  r.source = "pitch diameter = module x teeth, outside + 2 modules, root - 2.5 modules (ISO 53)";
  const double a = 0.5 * module * first;
  const double b = 0.5 * module * second;
  r.drawing.rounds = {{Vec2(0, 0), a, Style::kCentre},
                      {Vec2(0, 0), a + module, Style::kVisible},
                      {Vec2(a + b, 0), b, Style::kCentre},
                      {Vec2(a + b, 0), b + module, Style::kVisible}};
  r.drawing.stretches = {{Vec2(0, 0), Vec2(a + b, 0), Style::kCentre}};
  return r;
}

}  // namespace

std::vector<Reckoning> DriveEntries() {
  return {
      {"belt",
       "Centres or length of an open belt, toothed or round.",
       "teeth=20 teeth-large=40 belt=T5 length=400",
       {Takes("teeth", Kind::kCount, "teeth of the small wheel", 3, 1000),
        Takes("teeth-large", Kind::kCount, "teeth of the large wheel", 3, 1000),
        Among("belt", "the toothed belt", "MXL XXL XL L H XH XXH 3M 5M 8M 14M T2.5 T5 T10"),
        Takes("pitch", Kind::kLength, "or the pitch of its teeth", 0.5, 100),
        Takes("small", Kind::kLength, "or the small wheel's pitch diameter"),
        Takes("large", Kind::kLength, "and the large wheel's"),
        Takes("length", Kind::kLength, "pitch length of the belt"),
        Takes("centres", Kind::kLength, "or the centre distance")},
       Belt},
      {"gears",
       "Spur gears of standard proportions: centres and diameters.",
       "teeth=20 teeth-second=50 module=1",
       {Needs("teeth", Kind::kCount, "teeth of the first", 5, 1000),
        Needs("teeth-second", Kind::kCount, "teeth of the second", 5, 1000),
        Takes("module", Kind::kLength, "module", 0.05, 50),
        Takes("dp", Kind::kNumber, "or diametral pitch, teeth to an inch of diameter", 0.5, 500)},
       Gears},
  };
}

}  // namespace fitwright::reckon
