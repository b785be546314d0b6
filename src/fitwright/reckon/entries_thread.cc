#include <fmt/format.h>

#include <cmath>

#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/thread_form.h"
#include "fitwright/trade/drills.h"
#include "fitwright/trade/screw_holes.h"
#include "fitwright/trade/thread_limits.h"
#include "fitwright/trade/threads.h"
#include "fitwright/units/geometry.h"

namespace fitwright::reckon {
namespace {

constexpr double kLeastPitch_mm = 0.05;
constexpr double kMostPitch_mm = 50;

struct ThreadAt {
  ThreadShape shape;
  const trade::ThreadRow* row = nullptr;  // when the tables have it
};

Result<ThreadAt> NamedThread(const std::string& name) {
  const trade::ThreadRow* row = trade::FindThread(name);
  if (row == nullptr) {
    std::string nearest;
    for (const std::string_view one : trade::NearestThreads(name)) {
      nearest += (nearest.empty() ? "" : ", ") + std::string(one);
    }
    return Unexpected(Refused(ErrorCode::kUnknownThread, "thread", name,
                              "the tables have no such thread",
                              "nearest: " + nearest + "; or give diameter and pitch (or tpi)"));
  }
  ThreadForm form = ThreadForm::kIso;
  if (trade::IsWhitworthForm(row->series)) form = ThreadForm::kWhitworth;
  if (row->series == trade::ThreadSeries::kBa) form = ThreadForm::kBa;
  return ThreadAt{{form, row->major_mm, row->pitch_mm}, row};
}

// thread=..., or diameter with pitch or tpi and the form.
Result<ThreadAt> ThreadIn(const Given& given) {
  const bool named = given.Has("thread");
  const bool sized = given.Has("diameter") || given.Has("pitch") || given.Has("tpi");
  if (named && !sized) return NamedThread(given.Word("thread"));
  if (named || !given.Has("diameter") || given.Has("pitch") == given.Has("tpi")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "thread", "",
                              "a thread is its name, or a diameter and one of pitch and tpi",
                              "write thread=M6, or diameter=6 pitch=0.75"));
  }
  const std::string& word = given.Word("form");
  ThreadAt thread;
  thread.shape.form = word == "55"     ? ThreadForm::kWhitworth
                      : word == "47.5" ? ThreadForm::kBa
                                       : ThreadForm::kIso;
  thread.shape.major_mm = given.Number("diameter");
  thread.shape.pitch_mm =
      given.Has("pitch") ? given.Number("pitch") : kMmPerInch / given.Number("tpi");
  if (thread.shape.minor_mm() <= 0) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "pitch", "",
                              "a thread of this pitch is deeper than the diameter",
                              "give a finer pitch"));
  }
  return thread;
}

std::string_view StandardOf(ThreadForm form) {
  switch (form) {
    case ThreadForm::kIso:
      return "basic profile of ISO 68-1 and ASME B1.1 (60 deg)";
    case ThreadForm::kWhitworth:
      return "basic profile of BS 84 and ISO 228-1 (55 deg)";
    case ThreadForm::kBa:
      return "basic profile of BS 93 (47.5 deg)";
  }
  return "";
}

void AddSharesOf(Table& table, const ThreadShape& shape, std::string name, double hole_mm) {
  const double deep = shape.major_mm - hole_mm;
  table.rows.push_back({std::move(name), hole_mm, 100 * deep / FullThread_mm(shape, false),
                        100 * deep / FullThread_mm(shape, true)});
}

Table SharesTable() {
  return {"Thread that a hole leaves",
          {{"hole", Kind::kWord},
           {"diameter", Kind::kLength},
           {"of 5/8 H", Kind::kPercent},
           {"of 3/4 H", Kind::kPercent}},
          {}};
}

void AddLimits(Reckoned& r, const trade::ThreadRow& row) {
  const std::string_view out = trade::UsualExternalClass(row);
  const std::string_view in = trade::UsualInternalClass(row);
  if (out.empty()) return;
  const auto external = trade::FindExternalLimits(row, out);
  const auto internal = trade::FindInternalLimits(row, in);
  if (!external || !internal) return;
  Table limits{fmt::format("Limits, {} outside and {} inside", out, in),
               {{"of", Kind::kWord}, {"least", Kind::kLength}, {"greatest", Kind::kLength}},
               {}};
  const auto add = [&](const char* of, const trade::SizeLimits& l) {
    limits.rows.push_back({std::string(of), l.lower_mm, l.upper_mm});
  };
  add("screw, major", external->major);
  add("screw, pitch", external->pitch);
  add("nut, pitch", internal->pitch);
  add("nut, minor", internal->minor);
  r.tables.push_back(std::move(limits));
  if (row.series == trade::ThreadSeries::kUnef) {
    r.notes.push_back(
        "These limits are computed by the standard's formulas, not read in its table: their last "
        "digit may differ where the table rounds otherwise.");
  }
}

void AddClearance(Reckoned& r, const trade::ThreadRow& row) {
  for (const auto& fit : WordsOf<trade::ClearanceFit>::kAll) {
    const auto hole = trade::ClearanceHole_mm(row, fit.value);
    if (hole) r.Add(fmt::format("clearance hole, {}", fit.word), Kind::kLength, *hole);
  }
}

Result<Reckoned> Thread(const Given& given) {
  const auto thread = ThreadIn(given);
  if (!thread) return Unexpected(thread.error());
  const ThreadShape& shape = thread->shape;
  const trade::ThreadRow* row = thread->row;
  const bool listed = row != nullptr;
  Reckoned r;
  r.Add("major diameter", Kind::kLength, shape.major_mm);
  r.Add("pitch", Kind::kFine, shape.pitch_mm);
  r.Add("threads to the inch", Kind::kNumber, kMmPerInch / shape.pitch_mm);
  r.Add("pitch diameter", Kind::kLength,
        listed ? trade::PitchDiameter_mm(*row) : shape.pitch_diameter_mm());
  r.Add("minor diameter of the nut", Kind::kLength,
        listed ? trade::MinorDiameter_mm(*row) : shape.minor_mm());
  r.Add("depth of thread, one side", Kind::kLength,
        listed ? trade::BasicDepth_mm(*row) : shape.depth_mm());
  if (shape.form == ThreadForm::kIso) {
    // ISO 68-1: root rounded by H/6 of the sharp vee: d3 = d - 1.226869 P.
    const double root_mm = shape.major_mm - 1.226869 * shape.pitch_mm;
    r.Add("root diameter of the screw", Kind::kLength,
          listed ? trade::RootDiameter_mm(*row) : root_mm);
  }
  r.Add("included angle", Kind::kAngle, 2 * shape.half_angle_rad());
  r.Add("lead angle", Kind::kAngle, shape.lead_angle_rad());
  if (thread->row != nullptr) {
    r.Add("tap drill as listed", Kind::kLength, thread->row->tap_drill_mm);
    AddLimits(r, *thread->row);
    AddClearance(r, *thread->row);
  }
  r.source = fmt::format("{}{}", StandardOf(shape.form),
                         thread->row != nullptr
                             ? "; limits, tap drill and clearance by the series' own standard"
                             : "");
  return r;
}

Result<Reckoned> TapDrill(const Given& given) {
  const auto thread = ThreadIn(given);
  if (!thread) return Unexpected(thread.error());
  const ThreadShape& shape = thread->shape;
  const bool older = given.Word("rule") == "3/4H";
  const double hole = shape.major_mm - 0.01 * given.Number("share") * FullThread_mm(shape, older);
  Reckoned r;
  r.Add("hole for that share", Kind::kLength, hole);
  Table table = SharesTable();
  const std::string& drawer = given.Word("drills");
  const trade::DrillSets sets = drawer == "metric" ? trade::kMetricDrills
                                : drawer == "inch" ? trade::kInchDrills
                                                   : trade::kAllDrills;
  const auto below = trade::DrillAtOrBelow(hole, sets);
  const auto above = trade::DrillAtOrAbove(hole, sets);
  if (below) AddSharesOf(table, shape, below->name, below->diameter_mm);
  if (above && (!below || above->name != below->name)) {
    AddSharesOf(table, shape, above->name, above->diameter_mm);
  }
  if (thread->row != nullptr) {
    AddSharesOf(table, shape, "as listed", thread->row->tap_drill_mm);
  }
  if (const auto drill = given.NumberIfAny("hole")) AddSharesOf(table, shape, "given", *drill);
  r.tables.push_back(std::move(table));
  if (shape.form == ThreadForm::kIso) {
    r.notes.push_back(
        "Handbooks' percentages go by 3/4 H, the standards' profile by 5/8 H: 75 of "
        "the one is 90 of the other.");
  }
  r.source = fmt::format("hole = d - share x full thread; {}", StandardOf(shape.form));
  return r;
}

Result<Reckoned> ThreadWires(const Given& given) {
  const auto thread = ThreadIn(given);
  if (!thread) return Unexpected(thread.error());
  const ThreadShape& shape = thread->shape;
  const double best = BestWire_mm(shape);
  const double wire = given.NumberIfAny("wire").value_or(best);
  const WireRange usable = UsableWires_mm(shape);
  if (wire <= usable.least_mm || wire >= usable.greatest_mm) {
    return Unexpected(
        Refused(ErrorCode::kOutOfRange, "wire", ShowWithUnit(Kind::kLength, wire, given.unit()),
                fmt::format("wires for this thread go from {} to {}",
                            ShowWithUnit(Kind::kFine, usable.least_mm, given.unit()),
                            ShowWithUnit(Kind::kFine, usable.greatest_mm, given.unit())),
                fmt::format("the best is {}", ShowWithUnit(Kind::kFine, best, given.unit()))));
  }
  const double pitch_diameter =
      given.NumberIfAny("pitch-diameter").value_or(shape.pitch_diameter_mm());
  Reckoned r;
  r.Add("best wire", Kind::kFine, best);
  r.Add("wires that do, from", Kind::kFine, usable.least_mm);
  r.Add("wires that do, to", Kind::kFine, usable.greatest_mm);
  r.Add("pitch diameter", Kind::kFine, pitch_diameter);
  r.Add("over the wires", Kind::kFine, OverWires_mm(shape, pitch_diameter, wire));
  r.Add("the wires' lean adds", Kind::kFine, LeanOfWires_mm(shape, wire));
  if (const auto over = given.NumberIfAny("measured")) {
    r.Add("pitch diameter measured", Kind::kFine, PitchDiameterByWires_mm(shape, *over, wire));
  }
  r.source =
      "M = E + w (1 + 1 / sin a) - P / 2 cot a, a the flank's angle; lean after ASME B1.2, "
      "from memory";
  r.notes.push_back(
      "Without the lean, which is under what a bench micrometer shows on single-start "
      "threads; the wires press with the micrometer's own force.");
  return r;
}

std::vector<Input> ThreadInputs(std::vector<Input> more) {
  std::vector<Input> inputs = {
      Takes("thread", Kind::kWord, "the thread's name", 0, 0),
      Takes("diameter", Kind::kLength, "major diameter, when it has no name here", 0.2, 1000),
      Takes("pitch", Kind::kLength, "its pitch", kLeastPitch_mm, kMostPitch_mm),
      Takes("tpi", Kind::kNumber, "its threads to the inch", kMmPerInch / kMostPitch_mm,
            kMmPerInch / kLeastPitch_mm),
      Choice("form", "60", "its included angle, deg", "60 55 47.5")};
  inputs.insert(inputs.end(), more.begin(), more.end());
  return inputs;
}

}  // namespace

std::vector<Reckoning> ThreadEntries() {
  return {
      {"thread", "A screw thread's diameters, angles and limits.", "thread=M6", ThreadInputs({}),
       Thread},
      {"tap-drill", "The hole for a share of full thread, and what drills at hand leave.",
       "thread=M6 share=75",
       ThreadInputs({Usual("share", Kind::kPercent, "75", "share of a full thread wanted", 10, 100),
                     Choice("rule", "3/4H", "what counts as full (60 deg threads)", "3/4H 5/8H"),
                     Choice("drills", "metric", "the drills at hand", "metric inch all"),
                     Takes("hole", Kind::kLength, "a hole to judge too", 0.1, 1000)}),
       TapDrill},
      {"thread-wires", "A thread measured over three wires.", "thread=M6",
       ThreadInputs({Takes("wire", Kind::kLength, "diameter of the wires at hand", 0.01, 100),
                     Takes("pitch-diameter", Kind::kLength, "pitch diameter to work to", 0.1, 1000),
                     Takes("measured", Kind::kLength, "what the micrometer reads", 0.1, 1000)}),
       ThreadWires},
  };
}

}  // namespace fitwright::reckon
