#include <fmt/format.h>

#include <cmath>

#include "fitwright/reckon/entries.h"
#include "fitwright/reckon/entry_words.h"
#include "fitwright/reckon/slopes.h"
#include "fitwright/reckon/triangle.h"
#include "fitwright/trade/gauge_blocks.h"
#include "fitwright/units/length.h"

namespace fitwright::reckon {
namespace {

constexpr double kLeast_rad = 1e-6;
constexpr double kRight_rad = 0.5 * kPi;

void DrawTriangle(Drawing& drawing, const Triangle& t) {
  const Vec2 a(0, 0);
  const Vec2 b(t.side_mm[2], 0);
  const Vec2 c = t.side_mm[1] * Vec2(std::cos(t.angle_rad[0]), std::sin(t.angle_rad[0]));
  const double off = 0.03 * (t.side_mm[0] + t.side_mm[1] + t.side_mm[2]);
  drawing.stretches = {{a, b, Style::kVisible}, {b, c, Style::kVisible}, {c, a, Style::kVisible}};
  drawing.labels = {{a - Vec2(off, off), "A"},           {b + Vec2(off, -off), "B"},
                    {c + Vec2(0, 0.5 * off), "C"},       {0.5 * (b + c) + Vec2(off, 0), "a"},
                    {0.5 * (a + c) - Vec2(off, 0), "b"}, {0.5 * (a + b) - Vec2(0, off), "c"}};
}

Result<Reckoned> TriangleOf(const Given& given) {
  constexpr const char* kSides[] = {"a", "b", "c"};
  constexpr const char* kAngles[] = {"A", "B", "C"};
  TriangleGiven parts;
  for (std::size_t i = 0; i < 3; ++i) {
    parts.side_mm[i] = given.NumberIfAny(kSides[i]);
    parts.angle_rad[i] = given.NumberIfAny(kAngles[i]);
  }
  const auto found = SolveTriangle(parts);
  if (!found) return Unexpected(found.error());
  Reckoned r;
  Table table{found->size() == 1 ? "Triangle" : "Two triangles have these parts", {}, {}};
  table.columns.push_back({"of", Kind::kWord});
  for (const char* side : kSides) table.columns.push_back({side, Kind::kLength});
  for (const char* angle : kAngles) table.columns.push_back({angle, Kind::kAngle});
  for (const Triangle& t : *found) {
    table.rows.push_back({std::string(table.rows.empty() ? "first" : "second"), t.side_mm[0],
                          t.side_mm[1], t.side_mm[2], t.angle_rad[0], t.angle_rad[1],
                          t.angle_rad[2]});
    const std::string which =
        found->size() == 1 ? "" : (r.lines.empty() ? " of the first" : " of the second");
    r.Add("height on c" + which, Kind::kLength, 2 * AreaOf_mm2(t) / t.side_mm[2]);
  }
  r.tables.push_back(std::move(table));
  r.source = "geometry: laws of sines and cosines, sides to angles by half angles";
  DrawTriangle(r.drawing, found->front());
  return r;
}

struct BlocksAtHand {
  std::vector<double> heights_mm;
  std::string note;  // what was taken unsaid
};

// A set by name, one's own blocks, or the usual set of the unit system.
Result<BlocksAtHand> BlocksIn(const Given& given) {
  if (given.Has("blocks") && given.Has("set")) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "set", given.Word("set"),
                              "blocks come from a set or from a list of your own",
                              "give one of set and blocks"));
  }
  if (given.Has("blocks")) return BlocksAtHand{given.List("blocks"), ""};
  if (given.Has("set")) {
    return BlocksAtHand{trade::BlocksOf(EnumOf<trade::BlockSet>(given.Word("set")).value()), ""};
  }
  const bool inch = given.unit() == LengthUnit::kInch;
  const auto usual = inch ? trade::BlockSet::kInch81 : trade::BlockSet::kMetric87;
  return BlocksAtHand{trade::BlocksOf(usual),
                      fmt::format("No set of blocks was named: those of {}.", WordOf(usual))};
}

// The blocks for a height: their sizes and what they come to.
Status AddStack(Reckoned& r, const Given& given, double height_mm) {
  const auto blocks = BlocksIn(given);
  if (!blocks) return Unexpected(blocks.error());
  if (!blocks->note.empty()) r.notes.push_back(blocks->note);
  const std::vector<double> stack = trade::ChooseBlocks(height_mm, blocks->heights_mm);
  std::string words;
  for (const double block : stack) {
    words += (words.empty() ? "" : " + ") +
             FormatTrimmed(Show(Kind::kFine, block, given.unit()).value, 5);
  }
  r.AddWord("blocks to wring", words.empty() ? "none come near" : words);
  r.Add("they make", Kind::kFine, trade::SumOf(stack));
  r.Add("over the height wanted", Kind::kFine, trade::SumOf(stack) - height_mm);
  if (trade::SumOf(stack) < given.Number("centres")) {
    r.Add("angle that they set", Kind::kAngle,
          trade::SineAngle_rad(given.Number("centres"), trade::SumOf(stack)));
  }
  return Ok{};
}

Result<Reckoned> SineBar(const Given& given) {
  const double centres = given.Number("centres");
  const double angle = given.Number("angle");
  const double height = trade::SineStack_mm(centres, angle);
  Reckoned r;
  r.Add("height of the stack", Kind::kFine, height);
  if (const Status blocks = AddStack(r, given, height); !blocks) return Unexpected(blocks.error());
  r.source = "geometry: height = centres x sin(angle)";
  if (angle > 60 * kRadPerDeg) {
    r.cautions.push_back(
        "Over 60 deg a small error of the stack turns the bar far: set the other "
        "angle, 90 deg less this, from a square.");
  }
  const Vec2 end = centres * Vec2(std::cos(angle), std::sin(angle));
  const double roll = 0.05 * centres;
  r.drawing.stretches = {{Vec2(-roll, -roll), Vec2(1.1 * centres, -roll), Style::kVisible},
                         {Vec2(0, 0), end, Style::kCentre},
                         {Vec2(end.x(), -roll), end - Vec2(0, roll), Style::kThin}};
  r.drawing.rounds = {{Vec2(0, 0), roll}, {end, roll}};
  r.drawing.labels = {
      {end + Vec2(2 * roll, -0.5 * end.y()), ShowWithUnit(Kind::kFine, height, given.unit())}};
  return r;
}

Result<Reckoned> AngledFace(const Given& given) {
  const double angle = given.Number("angle");
  const double from = given.Number("from");
  const auto run = given.NumberIfAny("run");
  const auto along = given.NumberIfAny("along");
  if (run.has_value() == along.has_value()) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "run", "",
                              "the face's length is given once: run (level) or along (on the face)",
                              "give one of run and along"));
  }
  const double level = run ? *run : *along * std::cos(angle);
  const double rise = level * std::tan(angle);
  Reckoned r;
  r.Add("level from edge to edge", Kind::kLength, level);
  r.Add("along the face", Kind::kLength, level / std::cos(angle));
  r.Add("rise", Kind::kLength, rise);
  r.Add("scribe the near edge at", Kind::kLength, from);
  r.Add("scribe the far edge at", Kind::kLength, from + rise);
  const double stack = trade::SineStack_mm(given.Number("centres"), angle);
  r.Add("sine bar's stack", Kind::kFine, stack);
  if (const Status blocks = AddStack(r, given, stack); !blocks) return Unexpected(blocks.error());
  r.source = "geometry: rise = run x tan(angle); stack = centres x sin(angle)";
  r.notes.push_back(
      "Tilt the piece by the angle and mill the face level, or set the bar under it "
      "and clock it.");
  r.drawing.stretches = {{Vec2(0, 0), Vec2(level, 0), Style::kVisible},
                         {Vec2(0, 0), Vec2(0, from), Style::kVisible},
                         {Vec2(0, from), Vec2(level, from + rise), Style::kVisible},
                         {Vec2(level, 0), Vec2(level, from + rise), Style::kVisible},
                         {Vec2(0, from), Vec2(level, from), Style::kThin}};
  return r;
}

Result<double> HalfAngleGiven(const Given& given) {
  const auto included = given.NumberIfAny("angle");
  const bool sizes = given.Has("large") && given.Has("small") && given.Has("length");
  if (included.has_value() == sizes) {
    return Unexpected(Refused(ErrorCode::kWrongCount, "angle", "",
                              "a taper is its included angle, or large, small and length",
                              "give the one or the others"));
  }
  if (included) return 0.5 * *included;
  if (given.Number("large") <= given.Number("small")) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "small", "",
                              "the small diameter must be under the large", "swap them"));
  }
  return HalfAngle_rad(given.Number("large"), given.Number("small"), given.Number("length"));
}

Result<Reckoned> Taper(const Given& given) {
  const auto half = HalfAngleGiven(given);
  if (!half) return Unexpected(half.error());
  Reckoned r;
  r.Add("included angle", Kind::kAngle, 2 * *half);
  r.Add("compound slide from the axis", Kind::kAngle, *half);
  r.Add("taper on the diameter, 1 in", Kind::kNumber, 0.5 / std::tan(*half));
  r.Add("on the diameter for each 100 mm", Kind::kLength, 200 * std::tan(*half));
  r.Add("on the diameter for each foot", Kind::kLength, 24 * kMmPerInch * std::tan(*half));
  if (const auto between = given.NumberIfAny("between")) {
    r.Add("tailstock over by", Kind::kLength, SetOver_mm(*between, *half));
    r.notes.push_back(
        "The set-over holds for this length between centres only; centre holes seat "
        "askew, so prove it with a clock or on a first cut.");
  }
  if (const auto bar = given.NumberIfAny("clock")) {
    r.Add("a clock shows over that travel", Kind::kFine, *bar * std::sin(*half));
  }
  r.source = "geometry: half angle = atan((D - d) / 2 L); set-over = between centres x sin(half)";
  return r;
}

Result<Reckoned> Dovetail(const Given& given) {
  const double reach = PinReach_mm(given.Number("pin"), given.Number("angle"));
  const bool male = given.Word("side") == "outside";
  const double width = given.Number("width");
  Reckoned r;
  r.Add(male ? "over the pins" : "between the pins", Kind::kLength,
        male ? width + 2 * reach : width - 2 * reach);
  r.Add("a pin reaches from the corner", Kind::kLength, reach);
  if (const auto height = given.NumberIfAny("height")) {
    const double change = 2 * *height / std::tan(given.Number("angle"));
    r.Add(male ? "width across the top" : "width of the opening", Kind::kLength,
          male ? width + change : width - change);
  }
  if (!male && width - 2 * reach <= 0) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "pin", "",
                              "pins of this size do not go in side by side", "use smaller pins"));
  }
  r.source = "geometry: M = W +- pin x (1 + cot(angle / 2)), W across the sharp corners";
  return r;
}

Result<Reckoned> Vee(const Given& given) {
  const double pin = given.Number("pin");
  const double angle = given.Number("angle");
  const double top = PinTop_mm(pin, angle);
  const double depth = VeeDepth_mm(given.Number("width"), angle);
  const double touch = 0.5 * pin * (1 / std::sin(0.5 * angle) - std::sin(0.5 * angle));
  if (touch > depth) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "pin", "",
                              "the pin would lie on the vee's edges, not on its flanks",
                              "use a smaller pin"));
  }
  Reckoned r;
  r.Add("depth of the sharp vee", Kind::kLength, depth);
  r.Add("pin's top above the sharp corner", Kind::kLength, top);
  r.Add("pin's top above the face", Kind::kLength, top - depth);
  r.source = "geometry: pin / 2 x (1 + 1 / sin(angle / 2)); depth = W / 2 x cot(angle / 2)";
  return r;
}

Result<Reckoned> BoreBalls(const Given& given) {
  const auto bore =
      BoreByBalls_mm(given.Number("lower"), given.Number("upper"), given.Number("height"));
  if (!bore) return Unexpected(bore.error());
  const double radii = 0.5 * (given.Number("lower") + given.Number("upper"));
  Reckoned r;
  r.Add("bore", Kind::kLength, *bore);
  r.Add("bore changes for each unit of height", Kind::kNumber,
        -(given.Number("height") - radii) / (*bore - radii));
  r.source = "geometry: bore = s + sqrt(s^2 - (height - s)^2), s = half the balls' sum";
  return r;
}

Result<Reckoned> TaperBalls(const Given& given) {
  const auto taper = TaperByBalls(given.Number("large"), given.Number("large-depth"),
                                  given.Number("small"), given.Number("small-depth"));
  if (!taper) return Unexpected(taper.error());
  Reckoned r;
  r.Add("included angle", Kind::kAngle, 2 * taper->half_angle_rad);
  r.Add("half angle", Kind::kAngle, taper->half_angle_rad);
  r.Add("diameter at the face", Kind::kLength, taper->mouth_mm);
  r.source = "geometry: sin(half) = (R - r) / distance of the balls' middles";
  return r;
}

Result<Reckoned> TaperPins(const Given& given) {
  if (given.Number("high") <= given.Number("low")) {
    return Unexpected(Refused(ErrorCode::kOutOfRange, "high", "",
                              "the reading on the blocks must be over the one on the table",
                              "stand the plug on its small end"));
  }
  const TaperPlug plug = TaperByPins(given.Number("pin"), given.Number("low"), given.Number("high"),
                                     given.Number("blocks"));
  Reckoned r;
  r.Add("included angle", Kind::kAngle, 2 * plug.half_angle_rad);
  r.Add("half angle", Kind::kAngle, plug.half_angle_rad);
  r.Add("diameter at the small end", Kind::kLength, plug.small_mm);
  r.source = "geometry: tan(half) = (M2 - M1) / 2 h; d = M1 - pin x (1 + cot(45 deg - half / 2))";
  return r;
}

Input Angle(std::string_view about, double most_rad) {
  return Needs("angle", Kind::kAngle, about, kLeast_rad, most_rad);
}
Input Centres() {
  return Usual("centres", Kind::kLength, "100 mm", "between the sine bar's rolls", 1, 1000);
}
Input Set() {
  return Among("set", "the set of gauge blocks (usual: metric_87, in inches inch_81)",
               "metric_47 metric_87 metric_88 metric_103 metric_112 inch_81");
}
Input Blocks() {
  return Takes("blocks", Kind::kLengths, "or gauge blocks of your own", 0.01, 1000);
}

}  // namespace

std::vector<Reckoning> AngleEntries() {
  return {
      {"triangle",
       "The other sides and angles of a triangle from any three that fix it.",
       "a=30 b=40 A=40",
       {Takes("a", Kind::kLength, "side a"), Takes("b", Kind::kLength, "side b"),
        Takes("c", Kind::kLength, "side c"),
        Takes("A", Kind::kAngle, "angle opposite a", kLeast_rad, kPi - kLeast_rad),
        Takes("B", Kind::kAngle, "angle opposite b", kLeast_rad, kPi - kLeast_rad),
        Takes("C", Kind::kAngle, "angle opposite c", kLeast_rad, kPi - kLeast_rad)},
       TriangleOf},
      {"sine-bar",
       "The stack of gauge blocks under a sine bar for an angle.",
       "centres=100 angle=5.25 set=metric_87",
       {Angle("the angle to set", kRight_rad - kLeast_rad), Centres(), Set(), Blocks()},
       SineBar},
      {"angled-face",
       "Scribing heights of a sloping face, and the sine bar's stack to cut it.",
       "angle=30 run=40 from=10 set=metric_47",
       {Angle("the face from level", kRight_rad - kLeast_rad),
        Takes("run", Kind::kLength, "level from edge to edge"),
        Takes("along", Kind::kLength, "on the face from edge to edge"),
        Usual("from", Kind::kLength, "0 mm", "height of the near edge above the table", 0,
              kMostLength_mm),
        Centres(), Set(), Blocks()},
       AngledFace},
      {"taper",
       "A taper's angle, and what sets compound slide or tailstock for it.",
       "large=20 small=16 length=80 between=150",
       {Takes("angle", Kind::kAngle, "included angle", kLeast_rad, kPi - kLeast_rad),
        Takes("large", Kind::kLength, "large diameter"),
        Takes("small", Kind::kLength, "small diameter", 0, kMostLength_mm),
        Takes("length", Kind::kLength, "length from the one to the other"),
        Takes("between", Kind::kLength, "length of the work between centres"),
        Takes("clock", Kind::kLength,
              "travel of the slide along a test bar, to check it by clock")},
       Taper},
      {"dovetail",
       "A dovetail measured over or between pins.",
       "side=outside angle=60 width=30 pin=6",
       {Choice("side", "outside", "a slide (outside) or its way (inside)", "outside inside"),
        Angle("the dovetail's angle from its base", kRight_rad - kLeast_rad),
        Needs("width", Kind::kLength, "across the sharp corners where the pins lie"),
        Needs("pin", Kind::kLength, "diameter of the pins"),
        Takes("height", Kind::kLength, "height, for the width at its other end")},
       Dovetail},
      {"vee",
       "A vee groove measured over a pin.",
       "angle=90 width=20 pin=16",
       {Angle("included angle", kPi - kLeast_rad),
        Needs("width", Kind::kLength, "width at the face"),
        Needs("pin", Kind::kLength, "diameter of the pin")},
       Vee},
      {"bore-balls",
       "A bore from the height of two balls that lie in it.",
       "lower=20 upper=20 height=36",
       {Needs("lower", Kind::kLength, "the lower ball"),
        Needs("upper", Kind::kLength, "the upper ball"),
        Needs("height", Kind::kLength, "from the floor to the upper ball's top")},
       BoreBalls},
      {"taper-balls",
       "A taper bore from the depths of two balls.",
       "large=20 large-depth=3 small=16 small-depth=42",
       {Needs("large", Kind::kLength, "the large ball"),
        Needs("large-depth", Kind::kLength, "face down to the large ball's top (negative: proud)",
              -kMostLength_mm, kMostLength_mm),
        Needs("small", Kind::kLength, "the small ball"),
        Needs("small-depth", Kind::kLength, "face down to the small ball's top", -kMostLength_mm,
              kMostLength_mm)},
       TaperBalls},
      {"taper-pins",
       "A taper plug from readings over pins on the table and on blocks.",
       "pin=10 low=41.2 high=43.7 blocks=50",
       {Needs("pin", Kind::kLength, "diameter of both pins"),
        Needs("low", Kind::kLength, "over the pins on the table"),
        Needs("high", Kind::kLength, "over the pins on the blocks"),
        Needs("blocks", Kind::kLength, "height of the blocks")},
       TaperPins},
  };
}

}  // namespace fitwright::reckon
