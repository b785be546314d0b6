// The cuts of one setup: what to do, with what, to which size, and the tables of coordinates.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "fitwright/model/measured_between.h"
#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/hole_labels.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr std::string_view kBox = "________";
// Depths alike to this are one depth.
constexpr double kSamePlace_mm = 5e-4;

std::string StepNumber(const Setup& setup, const Step& step) {
  return fmt::format("{}.{}", setup.number, &step - setup.steps.data() + 1);
}

bool IsHoleWork(Operation operation) {
  switch (operation) {
    case Operation::kSpot:
    case Operation::kSpotThrough:
    case Operation::kDrill:
    case Operation::kReam:
    case Operation::kTap:
    case Operation::kBore:
    case Operation::kCounterbore:
    case Operation::kChamfer: return true;
    default: return false;
  }
}

std::string StepSentence(const BookContext& context, const Step& step) {
  if (const auto said = context.SayStep(step.words); said && !said->empty()) return Capital(*said);
  std::vector<std::string> names;
  for (const FeatureRef& ref : step.features) names.push_back(NameText(ref));
  for (const PartId& part : step.parts) names.push_back(NameText(part.text()));
  const bool pattern = step.coordinates.size() > 1 && IsHoleWork(step.operation);
  std::string text = Capital(std::string(VerbOf(step.operation)));
  if (!names.empty()) text += " the " + ListText(names);
  if (pattern) text += ", " + CountText(static_cast<int>(step.coordinates.size())) + " places";
  return text + ".";
}

bool CutsBore(const BookContext& context, const Step& step) {
  if (step.features.empty()) return false;
  const Feature* feature = context.machine.Find(step.features.front());
  if (feature == nullptr) return false;
  if (const auto* groove = std::get_if<Groove>(&feature->shape)) return groove->internal;
  return std::holds_alternative<Hole>(feature->shape);
}

// Single-point cuts in the lathe that deepen along x: the tool's way runs along the axis.
bool DeepensAcross(const BookContext& context, const Setup& setup, const Step& step) {
  if (!context.IsLathe(setup) || step.path.empty()) return false;
  const std::vector<Vec3>& way = step.path.front().points_S_mm;
  return way.size() > 1 && std::abs(way[1].z() - way[0].z()) > std::abs(way[1].x() - way[0].x());
}

// What the path of a worked size is drawn to: the middle of the sheet's limits, whatever the aim's are.
double DrawnSize_mm(const BookContext& context, const Step& step) {
  const Feature* feature = step.features.empty() ? nullptr : context.machine.Find(step.features.front());
  const auto* outer = feature == nullptr ? nullptr : std::get_if<OuterDiameter>(&feature->shape);
  const bool fitted = step.aim->kind == AimKind::kFitToMeasured;
  return fitted && outer != nullptr ? outer->diameter.middle_mm() : 0.5 * (step.aim->lower_mm + step.aim->upper_mm);
}

// The x of a place on the size that is worked to reads what is aimed at, not the middle of the limits.
double AimedX_mm(const BookContext& context, const Step& step, const Coordinate& c, bool reads_diameter) {
  if (!step.aim) return c.x_mm;
  const double unit_of_x = reads_diameter ? 1 : 0.5;
  const double drawn = unit_of_x * DrawnSize_mm(context, step);
  if (std::abs(std::abs(c.x_mm) - drawn) > kSamePlace_mm) return c.x_mm;
  return std::copysign(unit_of_x * step.aim->target_mm, c.x_mm);
}

// What the readout says at the end of each of several passes.
struct Passes {
  std::string axis;
  std::vector<std::string> readings;
};

Passes PassesOf(const BookContext& context, const Setup& setup, const Step& step) {
  const MachineTool* machine = context.shop.Find(setup.machine);
  if (step.levels_mm.size() < 2 || machine == nullptr || step.coordinates.empty()) return {};
  const bool across = DeepensAcross(context, setup, step);
  const double last = across ? AimedX_mm(context, step, step.coordinates.front(), machine->x_reads_diameter)
                             : step.coordinates.back().z_mm;
  double sense = machine->z_sense;
  if (across) {
    sense = machine->x_sense * (machine->x_reads_diameter ? 2 : 1) * (CutsBore(context, step) ? -1 : 1);
  }
  Passes passes{across ? "X" : "Z", {}};
  for (const double level : step.levels_mm) {
    passes.readings.push_back(FineLength(last + sense * (step.levels_mm.back() - level), context.unit));
  }
  return passes;
}

// ", 2 passes, to Z 0.300 and 0.000".
std::string PassesText(const Passes& passes) {
  if (passes.readings.empty()) return "";
  return fmt::format("; {} passes, to {} {}", passes.readings.size(), passes.axis, ListText(passes.readings));
}

// A size that is worked to stands on the aim's line.
std::string SetText(const BookContext& context, const Step& step) {
  if (step.aim || step.operation == Operation::kChamfer) return "";
  for (const PathPiece& piece : step.path) {
    if (piece.set_diameter_mm > 0) return ", set to " + FineLength(piece.set_diameter_mm, context.unit);
  }
  return "";
}

// One figure for one depth: where the top that zero stands on is worked a little off the middle of its limits,
// what the dial reads.
double DepthSaid_mm(const BookContext& context, const Setup& setup, const Step& step) {
  constexpr double kAimedOff_mm = 0.05;
  if (context.IsLathe(setup) || step.coordinates.empty()) return step.depth_mm;
  const double read = std::abs(step.coordinates.front().z_mm);
  return std::abs(read - step.depth_mm) < kAimedOff_mm ? read : step.depth_mm;
}

std::string ToolLine(const BookContext& context, const Setup& setup, const Step& step) {
  if (step.tool.empty()) return "";
  std::string text = Capital(context.ToolText(step.tool));
  if (step.rpm > 0) text += ", " + FormatFixed(step.rpm, 0) + " rpm";
  text += SetText(context, step);
  if (step.depth_mm > 0) text += ", depth " + NamedLength(DepthSaid_mm(context, setup, step), context.unit);
  return text + PassesText(PassesOf(context, setup, step)) + ".";
}

// "= A - B = ____", the way a size to suit is written.
std::string ToSuitLine(const BookContext& context, const Step& step, const Aim& aim) {
  const bool bore = CutsBore(context, step);
  const double added_mm = bore ? aim.clearance_mm : -aim.clearance_mm;
  const std::string mate = aim.mate ? NameText(*aim.mate) : "the mate";
  return fmt::format("Size = {} as measured {} {} = {} {}", mate, added_mm < 0 ? "-" : "+",
                     FineLength(std::abs(added_mm), context.unit), kBox, UnitWord(context.unit));
}

// As its figure reads: what is summed on paper must come out as it is printed.
double Printed_mm(double length_mm, LengthUnit unit) {
  const double step_mm = unit == LengthUnit::kInch ? 25.4e-4 : 1e-3;
  return std::round(length_mm / step_mm) * step_mm;
}

std::string ToSuitRange(const BookContext& context, const Step& step, const Aim& aim) {
  const double mate_mm = aim.target_mm + (CutsBore(context, step) ? -aim.clearance_mm : aim.clearance_mm);
  return fmt::format("With it at {} that is {}; anything that leaves {} will do.",
                     FineLength(mate_mm, context.unit), FineLength(Printed_mm(mate_mm, context.unit) + Printed_mm(aim.target_mm - mate_mm, context.unit), context.unit),
                     LimitsText(aim.clearance_lower_mm, aim.clearance_upper_mm, context.unit));
}

bool CutsFace(const BookContext& context, const Step& step) {
  if (step.features.empty()) return false;
  const Feature* feature = context.machine.Find(step.features.front());
  return feature != nullptr && std::holds_alternative<PlanarFace>(feature->shape);
}

// A face has no size of its own: what is measured over it stands on the measure line.
std::string FaceToSuitLine(const BookContext& context, const Step& step, const Aim& aim) {
  const auto seat = aim.mate ? SeatOn(context.machine, step.features.front().part, aim.mate->part) : std::nullopt;
  const std::string at = seat ? StepMeasuring(context.plan, *aim.mate, *seat) : "";
  return fmt::format("Height over its own seat = depth from the {} down to that seat as measured{} + {} = {} {}; "
                     "{} proud will do.",
                     aim.mate ? NameText(*aim.mate) : "mate", at.empty() ? "" : fmt::format(" at step {} ({})", at, kBox), FineLength(aim.clearance_mm, context.unit), kBox,
                     UnitWord(context.unit),
                     LimitsText(aim.clearance_lower_mm, aim.clearance_upper_mm, context.unit));
}

// A length that closes a stack: what the trial without the piece showed, less what is to be left.
std::string LengthToSuitLine(const BookContext& context, const Step& step, const Aim& aim) {
  return fmt::format("Length = float without the {} as measured for {} - {} = {} {}; {} of float will do.",
                     NameText(step.features.front().part.text()), NameText(aim.closes.text()),
                     FineLength(aim.clearance_mm, context.unit), kBox, UnitWord(context.unit),
                     LimitsText(aim.clearance_lower_mm, aim.clearance_upper_mm, context.unit));
}

std::string AimLine(const BookContext& context, const Step& step) {
  if (!step.aim || step.operation == Operation::kTrial) return "";
  const Aim& aim = *step.aim;
  if (!aim.closes.empty() && !step.features.empty()) return LengthToSuitLine(context, step, aim);
  if (CutsFace(context, step)) {
    return aim.kind == AimKind::kFitToMeasured ? FaceToSuitLine(context, step, aim) : "";
  }
  if (aim.kind == AimKind::kFitToMeasured) return ToSuitRange(context, step, aim);
  std::string text = fmt::format("Aim {}, limits {} {}", FineLength(aim.target_mm, context.unit),
                                 LimitsText(aim.lower_mm, aim.upper_mm, context.unit),
                                 UnitWord(context.unit));
  if (aim.kind == AimKind::kBringToSize) text += "; cut, measure, cut again";
  return text + ".";
}

// Limits are printed from their figures; what the sentence says of them is left out.
std::string WithoutLimits(const BookContext& context, const std::string& words) {
  const std::size_t colon = words.rfind(": ");
  const bool figures = colon != std::string::npos && colon + 2 < words.size() &&
                       (std::isdigit(static_cast<unsigned char>(words[colon + 2])) != 0 ||
                        words[colon + 2] == '-');
  return context.SayAtMachine(figures ? words.substr(0, colon) : words);
}

std::string MeasureText(const BookContext& context, const Step& step) {
  if (!step.measure) return "";
  const MeasureLine& line = *step.measure;
  std::string text = line.words.empty() ? "Measure the " + NameText(line.feature)
                                        : Capital(WithoutLimits(context, line.words));
  while (!text.empty() && text.back() == '.') text.pop_back();
  const std::string instrument = context.InstrumentText(line.instrument);
  if (!instrument.empty() && text.find(instrument) == std::string::npos) {
    text += ", " + instrument;
  }
  const bool fitted = step.aim && step.aim->kind == AimKind::kFitToMeasured;
  if (line.upper_mm > line.lower_mm && !fitted) {
    text += ": " + LimitsText(line.lower_mm, line.upper_mm, context.unit);
  }
  return text + ".";
}

std::string ThroughText(const Step& step) {
  if (!step.through) return "";
  return "Through the " + NameText(*step.through) + ", held tight against the face.";
}

bool SaidBefore(const Setup& setup, const Step& step) {
  for (const Step& other : setup.steps) {
    if (&other == &step) return false;
    if (other.caution == step.caution && other.tool == step.tool) return true;
  }
  return false;
}

TickLine MakeTickLine(const BookContext& context, const Setup& setup, const Step& step) {
  const bool only_measures = step.operation == Operation::kMeasure && step.words.empty();
  TickLine line{StepNumber(setup, step), only_measures ? MeasureText(context, step) : StepSentence(context, step), {}, "", {}};
  const Passes passes = PassesOf(context, setup, step);
  line.pass_axis = passes.axis;
  line.passes = passes.readings;
  const auto add = [&](const std::string& text) {
    if (!text.empty()) line.details.push_back(text);
  };
  add(ToolLine(context, setup, step));
  add(ThroughText(step));
  if (step.aim && step.aim->kind == AimKind::kFitToMeasured && step.aim->mate && !CutsFace(context, step)) {
    add(ToSuitLine(context, step, *step.aim));
  }
  add(AimLine(context, step));
  if (!only_measures) add(MeasureText(context, step));
  if (step.wait_min > 0) {
    add(fmt::format("Wait {}; the maker's sheet governs.", TimeText(step.wait_min)));
    add(MeanwhileText(context, setup));
  }
  if (step.measure) add(fmt::format("Measured {} {}", kBox, UnitWord(context.unit)));
  if (!step.caution.empty() && !SaidBefore(setup, step)) {
    add("Caution: " + Capital(context.SayAtMachine(step.caution)));
  }
  return line;
}

bool AllSameZ(const Step& step) {
  return std::all_of(step.coordinates.begin(), step.coordinates.end(), [&](const Coordinate& c) {
    return std::abs(c.z_mm - step.coordinates.front().z_mm) < kSamePlace_mm;
  });
}

// One row a place; for each step of the group a column with its Z and a tick box.
Table MakeHoleTable(const BookContext& context, const Setup& setup,
                    const PlaceGroup& places) {
  const std::vector<const Step*>& group = places.steps;
  const std::string unit(UnitWord(context.unit));
  Table table;
  table.indented = true;
  table.repeated = 3;
  table.columns = {{"at", "", Align::kLeft, false},
                   {"X", unit, Align::kPoint, false},
                   {"Y", unit, Align::kPoint, false}};
  const bool turned = group[0]->coordinates.front().table_deg.has_value();
  if (turned) table.columns.push_back({"table", "", Align::kRight, false});
  for (const Step* step : group) {
    const std::string head = StepNumber(setup, *step) + " " + std::string(VerbOf(step->operation));
    table.columns.push_back({head,
                             AllSameZ(*step) ? "Z " + FineLength(step->coordinates[0].z_mm,
                                                                 context.unit)
                                             : "Z, " + unit,
                             Align::kLeft, false});
  }
  for (std::size_t i = 0; i < group[0]->coordinates.size(); ++i) {
    const Coordinate& c = group[0]->coordinates[i];
    std::vector<std::string> row = {places.labels[i], FineLength(c.x_mm, context.unit),
                                    FineLength(c.y_mm, context.unit)};
    if (turned) row.push_back(DegreesAndMinutes(c.table_deg.value_or(0)));
    for (const Step* step : group) {
      row.push_back(AllSameZ(*step)
                        ? "[ ]"
                        : FineLength(step->coordinates[i].z_mm, context.unit) + " [ ]");
    }
    table.rows.push_back(std::move(row));
  }
  return table;
}

// Ends and corners of a milled cut, in order.
Table MakeWayTable(const BookContext& context, const Step& step) {
  const std::string unit(UnitWord(context.unit));
  Table table;
  table.indented = true;
  table.columns = {{"at", "", Align::kLeft, false},
                   {"X", unit, Align::kPoint, false},
                   {"Y", unit, Align::kPoint, false},
                   {"Z", unit, Align::kPoint, false}};
  const bool turned = std::any_of(step.coordinates.begin(), step.coordinates.end(),
                                  [](const Coordinate& c) { return c.table_deg.has_value(); });
  if (turned) table.columns.push_back({"table", "", Align::kRight, false});
  for (const Coordinate& c : step.coordinates) {
    table.rows.push_back({c.hole, FineLength(c.x_mm, context.unit),
                          FineLength(c.y_mm, context.unit), FineLength(c.z_mm, context.unit)});
    if (turned) table.rows.back().push_back(c.table_deg ? DegreesAndMinutes(*c.table_deg) : "");
  }
  return table;
}

Table MakeTurningTable(const BookContext& context, const Setup& setup, const Step& step) {
  const MachineTool* lathe = context.shop.Find(setup.machine);
  const bool diameter = lathe != nullptr && lathe->x_reads_diameter;
  const std::string unit(UnitWord(context.unit));
  Table table;
  table.indented = true;
  table.columns = {{"at", "", Align::kLeft, false},
                   {"X", unit + (diameter ? " dia." : " radius"), Align::kPoint, false},
                   {"Z", unit, Align::kPoint, false}};
  for (const Coordinate& c : step.coordinates) {
    table.rows.push_back({c.hole, FineLength(AimedX_mm(context, step, c, diameter), context.unit),
                          FineLength(c.z_mm, context.unit)});
  }
  return table;
}

void AddPlaces(const BookContext& context, const Setup& setup, const Step& step, const std::vector<PlaceGroup>& groups, Book& book) {
  if (step.coordinates.empty()) return;
  if (context.IsLathe(setup)) {
    book.pieces.emplace_back(MakeTurningTable(context, setup, step));
    return;
  }
  // An edge that is milled along is a way, whatever the work is called.
  const bool places = std::all_of(step.path.begin(), step.path.end(), [](const PathPiece& p) { return p.kind == PathKind::kPlunge; });
  if (!IsHoleWork(step.operation) || !places) {
    book.pieces.emplace_back(MakeWayTable(context, step));
    return;
  }
  const auto group = std::find_if(groups.begin(), groups.end(), [&](const PlaceGroup& g) { return g.steps.back() == &step; });
  if (group != groups.end()) book.pieces.emplace_back(MakeHoleTable(context, setup, *group));
}

}  // namespace

void AddSteps(const BookContext& context, const Setup& setup, Book& book) {
  const std::vector<PlaceGroup> groups = FindPlaceGroups(setup);
  for (const Step& step : setup.steps) {
    book.pieces.emplace_back(MakeTickLine(context, setup, step));
    AddPlaces(context, setup, step, groups, book);
    AddPause(context, setup, step, book);
  }
}

}  // namespace fitwright::sheets
