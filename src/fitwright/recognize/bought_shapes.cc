#include "fitwright/recognize/bought_shapes.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "fitwright/model/material.h"
#include "fitwright/trade/bearings.h"
#include "fitwright/trade/circlips.h"
#include "fitwright/trade/fasteners.h"
#include "fitwright/trade/fits.h"
#include "fitwright/trade/general_tolerance.h"
#include "fitwright/units/length.h"

namespace fitwright::recognize {
namespace {

std::string Mm(double mm) { return FormatTrimmed(mm, 3); }

bool AboutTheSame(double a, double b) {
  return std::abs(a - b) <= std::max(0.02 * std::abs(b), 0.02);
}

// One outer diameter of the body, along its turning axis.
struct Section {
  double from_mm = 0;
  double to_mm = 0;
  double diameter_mm = 0;
  double length_mm() const { return to_mm - from_mm; }
};

// The body as the turned parts among the standards are: sections, an axial hole, cones, flats.
struct Profile {
  std::vector<Section> sections;  // ascending along the axis
  const Hole* bore = nullptr;     // about the axis
  const Taper* cone = nullptr;    // outside
  const Flats* flats = nullptr;
  bool socket = false;            // a blind hollow of straight walls round the axis, for a key
  bool plain = true;  // nothing else that counts
  double length_mm = 0;
};

bool AboutAxis(const Part& part, const Vec3& point, const Vec3& direction) {
  const Axis3& axis = part.turning_axis_P;
  return axis.direction.cross(direction).norm() < 1e-6 &&
         (point - axis.point_mm).cross(axis.direction).norm() < kDrawnAlike_mm;
}

bool IsSocket(const Part& part, const Outline& cut) {
  const Axis3& axis = part.turning_axis_P;
  const Vec3 off = axis.point_mm - cut.origin_P_mm;
  return cut.within && cut.depth_mm > 0 && cut.into_P.cross(axis.direction).norm() < 1e-6 &&
         Encloses(cut.line, {cut.u_P.dot(off), cut.v_P.dot(off)});
}

std::optional<Profile> ProfileOf(const Part& part) {
  if (part.envelope != EnvelopeKind::kTurned) return std::nullopt;
  Profile profile;
  for (const Feature& feature : part.features) {
    if (const auto* outer = std::get_if<OuterDiameter>(&feature.shape)) {
      profile.sections.push_back({outer->from_mm, outer->to_mm, outer->diameter.middle_mm()});
    } else if (const auto* hole = std::get_if<Hole>(&feature.shape)) {
      const bool axial =
          hole->entries_P_mm.size() == 1 && AboutAxis(part, hole->entries_P_mm[0], hole->into_P);
      profile.plain &= axial && profile.bore == nullptr;
      profile.bore = hole;
    } else if (const auto* taper = std::get_if<Taper>(&feature.shape)) {
      profile.plain &= !taper->internal && profile.cone == nullptr;
      profile.cone = taper;
    } else if (const auto* flats = std::get_if<Flats>(&feature.shape)) {
      profile.plain &= profile.flats == nullptr;
      profile.flats = flats;
    } else if (const auto* cut = std::get_if<Outline>(&feature.shape)) {
      profile.plain &= !profile.socket && IsSocket(part, *cut);
      profile.socket = true;
    } else {
      profile.plain &= std::holds_alternative<PlanarFace>(feature.shape) ||
                       std::holds_alternative<RoundChamfer>(feature.shape) ||
                       std::holds_alternative<ExternalThread>(feature.shape);
    }
  }
  if (profile.sections.empty()) return std::nullopt;
  std::sort(profile.sections.begin(), profile.sections.end(),
            [](const Section& a, const Section& b) { return a.from_mm < b.from_mm; });
  const Stretch work = CalcTurnedLength(part);
  profile.length_mm = work.to_mm - work.from_mm;
  return profile;
}

// From the bought part's own z axis, z = 0 at its low end, into the frame of the part that was
// read.
Pose OnAxis(const Part& part) {
  const Axis3& axis = part.turning_axis_P;
  Pose X_PB = Pose::Identity();
  X_PB.linear() = ShortestTurn(Vec3::UnitZ(), axis.direction);
  X_PB.translation() = axis.point_mm + CalcTurnedLength(part).from_mm * axis.direction;
  return X_PB;
}

Feature Supplied(const char* name, FeatureShape shape) {
  Feature feature;
  feature.name = FeatureId(name);
  feature.shape = std::move(shape);
  feature.finish = Finish::kAsSupplied;
  return feature;
}

Size Below(double nominal_mm, double lower_mm) {
  return {nominal_mm, nominal_mm + lower_mm, nominal_mm, LimitsOrigin::kPlusMinus, ""};
}

Size General(double mm) {
  const auto size = trade::MakeGeneralSize(mm, "m");
  return size ? *size : Size{mm, 0.95 * mm, 1.05 * mm, LimitsOrigin::kPlusMinus, ""};
}

// What every bought part with a shape has, as the reader of machine.toml makes it.
void MakeReady(const Size& outside, const std::optional<Size>& bore, const Size& width,
               Part& part) {
  part.envelope = EnvelopeKind::kTurned;
  const double length_mm = width.middle_mm();
  part.features.push_back(Supplied("outside", OuterDiameter{false, {}, 0, length_mm, outside}));
  if (bore) {
    Hole hole;
    hole.use = HoleUse::kBore;
    hole.entries_P_mm = {Vec3(0, 0, length_mm)};
    hole.diameter = *bore;
    hole.depth_mm = length_mm;
    hole.through = true;
    hole.bottom = HoleBottom::kFlat;
    part.features.push_back(Supplied("bore", hole));
  }
  part.features.push_back(
      Supplied("low_end", PlanarFace{-Vec3::UnitZ(), Size{0, 0, 0, width.origin, ""}}));
  part.features.push_back(Supplied("high_end", PlanarFace{Vec3::UnitZ(), width}));
  part.stock.form = bore ? StockForm::kTube : StockForm::kRound;
  part.stock.diameter_mm = outside.middle_mm();
  part.stock.inner_diameter_mm = bore ? bore->middle_mm() : 0;
  part.stock.to_mm = length_mm;
}

BoughtShape Ready(BoughtKind kind, std::string name, std::string what, std::string why) {
  BoughtShape shape;
  shape.kind = kind;
  shape.name = std::move(name);
  shape.what = what;
  shape.why = std::move(why);
  shape.part.kind = kind;
  shape.part.what = std::move(what);
  return shape;
}

std::optional<BoughtShape> AsBearing(const Part& part, const Profile& profile) {
  if (profile.bore == nullptr || !profile.bore->through) return std::nullopt;
  const double bore_mm = profile.bore->diameter.middle_mm();
  const double outside_mm =
      std::max_element(profile.sections.begin(), profile.sections.end(),
                       [](const auto& a, const auto& b) { return a.diameter_mm < b.diameter_mm; })
          ->diameter_mm;
  // Drawn at its nominal sizes or within its limits.
  const auto within = [](double mm, double nominal_mm, double low_mm) {
    constexpr double kDrawnOff_mm = 0.01;
    return mm > nominal_mm + low_mm - kDrawnOff_mm && mm < nominal_mm + kDrawnOff_mm;
  };
  for (const trade::Bearing& row : trade::Bearings()) {
    if (!within(bore_mm, row.bore_mm, row.bore_low_mm) ||
        !within(outside_mm, row.outside_mm, row.outside_low_mm) ||
        !within(profile.length_mm, row.width_mm, row.width_low_mm)) {
      continue;
    }
    BoughtShape shape = Ready(BoughtKind::kBearing, "bearing",
                              fmt::format("ball bearing {} x {} x {}", Mm(row.bore_mm),
                                          Mm(row.outside_mm), Mm(row.width_mm)),
                              "its bore, outside and width are a row of ISO 15");
    MakeReady(Below(row.outside_mm, row.outside_low_mm), Below(row.bore_mm, row.bore_low_mm),
              Below(row.width_mm, row.width_low_mm), shape.part.part);
    constexpr double kAxialOverRadial =
        10;  // common practice, as the reader of machine.toml takes it
    shape.part.radial_play_mm = row.radial_play_mm;
    shape.part.axial_play_mm = kAxialOverRadial * row.radial_play_mm;
    shape.X_PB = OnAxis(part);
    return shape;
  }
  return std::nullopt;
}

std::optional<BoughtShape> AsWasher(const Part& part, const Profile& profile) {
  if (profile.bore == nullptr || !profile.bore->through || profile.sections.size() != 1 ||
      !profile.plain)
    return std::nullopt;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    const trade::Washer* washer = trade::FindWasher(*row);
    if (washer == nullptr || !AboutTheSame(profile.bore->diameter.middle_mm(), washer->bore_mm) ||
        !AboutTheSame(profile.sections[0].diameter_mm, washer->outside_mm) ||
        !AboutTheSame(profile.length_mm, washer->thickness_mm)) {
      continue;
    }
    BoughtShape shape =
        Ready(BoughtKind::kWasher, "washer",
              fmt::format("washer for {}, {} x {} x {}", row->designation, Mm(washer->bore_mm),
                          Mm(washer->outside_mm), Mm(washer->thickness_mm)),
              "its three sizes are a plain washer's");
    MakeReady(General(washer->outside_mm), General(washer->bore_mm), General(profile.length_mm),
              shape.part.part);
    shape.X_PB = OnAxis(part);
    return shape;
  }
  return std::nullopt;
}

std::optional<BoughtShape> AsNut(const Profile& profile) {
  if (profile.bore == nullptr || !profile.bore->through || profile.flats == nullptr ||
      profile.flats->count != 6)
    return std::nullopt;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    const trade::HexNut* nut = trade::FindHexNut(*row);
    if (nut == nullptr || !AboutTheSame(profile.flats->across.middle_mm(), nut->across_flats_mm))
      continue;
    const bool jam = nut->jam_height_mm > 0 && AboutTheSame(profile.length_mm, nut->jam_height_mm);
    const double bore_mm = profile.bore->diameter.middle_mm();
    if ((!jam && !AboutTheSame(profile.length_mm, nut->height_mm)) ||
        bore_mm > 1.05 * row->major_mm || bore_mm < row->major_mm - 1.5 * row->pitch_mm) {
      continue;
    }
    return Ready(BoughtKind::kItem, "nut",
                 fmt::format("{}hexagon nut {}", jam ? "thin " : "", row->designation),
                 "its flats and height are a hexagon nut's");
  }
  return std::nullopt;
}

struct HeadAndShank {
  Section head;
  Section shank;
  bool head_low = false;  // the head is at the axis's low end
};

// Two sections end to end, the wider one the head.
std::optional<HeadAndShank> SplitAtHead(const Profile& profile) {
  if (profile.sections.size() != 2) return std::nullopt;
  const Section& low = profile.sections[0];
  const Section& high = profile.sections[1];
  if (std::abs(low.to_mm - high.from_mm) > kDrawnAlike_mm) return std::nullopt;
  const bool head_low = low.diameter_mm > high.diameter_mm;
  return head_low ? HeadAndShank{low, high, true} : HeadAndShank{high, low, false};
}

// A screw in the part's frame: its axis from under the head along the shank.
PlacedScrew ScrewOf(const Part& part, double seat_mm, bool head_low, double length_mm,
                    double major_mm, std::string what) {
  const Axis3& axis = part.turning_axis_P;
  return {
      {axis.point_mm + seat_mm * axis.direction, head_low ? axis.direction : Vec3(-axis.direction)},
      length_mm,
      major_mm,
      std::move(what)};
}

BoughtShape ScrewShape(const Part& part, trade::HeadKind kind, const trade::ThreadRow& row,
                       double seat_mm, bool head_low, double length_mm) {
  constexpr std::array<std::string_view, 4> kNames{"socket cap screw", "button head screw",
                                                   "countersunk screw", "hexagon screw"};
  const auto name = kNames[static_cast<std::size_t>(kind)];
  const std::string what = fmt::format("{} {} x {} ({})", name, row.designation, Mm(length_mm),
                                       trade::StandardOfHead(kind, row.series));
  BoughtShape shape =
      Ready(BoughtKind::kScrew, "screw", what, "its head and shank have the standard's sizes");
  shape.screw = ScrewOf(part, seat_mm, head_low, length_mm, row.major_mm, what);
  return shape;
}

std::optional<BoughtShape> AsHeadedScrew(const Part& part, const Profile& profile) {
  const auto split = SplitAtHead(profile);
  if (!split) return std::nullopt;
  const double seat_mm = split->head_low ? split->head.to_mm : split->head.from_mm;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    if (row->series != trade::ThreadSeries::kIsoCoarse && row->series != trade::ThreadSeries::kUnc)
      continue;
    if (!AboutTheSame(split->shank.diameter_mm, row->major_mm)) continue;
    for (const auto kind :
         {trade::HeadKind::kSocketCap, trade::HeadKind::kButton, trade::HeadKind::kHexagon}) {
      const trade::ScrewHead* head = trade::FindScrewHead(kind, *row);
      if (head == nullptr || !AboutTheSame(split->head.length_mm(), head->height_mm)) continue;
      const bool hexagon = kind == trade::HeadKind::kHexagon;
      if (hexagon != (profile.flats != nullptr && profile.flats->count == 6)) continue;
      const double across_mm =
          hexagon ? profile.flats->across.middle_mm() : split->head.diameter_mm;
      if (!AboutTheSame(across_mm, head->diameter_mm)) continue;
      return ScrewShape(part, kind, *row, seat_mm, split->head_low, split->shank.length_mm());
    }
  }
  return std::nullopt;
}

// A cone that widens to the head's diameter at the end of a shank; its length counts over all.
std::optional<BoughtShape> AsCountersunk(const Part& part, const Profile& profile) {
  if (profile.cone == nullptr || profile.flats != nullptr) return std::nullopt;
  const Section& shank =
      *std::min_element(profile.sections.begin(), profile.sections.end(),
                        [](const auto& a, const auto& b) { return a.diameter_mm < b.diameter_mm; });
  const Taper& cone = *profile.cone;
  const bool head_low = cone.start_diameter.middle_mm() > cone.end_diameter.middle_mm();
  const double wide_mm = std::max(cone.start_diameter.middle_mm(), cone.end_diameter.middle_mm());
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    const trade::ScrewHead* head = trade::FindScrewHead(trade::HeadKind::kCountersunk, *row);
    if (head == nullptr || row->series == trade::ThreadSeries::kIsoFine ||
        !AboutTheSame(shank.diameter_mm, row->major_mm))
      continue;
    constexpr double kRimShare = 0.8;  // real heads end in a rim inside the sharp diameter
    if (wide_mm > 1.02 * head->diameter_mm || wide_mm < kRimShare * head->diameter_mm) continue;
    const Stretch work = CalcTurnedLength(part);
    return ScrewShape(part, trade::HeadKind::kCountersunk, *row,
                      head_low ? work.from_mm : work.to_mm, head_low, profile.length_mm);
  }
  return std::nullopt;
}

bool IsOneOf(std::span<const double> lengths, double mm) {
  return std::any_of(lengths.begin(), lengths.end(),
                     [&](double one) { return std::abs(one - mm) < 0.05; });
}

// A plain pin with something cut into one end that is no drilled hole right through: a set screw's
// socket.
std::optional<BoughtShape> AsSetScrew(const Part& part, const Profile& profile) {
  if (profile.sections.size() != 1 || !profile.plain || profile.flats != nullptr)
    return std::nullopt;
  const bool socket = (profile.bore != nullptr && !profile.bore->through) || profile.socket ||
                      !part.unread.empty();
  if (!socket) return std::nullopt;
  for (const trade::ThreadRow* row : trade::AllThreads()) {
    if (row->series != trade::ThreadSeries::kIsoCoarse && row->series != trade::ThreadSeries::kUnc)
      continue;
    const trade::SetScrew* set = trade::FindSetScrew(*row);
    if (set == nullptr || !AboutTheSame(profile.sections[0].diameter_mm, row->major_mm)) continue;
    if (!IsOneOf(trade::ScrewLengths_mm(row->series), profile.length_mm)) continue;
    if (profile.bore != nullptr && (profile.bore->diameter.middle_mm() < 0.9 * set->key_mm ||
                                    profile.bore->diameter.middle_mm() > 1.25 * set->key_mm))
      continue;
    return Ready(BoughtKind::kScrew, "set_screw",
                 fmt::format("set screw {} x {}", row->designation, Mm(profile.length_mm)),
                 "a plain thread's diameter in a length that is sold, with a socket in its end");
  }
  return std::nullopt;
}

std::optional<BoughtShape> AsPin(const Part& part, const Profile& profile) {
  if (profile.sections.size() != 1 || !profile.plain || profile.bore != nullptr || profile.socket ||
      profile.flats != nullptr || profile.cone != nullptr || !part.unread.empty()) {
    return std::nullopt;
  }
  constexpr double kDrawnOff_mm = 0.02;
  for (const trade::DowelPin& pin : trade::DowelPins(trade::PinKind::kHardened)) {
    if (std::abs(profile.sections[0].diameter_mm - pin.diameter_mm) > kDrawnOff_mm ||
        !IsOneOf(trade::PinLengths_mm(), profile.length_mm))
      continue;
    if (profile.length_mm < pin.shortest_mm - 0.05 || profile.length_mm > pin.longest_mm + 0.05)
      continue;
    BoughtShape shape = Ready(
        BoughtKind::kPin, "pin",
        fmt::format("dowel pin {} x {} (ISO 8734)", Mm(pin.diameter_mm), Mm(profile.length_mm)),
        "its diameter and length are a dowel pin's, and nothing is cut into it");
    const auto limits = trade::MakeFitSize(pin.diameter_mm, "m6");
    MakeReady(limits ? *limits : General(pin.diameter_mm), std::nullopt, General(profile.length_mm),
              shape.part.part);
    shape.X_PB = OnAxis(part);
    return shape;
  }
  return std::nullopt;
}

}  // namespace

std::optional<BoughtShape> FindBoughtShape(const Part& part) {
  const auto profile = ProfileOf(part);
  if (!profile) return std::nullopt;
  if (auto shape = AsBearing(part, *profile)) return shape;
  if (auto shape = AsWasher(part, *profile)) return shape;
  if (auto shape = AsNut(*profile)) return shape;
  if (!profile->plain) return std::nullopt;
  if (auto shape = AsHeadedScrew(part, *profile)) return shape;
  if (auto shape = AsCountersunk(part, *profile)) return shape;
  if (auto shape = AsSetScrew(part, *profile)) return shape;
  return AsPin(part, *profile);
}

std::optional<BoughtShape> FindCirclip(const Part& ring, const Groove& groove, double surface_mm) {
  const auto profile = ProfileOf(ring);
  if (!profile) return std::nullopt;
  const double nominal_mm = std::round(10 * surface_mm) / 10;
  const auto clip =
      groove.internal ? trade::FindBoreCirclip(nominal_mm) : trade::FindShaftCirclip(nominal_mm);
  constexpr double kDrawnOff_mm = 0.1;
  if (!clip || std::abs(clip->thickness_mm - profile->length_mm) > kDrawnOff_mm ||
      std::abs(clip->groove_mm - groove.diameter.middle_mm()) > 2 * kDrawnOff_mm) {
    return std::nullopt;
  }
  BoughtShape shape = Ready(BoughtKind::kCirclip, "circlip",
                            fmt::format("circlip for a {} {}, {} thick ({})", Mm(nominal_mm),
                                        groove.internal ? "bore" : "shaft", Mm(clip->thickness_mm),
                                        groove.internal ? "DIN 472" : "DIN 471"),
                            "its thickness and its groove are the standard's for that size");
  const double outside_mm = profile->sections.back().diameter_mm;
  const double bore_mm =
      profile->bore != nullptr ? profile->bore->diameter.middle_mm() : 0.8 * outside_mm;
  MakeReady(General(outside_mm), General(bore_mm), General(profile->length_mm), shape.part.part);
  shape.X_PB = OnAxis(ring);
  return shape;
}

}  // namespace fitwright::recognize
