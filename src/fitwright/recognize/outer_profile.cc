#include "fitwright/recognize/outer_profile.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fitwright::recognize {
namespace {

using solid::Bend;
using solid::SurfaceKind;

// Wider local dips are diameters of their own (opinion): a parting tool makes the others in a few cuts.
constexpr double kWidestGroove_mm = 6;
// Longer cones are tapers (opinion).
constexpr double kLongestChamfer_mm = 3;

const Axis3 kAxis{Vec3::Zero(), Vec3::UnitZ()};

struct RimBreak {
  double axial_mm = 0;
  double radial_mm = 0;
  bool rounded = false;
  std::vector<std::size_t> faces;
};

struct Diameter {
  double radius_mm = 0;
  Span span;
  std::vector<std::size_t> faces;
  std::optional<RimBreak> low_break;
  std::optional<RimBreak> high_break;
};

struct OuterCone {
  Span span;
  double low_radius_mm = 0;
  double high_radius_mm = 0;
  double half_angle_rad = 0;
  std::vector<std::size_t> faces;
  bool Widens() const { return high_radius_mm > low_radius_mm; }
  double Big() const { return std::max(low_radius_mm, high_radius_mm); }
  double Small() const { return std::min(low_radius_mm, high_radius_mm); }
  double AtBig() const { return Widens() ? span.to_mm : span.from_mm; }
  double AtSmall() const { return Widens() ? span.from_mm : span.to_mm; }
};

struct OuterGroove {
  Groove groove;
  std::vector<std::size_t> faces;
};

struct Profile {
  std::vector<Diameter> diameters;
  std::vector<OuterCone> cones;
  std::vector<std::size_t> tori;
  std::vector<OuterGroove> grooves;
  std::vector<OuterCone> tapers;
};

bool IsOuter(const PlacedFace& face) {
  const bool round = face.kind == SurfaceKind::kCylinder || face.kind == SurfaceKind::kCone;
  return round && !face.hollow && AreCoaxial(kAxis, face.axis_P);
}

template <typename Piece>
void SortByPlace(std::vector<Piece>& pieces) {
  std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) {
    return a.span.middle_mm() < b.span.middle_mm();
  });
}

void AddDiameter(std::vector<Diameter>& diameters, const Diameter& piece) {
  for (Diameter& d : diameters) {
    const bool overlap = piece.span.from_mm <= d.span.to_mm + kSamePlace_mm &&
                         d.span.from_mm <= piece.span.to_mm + kSamePlace_mm;
    if (!overlap || !IsSame(d.radius_mm, piece.radius_mm)) continue;
    d.span.from_mm = std::min(d.span.from_mm, piece.span.from_mm);
    d.span.to_mm = std::max(d.span.to_mm, piece.span.to_mm);
    d.faces.insert(d.faces.end(), piece.faces.begin(), piece.faces.end());
    return;
  }
  diameters.push_back(piece);
}

void AddCone(const PlacedFace& face, std::size_t place, Span span, Profile& profile) {
  if (span.length_mm() <= kSamePlace_mm) {  // one rim only: it comes to a tip
    const double tip = ConeTip(face).z();
    span = {std::min(span.from_mm, tip), std::max(span.to_mm, tip)};
  }
  for (OuterCone& cone : profile.cones) {
    const double at = ConeRadiusAt(face, {0, 0, cone.span.from_mm});
    const double end = ConeRadiusAt(face, {0, 0, cone.span.to_mm});
    if (IsSame(at, cone.low_radius_mm) && IsSame(end, cone.high_radius_mm)) {
      cone.faces.push_back(place);
      return;
    }
  }
  OuterCone cone;
  cone.span = span;
  cone.low_radius_mm = std::max(0.0, ConeRadiusAt(face, {0, 0, span.from_mm}));
  cone.high_radius_mm = std::max(0.0, ConeRadiusAt(face, {0, 0, span.to_mm}));
  cone.half_angle_rad = face.half_angle_rad;
  cone.faces = {place};
  profile.cones.push_back(cone);
}

Profile Collect(const Draft& draft) {
  const PlacedGraph& graph = draft.graph;
  Profile profile;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!draft.IsFree(f)) continue;
    if (face.kind == SurfaceKind::kTorus && AreCoaxial(kAxis, face.axis_P)) profile.tori.push_back(f);
    const std::optional<Span> span = SpanAlong(graph, f, Vec3::UnitZ());
    if (!span || !IsOuter(face)) continue;
    if (IsCylinder(face)) {
      AddDiameter(profile.diameters, {face.radius_mm, *span, {f}, {}, {}});
    } else {
      AddCone(face, f, *span, profile);
    }
  }
  SortByPlace(profile.diameters);
  SortByPlace(profile.cones);
  return profile;
}

// The plane square to the axis beside the face at a place along it, in one edge with it.
std::optional<std::size_t> PlaneAt(const PlacedGraph& graph, const std::vector<std::size_t>& faces, double z_mm, Bend bend) {
  for (const std::size_t f : faces) {
    for (const std::size_t e : graph.faces[f].edges) {
      const PlacedEdge& edge = graph.edges[e];
      const PlacedFace& beside = graph.faces[edge.Other(f)];
      const bool square = IsPlane(beside) && IsAlong(beside.axis_P.direction, Vec3::UnitZ());
      if (square && edge.bend == bend && IsSame(edge.middle_P_mm.z(), z_mm)) return edge.Other(f);
    }
  }
  return std::nullopt;
}

Diameter* EndingAt(std::vector<Diameter>& diameters, double radius_mm, double z_mm, bool high) {
  for (Diameter& d : diameters) {
    const double end = high ? d.span.to_mm : d.span.from_mm;
    if (IsSame(d.radius_mm, radius_mm) && IsSame(end, z_mm)) return &d;
  }
  return nullptr;
}

// Ridges between vees may come to an edge, with nothing left of the diameter that they are cut from.
void CoverVees(Profile& profile, const std::vector<Span>& spans, const std::vector<double>& radii) {
  for (std::size_t i = 0; i < spans.size(); ++i) {
    const bool covered = EndingAt(profile.diameters, radii[i], spans[i].from_mm, true) != nullptr ||
                         EndingAt(profile.diameters, radii[i], spans[i].to_mm, false) != nullptr;
    if (!covered) AddDiameter(profile.diameters, {radii[i], spans[i], {}, {}, {}});
  }
  SortByPlace(profile.diameters);
}

// Two cones that lean to each other, alike, with or without a floor between them.
void TakeVees(Profile& profile) {
  std::vector<Span> spans;
  std::vector<double> radii;
  for (std::size_t i = 0; i + 1 < profile.cones.size(); ++i) {
    const OuterCone& down = profile.cones[i];
    const OuterCone& up = profile.cones[i + 1];
    const bool vee = !down.Widens() && up.Widens() && IsSame(down.Big(), up.Big()) && IsSame(down.Small(), up.Small());
    if (!vee || std::abs(down.half_angle_rad - up.half_angle_rad) > kSameWay_rad) continue;
    Groove groove;
    groove.profile = GrooveProfile::kVee;
    groove.axis_P = kAxis;
    groove.from_mm = Tidy(down.span.from_mm);
    groove.to_mm = Tidy(up.span.to_mm);
    groove.diameter = DrawnSize(2 * down.Small());
    // A cone's half angle is between axis and wall; a vee's counts from the middle plane.
    groove.vee_deg = Tidy(2 * (90 - down.half_angle_rad / kRadPerDeg));
    OuterGroove made{groove, down.faces};
    made.faces.insert(made.faces.end(), up.faces.begin(), up.faces.end());
    std::erase_if(profile.diameters, [&](const Diameter& d) {
      const bool floor = IsSame(d.radius_mm, up.Small()) && IsSame(d.span.from_mm, down.span.to_mm) && IsSame(d.span.to_mm, up.span.from_mm);
      if (floor) made.faces.insert(made.faces.end(), d.faces.begin(), d.faces.end());
      return floor;
    });
    profile.grooves.push_back(std::move(made));
    spans.push_back({down.span.from_mm, up.span.to_mm});
    radii.push_back(up.Big());
    profile.cones.erase(profile.cones.begin() + static_cast<std::ptrdiff_t>(i), profile.cones.begin() + static_cast<std::ptrdiff_t>(i) + 2);
    --i;
  }
  CoverVees(profile, spans, radii);
}

// Half-round floors.
void TakeRoundGrooves(const PlacedGraph& graph, Profile& profile) {
  for (const std::size_t f : profile.tori) {
    const PlacedFace& torus = graph.faces[f];
    const bool inward = DistanceFromAxis(kAxis, torus.inner_P_mm) < torus.radius_mm;
    const std::optional<Span> span = SpanAlong(graph, f, Vec3::UnitZ());
    if (!torus.hollow || !inward || !span) continue;
    if (!IsSame(span->length_mm(), 2 * torus.minor_radius_mm)) continue;
    Groove groove;
    groove.profile = GrooveProfile::kRound;
    groove.axis_P = kAxis;
    groove.from_mm = Tidy(span->from_mm);
    groove.to_mm = Tidy(span->to_mm);
    groove.diameter = DrawnSize(2 * (torus.radius_mm - torus.minor_radius_mm));
    OuterGroove made{groove, {f}};
    for (const double z : {span->from_mm, span->to_mm}) {
      if (const auto wall = PlaneAt(graph, {f}, z, Bend::kTangent)) made.faces.push_back(*wall);
    }
    profile.grooves.push_back(std::move(made));
  }
}

void TakeChamfers(const PlacedGraph& graph, Profile& profile) {
  for (const OuterCone& cone : profile.cones) {
    const bool at_high = !cone.Widens();  // narrows upwards: breaks the top rim of what is below
    Diameter* on = EndingAt(profile.diameters, cone.Big(), cone.AtBig(), at_high);
    const auto end = PlaneAt(graph, cone.faces, cone.AtSmall(), Bend::kConvex);
    const bool breaks = on != nullptr && end && cone.span.length_mm() <= kLongestChamfer_mm && cone.Small() > kSamePlace_mm;
    if (!breaks) {
      profile.tapers.push_back(cone);
      continue;
    }
    const RimBreak rim{cone.span.length_mm(), cone.Big() - cone.Small(), false, cone.faces};
    (at_high ? on->high_break : on->low_break) = rim;
    (at_high ? on->span.to_mm : on->span.from_mm) = cone.AtSmall();
  }
}

void TakeRimRounds(const PlacedGraph& graph, Profile& profile) {
  for (const std::size_t f : profile.tori) {
    const PlacedFace& torus = graph.faces[f];
    const bool outward = DistanceFromAxis(kAxis, torus.inner_P_mm) > torus.radius_mm;
    if (torus.hollow || !outward) continue;
    const double centre = torus.axis_P.point_mm.z();
    const bool at_high = torus.inner_P_mm.z() > centre;
    const double radius = torus.minor_radius_mm;
    Diameter* on = EndingAt(profile.diameters, torus.radius_mm + radius, centre, at_high);
    if (on == nullptr) continue;
    const double end = centre + (at_high ? radius : -radius);
    const RimBreak rim{radius, radius, true, {f}};
    (at_high ? on->high_break : on->low_break) = rim;
    (at_high ? on->span.to_mm : on->span.from_mm) = end;
  }
}

// A taper takes its diameter down from the larger end's.
void CoverTapers(Profile& profile) {
  for (const OuterCone& taper : profile.tapers) {
    Diameter* on = EndingAt(profile.diameters, taper.Big(), taper.AtBig(), !taper.Widens());
    if (on != nullptr) {
      (taper.Widens() ? on->span.from_mm : on->span.to_mm) = taper.AtSmall();
    } else {
      AddDiameter(profile.diameters, {taper.Big(), taper.span, {}, {}, {}});
    }
  }
  SortByPlace(profile.diameters);
}

void JoinDiameters(Profile& profile, std::size_t low, std::size_t high) {
  Diameter& d = profile.diameters[low];
  const Diameter& next = profile.diameters[high];
  d.span.to_mm = next.span.to_mm;
  d.high_break = next.high_break;
  d.faces.insert(d.faces.end(), next.faces.begin(), next.faces.end());
  profile.diameters.erase(profile.diameters.begin() + static_cast<std::ptrdiff_t>(high));
}

// The diameter that a groove is cut into goes on across it: joined where both sides are one, else the
// lower side reaches the other's shoulder.
void CoverGroove(Profile& profile, const Groove& groove) {
  std::vector<Diameter>& all = profile.diameters;
  std::optional<std::size_t> below;
  std::optional<std::size_t> above;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (IsSame(all[i].span.to_mm, groove.from_mm)) below = i;
    if (IsSame(all[i].span.from_mm, groove.to_mm)) above = i;
  }
  if (below && above && IsSame(all[*below].radius_mm, all[*above].radius_mm)) {
    JoinDiameters(profile, *below, *above);
  } else if (below && (!above || all[*below].radius_mm < all[*above].radius_mm)) {
    all[*below].span.to_mm = groove.to_mm;
  } else if (above) {
    all[*above].span.from_mm = groove.from_mm;
  }
}

// A narrow dip between two larger diameters that it touches.
std::optional<std::size_t> FindDip(const std::vector<Diameter>& all) {
  for (std::size_t i = 1; i + 1 < all.size(); ++i) {
    const Diameter& below = all[i - 1];
    const Diameter& above = all[i + 1];
    const bool touches = IsSame(below.span.to_mm, all[i].span.from_mm) && IsSame(above.span.from_mm, all[i].span.to_mm);
    const bool dip = all[i].radius_mm < std::min(below.radius_mm, above.radius_mm) - kSamePlace_mm;
    const bool plain = !all[i].low_break && !all[i].high_break;
    if (touches && dip && plain && all[i].span.length_mm() <= kWidestGroove_mm) return i;
  }
  return std::nullopt;
}

void TakeSquareGrooves(const PlacedGraph& graph, Profile& profile) {
  while (const auto dip = FindDip(profile.diameters)) {
    const Diameter floor = profile.diameters[*dip];
    const bool even = IsSame(profile.diameters[*dip - 1].radius_mm, profile.diameters[*dip + 1].radius_mm);
    Groove groove;
    groove.axis_P = kAxis;
    groove.undercut = !even;
    groove.from_mm = Tidy(floor.span.from_mm);
    groove.to_mm = Tidy(floor.span.to_mm);
    groove.diameter = DrawnSize(2 * floor.radius_mm);
    OuterGroove made{groove, floor.faces};
    for (const double z : {floor.span.from_mm, floor.span.to_mm}) {
      if (const auto wall = PlaneAt(graph, floor.faces, z, Bend::kConcave)) made.faces.push_back(*wall);
    }
    profile.diameters.erase(profile.diameters.begin() + static_cast<std::ptrdiff_t>(*dip));
    profile.grooves.push_back(std::move(made));
    CoverGroove(profile, groove);
  }
}

void AddRim(Draft& draft, const FeatureId& on, const std::optional<RimBreak>& rim, bool at_start) {
  if (!rim) return;
  RoundChamfer chamfer;
  chamfer.on = on;
  chamfer.at_start = at_start;
  chamfer.axial_mm = Tidy(rim->axial_mm);
  chamfer.radial_mm = Tidy(rim->radial_mm);
  chamfer.rounded = rim->rounded;
  draft.Add(rim->rounded ? "rim_round" : "rim_chamfer", chamfer, rim->faces);
}

// Ends of the whole part.
void AddEnd(Draft& draft, bool high) {
  const PlacedGraph& graph = draft.graph;
  const double z = high ? graph.box_P.max_mm.z() : graph.box_P.min_mm.z();
  const Vec3 out = high ? Vec3(Vec3::UnitZ()) : Vec3(-Vec3::UnitZ());
  std::vector<std::size_t> faces;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!IsPlane(face) || face.axis_P.direction.dot(out) < 1 - kSameWay_rad) continue;
    if (IsSame(face.axis_P.point_mm.z(), z)) faces.push_back(f);
  }
  draft.AddNamed(high ? "high_end" : "low_end", PlanarFace{out, DrawnSize(out.z() * z)}, faces);
}

// Planes square to the axis with a rim about it belong to the diameter at whose end they lie.
std::vector<std::size_t> ShouldersOf(const Draft& draft, const Diameter& d) {
  const PlacedGraph& graph = draft.graph;
  std::vector<std::size_t> faces;
  for (std::size_t f = 0; f < graph.faces.size(); ++f) {
    const PlacedFace& face = graph.faces[f];
    if (!draft.IsFree(f) || !IsPlane(face) || !IsAlong(face.axis_P.direction, Vec3::UnitZ())) continue;
    const double z = face.axis_P.point_mm.z();
    const bool at_end = face.axis_P.direction.z() > 0 ? IsSame(z, d.span.to_mm) : IsSame(z, d.span.from_mm);
    const auto rim = [&](std::size_t e) {
      const PlacedEdge& edge = graph.edges[e];
      return edge.kind == solid::CurveKind::kCircle && DistanceFromAxis(kAxis, edge.axis_P.point_mm) <= kSamePlace_mm;
    };
    if (at_end && std::any_of(face.edges.begin(), face.edges.end(), rim)) faces.push_back(f);
  }
  return faces;
}

void AddProfile(Draft& draft, const Profile& profile) {
  for (const Diameter& d : profile.diameters) {
    OuterDiameter outer;
    outer.axis_P = kAxis;
    outer.from_mm = Tidy(d.span.from_mm);
    outer.to_mm = Tidy(d.span.to_mm);
    outer.diameter = DrawnSize(2 * d.radius_mm);
    const FeatureId name = draft.Add("outside", outer, d.faces);
    AddRim(draft, name, d.low_break, true);
    AddRim(draft, name, d.high_break, false);
  }
  for (const OuterGroove& g : profile.grooves) draft.Add(g.groove.undercut ? "undercut" : "groove", g.groove, g.faces);
  for (const OuterCone& cone : profile.tapers) {
    if (cone.Small() <= kSamePlace_mm) continue;
    Taper taper;
    taper.axis_P = kAxis;
    taper.from_mm = Tidy(cone.span.from_mm);
    taper.to_mm = Tidy(cone.span.to_mm);
    taper.start_diameter = DrawnSize(2 * cone.low_radius_mm);
    taper.end_diameter = DrawnSize(2 * cone.high_radius_mm);
    draft.Add("taper", taper, cone.faces);
  }
}

}  // namespace

void ReadOuterProfile(Draft& draft) {
  Profile profile = Collect(draft);
  TakeVees(profile);
  TakeRoundGrooves(draft.graph, profile);
  TakeChamfers(draft.graph, profile);
  TakeRimRounds(draft.graph, profile);
  CoverTapers(profile);
  const std::vector<OuterGroove> formed = profile.grooves;
  for (const OuterGroove& g : formed) CoverGroove(profile, g.groove);
  TakeSquareGrooves(draft.graph, profile);
  AddProfile(draft, profile);
  AddEnd(draft, false);
  AddEnd(draft, true);
  for (std::size_t i = 0; i < profile.diameters.size(); ++i) {
    const FeatureId name(fmt::format("outside_{}", i + 1));
    draft.Explain(name, ShouldersOf(draft, profile.diameters[i]));
  }
}

}  // namespace fitwright::recognize
