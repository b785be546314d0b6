// All that a project says, one fact a line, numbers to the last bit; without folder and hash.
#pragma once

#include <fmt/format.h>

#include <string>

#include "fitwright/files/project.h"

namespace fitwright::files_test {
struct Writer {
  std::string text;

  void Line(std::string_view what, const auto&... values) {
    text += what;
    ((text += fmt::format(" {}", values)), ...);
    text += '\n';
  }
  void Vec(std::string_view what, const Vec3& v) { Line(what, v.x(), v.y(), v.z()); }
  void Axis(std::string_view what, const Axis3& a) {
    Vec(what, a.point_mm);
    Vec("  direction", a.direction);
  }
  void Box(std::string_view what, const Box3& b) {
    Vec(what, b.min_mm);
    Vec("  to", b.max_mm);
  }
  void Of(std::string_view what, const Size& s) {
    Line(what, s.nominal_mm, s.lower_mm, s.upper_mm, static_cast<int>(s.origin), s.fit);
  }

  void operator()(const PlanarFace& f) {
    Vec("face", f.normal_P);
    Of("at", f.at);
  }
  void operator()(const Hole& h) {
    Line("hole", static_cast<int>(h.use), h.depth_mm, h.through, WordOf(h.bottom));
    Vec("into", h.into_P);
    for (const Vec3& entry : h.entries_P_mm) Vec("entry", entry);
    Of("diameter", h.diameter);
    if (h.circle) {
      Axis("circle", h.circle->axis_P);
      Vec("zero", h.circle->zero_P);
      Line("on", h.circle->diameter_mm, h.circle->first_deg, h.circle->count);
    }
    if (h.thread) {
      Line("thread", h.thread->designation, h.thread->major_mm, h.thread->pitch_mm,
           h.thread->depth_mm);
    }
  }
  void operator()(const OuterDiameter& o) {
    Line("outer", o.spigot, o.from_mm, o.to_mm);
    Axis("axis", o.axis_P);
    Of("diameter", o.diameter);
  }
  void operator()(const Slot& s) {
    Line("slot", s.length_mm, s.depth_mm, s.through);
    Vec("into", s.into_P);
    Vec("centre", s.centre_P_mm);
    Vec("along", s.along_P);
    Of("width", s.width);
  }
  void operator()(const Pocket& p) {
    Line("pocket", p.length_mm, p.width_mm, p.corner_radius_mm, p.depth_mm);
    Vec("into", p.into_P);
    Vec("centre", p.centre_P_mm);
    Vec("along", p.along_P);
  }
  void operator()(const StepCut& s) {
    Vec("step", s.into_P);
    Box("removed", s.removed_P);
  }
  void operator()(const EdgeChamfer& c) {
    Line("edge", c.face_a.text(), c.face_b.text(), c.leg_a_mm, c.leg_b_mm, c.rounded);
  }
  void operator()(const RoundChamfer& c) {
    Line("round", c.on.text(), c.at_start, c.axial_mm, c.radial_mm, c.rounded, c.countersink);
  }
  void operator()(const Groove& g) {
    Line("groove", g.internal, g.undercut, g.from_mm, g.to_mm);
    Axis("axis", g.axis_P);
    Of("diameter", g.diameter);
    Line("profile", WordOf(g.profile), g.vee_deg);
  }
  void operator()(const Taper& t) {
    Line("taper", t.internal, t.from_mm, t.to_mm, t.angle_limit_deg);
    Axis("axis", t.axis_P);
    Of("start", t.start_diameter);
    Of("end", t.end_diameter);
  }
  void operator()(const ExternalThread& t) {
    Line("thread", t.on.text(), t.at_start, t.length_mm, t.designation, t.major_mm, t.pitch_mm);
  }
  void operator()(const Keyway& k) {
    Line("keyway", k.internal, k.from_mm, k.to_mm, k.floor_mm);
    Axis("axis", k.axis_P);
    Of("width", k.width);
    Vec("side", k.side_P);
  }
  void operator()(const Knurl& k) {
    Line("knurl", k.on.text(), k.from_mm, k.to_mm, k.pitch_mm, WordOf(k.pattern));
  }
  void operator()(const Marking& m) {
    Line("marking", m.text, m.height_mm, m.depth_mm);
    Vec("into", m.into_P);
    Vec("at", m.at_P_mm);
    Vec("along", m.along_P);
  }
  void operator()(const Outline& o) {
    Line("outline", o.inside_radius_mm);
    Vec("into", o.into_P);
    Vec("origin", o.origin_P_mm);
    Vec("u", o.u_P);
    Vec("v", o.v_P);
    for (const auto& d : o.discs) Line("disc", d.centre_mm.x(), d.centre_mm.y(), d.diameter_mm);
    for (const auto& b : o.bars) Line("bar", b.a_mm.x(), b.a_mm.y(), b.b_mm.x(), b.b_mm.y(), b.width_mm);
    for (const auto& c : o.line) Line("corner", c.at_mm.x(), c.at_mm.y(), c.turn_rad);
    if (!o.line.empty()) Line("line", o.within, o.depth_mm);
  }
  void operator()(const Flats& f) {
    Line("flats", f.from_mm, f.to_mm, f.count);
    Axis("axis", f.axis_P);
    Of("across", f.across);
    Vec("normal", f.first_normal_P);
  }

  void Of(const Part& p) {
    Line("part", p.name.text(), p.material, static_cast<int>(p.sheet_unit), p.general_tolerance,
         static_cast<int>(p.envelope), p.mirror_of ? p.mirror_of->text() : "-");
    Box("block", p.block_P);
    Axis("turning", p.turning_axis_P);
    Line("stock", WordOf(p.stock.form), p.stock.diameter_mm, p.stock.from_mm, p.stock.to_mm,
         p.stock.proposed, p.stock.inner_diameter_mm, p.stock.allowance_mm, p.stock.skin_mm,
         p.stock.out_of_square_mm, p.stock.under_mm, p.stock.over_mm);
    Vec("flat", p.stock.flat_normal_P);
    Box("bar", p.stock.box_P);
    Axis("bar axis", p.stock.axis_P);
    for (const Feature& f : p.features) {
      Line("feature", f.name.text(), WordOf(f.finish), f.do_not_grip, f.note);
      if (f.ra_um) Line("ra", *f.ra_um);
      for (const GeometricLimit& limit : f.geometric) {
        Line("geometric", WordOf(limit.kind), limit.within_mm, limit.datum ? limit.datum->text() : "-");
      }
      std::visit(*this, f.shape);
    }
    for (const UnreadRegion& region : p.unread) {
      Line("unread", region.area_mm2, region.volume_mm3, region.why);
      for (const std::size_t face : region.faces) Line("  face", face);
    }
  }
  void Of(const Joint& j) {
    Line("joint", j.name.text(), WordOf(j.kind), j.fixed.text(), j.moving.text(),
         WordOf(j.float_kind), j.float_assumed, j.comes_apart);
    Vec("push", j.push_W);
    if (j.screw)
      Line("screw", j.screw->thread, j.screw->length_mm, j.screw->major_mm, j.screw->pitch_mm);
    for (const FeatureRef& ref : j.between) Line("between", ref.text());
    if (j.pin) Of("pin", *j.pin);
    Line("  with", j.washer_mm, j.compound, j.cure_min, j.belt.text());
  }
  void Of(const BoughtPart& b) {
    Line("bought", b.part.name.text(), WordOf(b.kind), b.what, b.quantity, b.placed, b.why);
    Line("  of it", b.radial_play_mm, b.axial_play_mm, b.section_mm, b.pitch_length_mm, b.stretch);
    Of(b.part);
  }
  void Of(const PartUse& u) {
    Line("use", u.part.text(), u.quantity);
    Of(u.X_WP);
    for (const Pose& copy : u.copies_X_WP) Of(copy);
  }
  void Of(const Pose& X_WP) {
    Vec("at", X_WP.translation());
    for (int k = 0; k < 3; ++k) Vec("turn", X_WP.linear().col(k));
  }
  void Of(const Requirement& r) {
    Line("requirement", r.name.text(), WordOf(r.kind), r.joint ? r.joint->text() : "-", r.a.text(),
         r.b.text(), r.words, r.derived);
    if (r.lower) Line("lower", *r.lower);
    if (r.upper) Line("upper", *r.upper);
    if (r.at_W_mm) Vec("at", *r.at_W_mm);
    Line("  of it", r.nominal_rad, r.extended);
    for (const auto& [a, b] : r.gaps) Line("gap", a.text(), b.text());
    if (!r.formula) return;
    Line("formula", r.formula->expression, r.formula->unit);
    for (const FormulaName& n : r.formula->names)
      Line("name", n.name, n.a.text(), n.b ? n.b->text() : "-");
  }
  void Of(const Machine& m) {
    Line("machine", m.name, static_cast<int>(m.display_unit));
    for (const auto& caution : m.cautions) Line("caution", caution);
    for (const Part& p : m.parts) Of(p);
    for (const PartUse& u : m.uses) Of(u);
    for (const BoughtPart& b : m.bought) Of(b);
    for (const PartUse& u : m.bought_uses) Of(u);
    for (const Joint& j : m.joints) Of(j);
    for (const Requirement& r : m.requirements) Of(r);
  }
  void Of(const Shop& s) {
    Line("shop", s.name, s.is_default, WordOf(s.level), s.spread_scale);
    for (const MachineTool& m : s.machines) {
      Line("machine", m.name.text(), WordOf(m.kind), m.words, m.swing_mm, m.swing_cross_slide_mm,
           m.between_centres_mm, m.daylight_mm, m.quill_mm, m.nose_diameter_mm, m.spindle_bore_mm,
           m.power_W, m.feed_max_mm_min, m.readout, m.x_sense, m.y_sense, m.z_sense,
           m.x_reads_diameter);
      Vec("travel", m.travel_mm);
      for (const double speed : m.speeds_rpm) Line("speed", speed);
    }
    for (const HoldingDevice& h : s.holding) {
      Line("holding", h.name.text(), WordOf(h.kind), h.on.text(), h.words, h.opening_mm,
           h.jaw_width_mm, h.jaw_height_mm, h.jaw_thickness_mm, h.bed_height_mm,
           h.fixed_jaw_at_rear, h.parallel_thickness_mm, h.thin_parallel_thickness_mm, h.body_diameter_mm, h.body_length_mm,
           h.jaw_reach_mm, h.jaw_step_mm, h.grip_min_mm, h.grip_max_mm, h.bore_mm, h.soft_jaws);
      for (const double height : h.parallels_mm) Line("parallel", height);
    }
    for (const Tool& t : s.tools) {
      Line("tool", t.name.text(), WordOf(t.kind), t.words, t.on, t.diameter_mm, t.diameter_min_mm,
           t.point_deg, t.tip_flat_mm, t.flute_mm, t.stick_out_mm, t.shank_mm, t.holder_diameter_mm,
           t.holder_length_mm, t.teeth, t.centre_cutting, t.carbide, t.thread, t.fit, t.rpm_max,
           t.width_mm, t.reach_mm);
      for (const Vec2& corner : t.section_T_mm) Line("corner", corner.x(), corner.y());
    }
    for (const Instrument& i : s.instruments) {
      Line("instrument", i.name.text(), WordOf(i.kind), i.words, i.from_mm, i.to_mm,
           i.finder_diameter_mm, i.centres_mm);
      for (const double block : i.blocks_mm) Line("block", block);
    }
    for (const auto& [id, spread] : s.spreads) {
      const SpreadFigure figure = FigureOf(s, spread);
      Line("spread", id, figure.mean, figure.spread, WordOf(spread.origin), spread.usual.mean,
           spread.usual.spread);
    }
    for (const Remedy& r : s.remedies) Line("remedy", r.for_what, r.words, r.minutes, r.mends);
    const HandlingTimes& t = s.times;
    Line("times", t.device_change, t.seat_in_vise, t.seat_in_chuck, t.seat_in_four_jaw,
         t.tool_change, t.find_edge, t.centre_bore, t.measure, t.assemble_screw, t.assemble_place,
         t.deburr_feature, t.move_to_hole);
  }
};

inline std::string DescribeShop(const Shop& shop) {
  Writer writer;
  writer.Of(shop);
  return writer.text;
}

inline std::string Describe(const files::Project& project) {
  Writer writer;
  writer.Of(project.machine);
  writer.Of(project.shop);
  for (const Pin& pin : project.choices.pins) {
    writer.Line("pin", WordOf(pin.kind), pin.subject, pin.value, pin.first);
  }
  for (const auto& line : project.assumed) writer.Line("assumed", line);
  for (const auto& line : project.warnings) writer.Line("warning", line);
  return writer.text;
}

}  // namespace fitwright::files_test
