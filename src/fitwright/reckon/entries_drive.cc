#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/reckon/drives.h"
#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/reckon/press_fit.h"
#include "fitwright/trade/bearings.h"
#include "fitwright/trade/fits.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

struct Wheels {
  double large_mm = 0;
  double small_mm = 0;
  double pitch_mm = 0;  // 0: no teeth
  double small_teeth = 0;
};

Result<Wheels> WheelsIn(const Given& given) {
  const bool toothed = given.Has("teeth") && given.Has("teeth-large") && given.Has("pitch");
  const bool round = given.Has("small") && given.Has("large");
  if (toothed == round) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "teeth", "",
                              "wheels are teeth, teeth-large and pitch, or small and large",
                              "give the three or the two"));
  }
  Wheels wheels;
  if (toothed) {
    wheels.pitch_mm = given.Number("pitch");
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

struct Interference {
  double least_mm = 0;
  double greatest_mm = 0;
};

Result<Interference> InterferenceIn(const Given& given) {
  if (given.Has("fit") == given.Has("interference")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "fit", "",
                              "a press fit is its fit or its interference", "give one of the two"));
  }
  if (given.Has("interference")) {
    return Interference{given.Number("interference"), given.Number("interference")};
  }
  const std::string& fit = given.Word("fit");
  const std::size_t slash = fit.find('/');
  if (slash == std::string::npos) {
    return Unexpected(Refused(ErrorCode::kUnknownFit, "fit", fit, "a press fit has two classes",
                              "write hole and shaft: H7/p6"));
  }
  const auto hole = trade::FindFit(given.Number("diameter"), fit.substr(0, slash));
  if (!hole) return Unexpected(hole.error());
  const auto shaft = trade::FindFit(given.Number("diameter"), fit.substr(slash + 1));
  if (!shaft) return Unexpected(shaft.error());
  const Interference found{shaft->lower_mm - hole->upper_mm, shaft->upper_mm - hole->lower_mm};
  if (!hole->hole || shaft->hole || found.greatest_mm <= 0) {
    return Unexpected(Refused(ErrorCode::kUnknownFit, "fit", fit,
                              "this fit has no interference, hole first and shaft second",
                              "take a tighter shaft: H7/p6, H7/s6"));
  }
  return found;
}

Table PressTable(const PressJoint& joint, const std::vector<double>& interferences) {
  Table table{"Pressed",
              {{"interference", Kind::kFine},
               {"pressure", Kind::kPressure},
               {"hub hoop", Kind::kPressure},
               {"hub equiv.", Kind::kPressure},
               {"shaft hoop", Kind::kPressure},
               {"force", Kind::kForce},
               {"torque", Kind::kTorque}},
              {}};
  for (const double interference : interferences) {
    const Pressed p = CalcPress(joint, std::max(0.0, interference));
    table.rows.push_back({std::max(0.0, interference), p.pressure_MPa, p.hub_hoop_MPa,
                          p.hub_equivalent_MPa, p.shaft_hoop_MPa, p.force_N, p.torque_Nm});
  }
  return table;
}

Result<Reckoned> PressFit(const Given& given) {
  const auto shaft = MaterialIn(given, "shaft");
  if (!shaft) return Unexpected(shaft.error());
  const auto hub = MaterialIn(given, "hub");
  if (!hub) return Unexpected(hub.error());
  const auto raw = InterferenceIn(given);
  if (!raw) return Unexpected(raw.error());
  PressJoint joint{given.Number("diameter"),
                   given.Number("bore"),
                   given.Number("outside"),
                   given.Number("length"),
                   given.Number("friction"),
                   {(*shaft)->modulus_MPa, PoissonOf(**shaft)},
                   {(*hub)->modulus_MPa, PoissonOf(**hub)}};
  if (joint.bore_mm >= joint.diameter_mm || joint.outside_mm <= joint.diameter_mm) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "diameter",
                              ShowWithUnit(Kind::kLength, joint.diameter_mm, given.unit()),
                              "the fit lies between the shaft's bore and the hub's outside",
                              "check the three diameters"));
  }
  const double flattened = given.Number("flattened");
  Reckoned r;
  std::vector<double> each = {raw->least_mm - flattened};
  if (raw->greatest_mm > raw->least_mm) each.push_back(raw->greatest_mm - flattened);
  r.tables.push_back(PressTable(joint, each));
  const double most = raw->greatest_mm;
  r.Add("greatest interference before fitting", Kind::kFine, most);
  const double rise =
      RiseForRoom_K(joint.diameter_mm, most, given.Number("room"), (*hub)->expansion_per_K);
  r.Add("hub warmer than the shaft by", Kind::kRise, rise);
  r.Add("hub at, with the shaft at 20 degC", Kind::kTemperature, 20 + rise);
  if (raw->least_mm - flattened <= 0) {
    r.cautions.push_back("At its loosest this fit holds by friction not at all.");
  }
  r.notes.push_back(
      "Elastic, hub and shaft of the same length; hold the equivalent stress under the "
      "hub's yield. Friction is an estimate: 0.08 to 0.2 by surface and oil (common "
      "practice).");
  r.source =
      "thick cylinders after Lame, as in DIN 7190-1 and machine-design textbooks; Poisson's "
      "ratios and moduli from memory";
  return r;
}

Result<const trade::Bearing*> BearingIn(const Given& given) {
  const double bore = given.Number("bore");
  const double outside = given.Number("outside");
  for (const trade::Bearing& bearing : trade::Bearings()) {
    if (std::abs(bearing.bore_mm - bore) < 1e-6 && std::abs(bearing.outside_mm - outside) < 1e-6) {
      return &bearing;
    }
  }
  return Unexpected(Refused(ErrorCode::kUnknownBearing, "bore",
                            ShowWithUnit(Kind::kLength, bore, given.unit()),
                            "the tables have no deep groove bearing of this bore and outside",
                            "measure both again; sizes are those of ISO 15"));
}

Result<Reckoned> BearingFit(const Given& given) {
  const auto bearing = BearingIn(given);
  if (!bearing) return Unexpected(bearing.error());
  const trade::Bearing& b = **bearing;
  const auto shaft = trade::FindFit(b.bore_mm, given.Word("shaft"));
  if (!shaft) return Unexpected(shaft.error());
  const auto housing = trade::FindFit(b.outside_mm, given.Word("housing"));
  if (!housing) return Unexpected(housing.error());
  if (shaft->hole || !housing->hole) {
    return Unexpected(Refused(ErrorCode::kUnknownFit, "shaft", given.Word("shaft"),
                              "a shaft's class is a small letter, a housing's a capital",
                              "write shaft=j5 housing=H7"));
  }
  Reckoned r;
  Table sizes{"Sizes",
              {{"of", Kind::kWord}, {"least", Kind::kFine}, {"greatest", Kind::kFine}},
              {{std::string("bearing's bore"), b.bore_mm + b.bore_low_mm, b.bore_mm},
               {std::string("shaft"), b.bore_mm + shaft->lower_mm, b.bore_mm + shaft->upper_mm},
               {std::string("bearing's outside"), b.outside_mm + b.outside_low_mm, b.outside_mm},
               {std::string("housing"), b.outside_mm + housing->lower_mm,
                b.outside_mm + housing->upper_mm}}};
  Table room{"Clearance (interference negative)",
             {{"at the", Kind::kWord}, {"least", Kind::kFine}, {"greatest", Kind::kFine}},
             {{std::string("shaft"), b.bore_low_mm - shaft->upper_mm, -shaft->lower_mm},
              {std::string("housing"), housing->lower_mm, housing->upper_mm - b.outside_low_mm}}};
  r.Add("width of the bearing", Kind::kLength, b.width_mm);
  r.tables = {std::move(sizes), std::move(room)};
  r.notes.push_back(
      "Inner ring turns with the load: j5 or j6 light, k5 normal; inner ring stands: g6 "
      "or h6. Outer ring stands: H7, J7; outer turns: M7 or N7 (makers' practice, from "
      "memory).");
  r.source = "ISO 15 sizes, ISO 492 Normal class, ISO 286";
  return r;
}

}  // namespace

std::vector<Reckoning> DriveEntries() {
  const auto diameter = [](std::string_view name, std::string_view about) {
    return Needs(name, Kind::kLength, about, 0.5, 500);
  };
  return {
      {"belt",
       "Centres or length of an open belt, toothed or round.",
       "teeth=20 teeth-large=40 pitch=5 length=400",
       {Takes("teeth", Kind::kCount, "teeth of the small wheel", 3, 1000),
        Takes("teeth-large", Kind::kCount, "teeth of the large wheel", 3, 1000),
        Takes("pitch", Kind::kLength, "pitch of the belt's teeth", 0.5, 100),
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
      {"press-fit",
       "Pressure, stress, force, torque and heating of a press fit.",
       "diameter=12 outside=30 length=15 fit=H7/s6 shaft=steel hub=brass",
       {diameter("diameter", "where hub and shaft meet"),
        Needs("outside", Kind::kLength, "outside of the hub", 0.5, 5000),
        Usual("bore", Kind::kLength, "0 mm", "bore of a hollow shaft", 0, 500),
        Needs("length", Kind::kLength, "length that is pressed", 0.1, 1000),
        Takes("fit", Kind::kWord, "the fit: H7/p6", 0, 0),
        Takes("interference", Kind::kLength, "or the interference on the diameter", 0, 5),
        Material("shaft", "the shaft's material"), Material("hub", "the hub's material"),
        Usual("friction", Kind::kNumber, "0.12", "coefficient of friction", 0.01, 1),
        Usual("flattened", Kind::kLength, "0 mm",
              "what the surfaces lose: 0.8 x (Rz + Rz) by DIN 7190-1, from memory", 0, 1),
        Usual("room", Kind::kLength, "0.02 mm", "room to slip on when the hub is warm", 0, 5)},
       PressFit},
      {"bearing-fit",
       "A ball bearing on its shaft and in its housing.",
       "bore=8 outside=22 shaft=h6 housing=J7",
       {diameter("bore", "bore of the bearing"), diameter("outside", "outside of the bearing"),
        Needs("shaft", Kind::kWord, "the shaft's tolerance class", 0, 0),
        Needs("housing", Kind::kWord, "the housing's tolerance class", 0, 0)},
       BearingFit},
  };
}

}  // namespace fitwright::reckon
