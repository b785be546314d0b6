#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/reckon/press_fit.h"
#include "fitwright/trade/bearings.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/inch_fits.h"

namespace fitwright::reckon {
namespace {

constexpr double kMost_mm = trade::kFitRange_mm;
constexpr std::string_view kIsoSource = "ISO 286-1 and -2, sizes over 0 up to 500 mm";
constexpr std::string_view kInchSource = "ASME B4.1, hole basis, up to 4.73 in";

// Deviations from the nominal size, mm.
struct Deviations {
  double lower_mm = 0;
  double upper_mm = 0;
};
struct FitPair {
  std::optional<Deviations> hole;
  std::optional<Deviations> shaft;
  bool inch = false;  // of ASME B4.1
};

Error AtFit(Error error) {
  error.where.key = "fit";
  return error;
}

// "RC3", "fn 2": letters that no class of ISO 286 begins with.
bool IsInchFit(const std::string& text) {
  if (text.size() < 3) return false;
  std::string letters = text.substr(0, 2);
  for (char& c : letters) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  constexpr std::string_view kFamilies[] = {"RC", "LC", "LT", "LN", "FN"};
  return std::find(std::begin(kFamilies), std::end(kFamilies), letters) != std::end(kFamilies);
}

Result<FitPair> ReadInchFit(double size_mm, const std::string& text) {
  const auto fit = trade::FindInchFit(size_mm, text);
  if (!fit) return Unexpected(AtFit(fit.error()));
  return FitPair{Deviations{fit->hole_lower_mm, fit->hole_upper_mm},
                 Deviations{fit->shaft_lower_mm, fit->shaft_upper_mm}, true};
}

// "H7/g6", "g6/H7", "H7", "g6" or "RC3".
Result<FitPair> ReadFit(double size_mm, const std::string& text) {
  if (IsInchFit(text)) return ReadInchFit(size_mm, text);
  FitPair pair;
  const std::size_t slash = text.find('/');
  const auto take = [&](const std::string& name) -> Status {
    const auto limits = trade::FindFit(size_mm, name);
    if (!limits) return Unexpected(AtFit(limits.error()));
    auto& place = limits->hole ? pair.hole : pair.shaft;
    if (place) {
      return Unexpected(Refused(ErrorCode::kUnknownFit, "fit", text,
                                "a fit is a hole and a shaft, and these are two of one",
                                "write one with a capital and one with a small letter: H7/g6"));
    }
    place = Deviations{limits->lower_mm, limits->upper_mm};
    return Ok{};
  };
  const Status first = take(text.substr(0, slash));
  if (!first) return Unexpected(first.error());
  if (slash != std::string::npos) {
    const Status second = take(text.substr(slash + 1));
    if (!second) return Unexpected(second.error());
  }
  return pair;
}

Result<Reckoned> Fit(const Given& given) {
  const double size = given.Number("size");
  const auto pair = ReadFit(size, given.Word("fit"));
  if (!pair) return Unexpected(pair.error());
  Reckoned r;
  Table table{"Limits",
              {{"of", Kind::kWord},
               {"least", Kind::kFine},
               {"greatest", Kind::kFine},
               {"lower dev.", Kind::kFine},
               {"upper dev.", Kind::kFine}},
              {}};
  const auto add = [&](const char* name, const Deviations& limits) {
    table.rows.push_back({std::string(name), size + limits.lower_mm, size + limits.upper_mm,
                          limits.lower_mm, limits.upper_mm});
  };
  if (pair->hole) add("hole", *pair->hole);
  if (pair->shaft) add("shaft", *pair->shaft);
  if (pair->hole && pair->shaft) {
    const double most = pair->hole->upper_mm - pair->shaft->lower_mm;
    const double least = pair->hole->lower_mm - pair->shaft->upper_mm;
    r.AddWord("kind of fit", least >= 0 ? "clearance" : most <= 0 ? "interference" : "transition");
    if (most > 0) r.Add("greatest clearance", Kind::kFine, most);
    if (least > 0) r.Add("least clearance", Kind::kFine, least);
    if (most < 0) r.Add("least interference", Kind::kFine, -most);
    if (least < 0) r.Add("greatest interference", Kind::kFine, -least);
  }
  r.tables.push_back(std::move(table));
  r.source = fmt::format("{}; limits hold at 20 degC", pair->inch ? kInchSource : kIsoSource);
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
  const auto pair = ReadFit(given.Number("diameter"), fit);
  if (!pair) return Unexpected(pair.error());
  if (!pair->hole || !pair->shaft) {
    return Unexpected(Refused(ErrorCode::kUnknownFit, "fit", fit, "a press fit has two classes",
                              "write hole and shaft: H7/p6"));
  }
  const Interference found{pair->shaft->lower_mm - pair->hole->upper_mm,
                           pair->shaft->upper_mm - pair->hole->lower_mm};
  if (found.greatest_mm <= 0) {
    return Unexpected(Refused(ErrorCode::kUnknownFit, "fit", fit, "this fit has no interference",
                              "take a tighter shaft: H7/p6, H7/s6, FN2"));
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
                   {(*shaft)->modulus_MPa, (*shaft)->poisson},
                   {(*hub)->modulus_MPa, (*hub)->poisson}};
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

// A seat's class: as given, or the one for what turns against the load.
Result<std::string> SeatIn(const Given& given, std::string_view seat, std::string_view load,
                           double bore_mm) {
  if (given.Has(seat) == given.Has(load)) {
    return Unexpected(Refused(ErrorCode::kWrongCount, seat, "",
                              fmt::format("a seat is its class ({}) or its load ({})", seat, load),
                              "give one of the two"));
  }
  if (given.Has(seat)) return given.Word(seat);
  const std::string& word = given.Word(load);
  if (load == "housing-load") {
    return std::string(trade::HousingSeat(EnumOf<trade::HousingLoad>(word).value()));
  }
  const auto found = trade::ShaftSeat(bore_mm, EnumOf<trade::ShaftLoad>(word).value());
  if (!found) return Unexpected(found.error());
  return std::string(*found);
}

// Roundness and squareness that Normal class bearings ask of their seats: cylindricity half of IT5,
// shoulders square within IT5 (read, bearing makers).
void AddSeatForm(Reckoned& r, const trade::Bearing& bearing) {
  constexpr int kGrade = 5;
  const double shaft = trade::ToleranceGrade_mm(bearing.bore_mm, kGrade);
  const double housing = trade::ToleranceGrade_mm(bearing.outside_mm, kGrade);
  r.Add("shaft's seat cylindrical within", Kind::kFine, 0.5 * shaft);
  r.Add("shaft's shoulder square within", Kind::kFine, shaft);
  r.Add("housing's seat cylindrical within", Kind::kFine, 0.5 * housing);
  r.Add("housing's shoulder square within", Kind::kFine, housing);
}

Result<Reckoned> BearingFit(const Given& given) {
  const auto bearing = BearingIn(given);
  if (!bearing) return Unexpected(bearing.error());
  const trade::Bearing& b = **bearing;
  const auto shaft_class = SeatIn(given, "shaft", "shaft-load", b.bore_mm);
  if (!shaft_class) return Unexpected(shaft_class.error());
  const auto housing_class = SeatIn(given, "housing", "housing-load", b.bore_mm);
  if (!housing_class) return Unexpected(housing_class.error());
  const auto shaft = trade::FindFit(b.bore_mm, *shaft_class);
  if (!shaft) return Unexpected(shaft.error());
  const auto housing = trade::FindFit(b.outside_mm, *housing_class);
  if (!housing) return Unexpected(housing.error());
  if (shaft->hole || !housing->hole) {
    return Unexpected(Refused(ErrorCode::kUnknownFit, "shaft", *shaft_class,
                              "a shaft's class is a small letter, a housing's a capital",
                              "write shaft=j5 housing=H7"));
  }
  Reckoned r;
  Table sizes{"Sizes",
              {{"of", Kind::kWord}, {"least", Kind::kFine}, {"greatest", Kind::kFine}},
              {{std::string("bearing's bore"), b.bore_mm + b.bore_low_mm, b.bore_mm},
               {"shaft " + *shaft_class, b.bore_mm + shaft->lower_mm, b.bore_mm + shaft->upper_mm},
               {std::string("bearing's outside"), b.outside_mm + b.outside_low_mm, b.outside_mm},
               {"housing " + *housing_class, b.outside_mm + housing->lower_mm,
                b.outside_mm + housing->upper_mm}}};
  Table room{"Clearance (interference negative)",
             {{"at the", Kind::kWord}, {"least", Kind::kFine}, {"greatest", Kind::kFine}},
             {{std::string("shaft"), b.bore_low_mm - shaft->upper_mm, -shaft->lower_mm},
              {std::string("housing"), housing->lower_mm, housing->upper_mm - b.outside_low_mm}}};
  r.Add("width of the bearing", Kind::kLength, b.width_mm);
  AddSeatForm(r, b);
  r.tables = {std::move(sizes), std::move(room)};
  r.notes.push_back(
      "The ring that turns against the load takes the tight seat, the other may slide (seats by "
      "load: makers' practice, from memory).");
  r.source = "ISO 15 sizes, ISO 492 Normal class, ISO 286; form of the seats as makers ask it";
  return r;
}

}  // namespace

std::vector<Reckoning> FitEntries() {
  const auto diameter = [](std::string_view name, std::string_view about) {
    return Needs(name, Kind::kLength, about, 0.5, 500);
  };
  return {
      {"fit",
       "Limits of a hole, a shaft or both, and the clearance or interference between.",
       "size=25 fit=H7/g6",
       {Needs("size", Kind::kLength, "nominal size", kLeastLength_mm, kMost_mm),
        Needs("fit", Kind::kWord, "tolerance class: H7, g6 or both, H7/g6; or an inch fit: RC3", 0,
              0)},
       Fit},
      {"press-fit",
       "Pressure, stress, force, torque and heating of a press fit.",
       "diameter=12 outside=30 length=15 fit=H7/s6 shaft=steel hub=brass",
       {diameter("diameter", "where hub and shaft meet"),
        Needs("outside", Kind::kLength, "outside of the hub", 0.5, 5000),
        Usual("bore", Kind::kLength, "0 mm", "bore of a hollow shaft", 0, 500),
        Needs("length", Kind::kLength, "length that is pressed", 0.1, 1000),
        Takes("fit", Kind::kWord, "the fit: H7/p6, or FN2", 0, 0),
        Takes("interference", Kind::kLength, "or the interference on the diameter", 0, 5),
        Material("shaft", "the shaft's material"), Material("hub", "the hub's material"),
        Usual("friction", Kind::kNumber, "0.12", "coefficient of friction", 0.01, 1),
        Usual("flattened", Kind::kLength, "0 mm",
              "what the surfaces lose: 0.8 x (Rz + Rz) by DIN 7190-1, from memory", 0, 1),
        Usual("room", Kind::kLength, "0.02 mm", "room to slip on when the hub is warm", 0, 5)},
       PressFit},
      {"bearing-fit",
       "A ball bearing on its shaft and in its housing.",
       "bore=8 outside=22 shaft-load=light housing-load=still_usually_slides",
       {diameter("bore", "bore of the bearing"), diameter("outside", "outside of the bearing"),
        Takes("shaft", Kind::kWord, "the shaft's tolerance class", 0, 0),
        Among("shaft-load", "or the load on the inner ring: still, or turning against it",
              "still_must_slide still light normal"),
        Takes("housing", Kind::kWord, "the housing's tolerance class", 0, 0),
        Among("housing-load", "or the load on the outer ring",
              "still_slides still_usually_slides undecided turning")},
       BearingFit},
  };
}

}  // namespace fitwright::reckon
