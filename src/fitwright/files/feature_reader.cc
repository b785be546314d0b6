#include "fitwright/files/feature_reader.h"

#include <algorithm>

namespace fitwright::files {
namespace {

struct Row {
  TableReader table;
  FeatureWord word = FeatureWord::kHole;
  bool known = false;  // kind could be read
  bool good = false;
  bool renames_block_face = false;
  Feature feature;
  HoleTask task;
};

FeatureShape DefaultShape(FeatureWord word) {
  switch (word) {
    case FeatureWord::kPlanarFace:
      return PlanarFace{};
    case FeatureWord::kHole:
    case FeatureWord::kBore:
    case FeatureWord::kCounterbore:
      return Hole{};
    case FeatureWord::kOuterDiameter:
    case FeatureWord::kSpigot:
    case FeatureWord::kBoss:
      return OuterDiameter{};
    case FeatureWord::kSlot:
      return Slot{};
    case FeatureWord::kPocket:
      return Pocket{};
    case FeatureWord::kStep:
      return StepCut{};
    case FeatureWord::kChamfer:
    case FeatureWord::kCountersink:
    case FeatureWord::kEdgeRound:
      return RoundChamfer{};
    case FeatureWord::kGroove:
    case FeatureWord::kUndercut:
      return Groove{};
    case FeatureWord::kFlats:
      return Flats{};
    case FeatureWord::kTaper:
      return Taper{};
    case FeatureWord::kThread:
      return ExternalThread{};
    case FeatureWord::kKeyway:
      return Keyway{};
    case FeatureWord::kKnurl:
      return Knurl{};
    case FeatureWord::kMarking:
      return Marking{};
    case FeatureWord::kOutline:
    case FeatureWord::kCutout:
      return Outline{};
  }
  return PlanarFace{};
}

// Envelope first, then what changes where holes enter and end, then the rest, and last what is sized
// from a hole or an outer diameter.
int PassOf(FeatureWord word) {
  switch (word) {
    case FeatureWord::kOuterDiameter:
    case FeatureWord::kSpigot:
    case FeatureWord::kBoss:
      return 0;
    case FeatureWord::kPlanarFace:
      return 1;
    case FeatureWord::kStep:
    case FeatureWord::kOutline:
    case FeatureWord::kCutout:
      return 2;
    case FeatureWord::kPocket:
      return 3;
    case FeatureWord::kCountersink:
    case FeatureWord::kKeyway:
    case FeatureWord::kKnurl:
      return 5;
    default:
      return 4;
  }
}
constexpr int kShapingPasses = 4;  // a fault in one of them leaves nothing sure of entries after it
constexpr int kPasses = 6;

bool ReadLateShape(Row& row, PartDraft& draft) {
  switch (row.word) {
    case FeatureWord::kCountersink:
      return ReadCountersink(row.table, draft, row.feature);
    case FeatureWord::kEdgeRound:
      return ReadEdgeRound(row.table, row.feature);
    case FeatureWord::kTaper:
      return ReadTaper(row.table, draft, row.feature);
    case FeatureWord::kThread:
      return ReadExternalThread(row.table, row.feature);
    case FeatureWord::kKeyway:
      return ReadKeyway(row.table, draft, row.feature);
    case FeatureWord::kKnurl:
      return ReadKnurl(row.table, draft, row.feature);
    case FeatureWord::kMarking:
      return ReadMarking(row.table, draft, row.feature);
    case FeatureWord::kOutline:
    case FeatureWord::kCutout:
      return ReadOutline(row.table, draft, row.word == FeatureWord::kCutout, row.feature);
    default:
      return false;
  }
}

bool ReadShape(Row& row, PartDraft& draft) {
  switch (row.word) {
    case FeatureWord::kPlanarFace:
      return ReadPlanarFace(row.table, draft, row.feature);
    case FeatureWord::kHole:
    case FeatureWord::kBore:
    case FeatureWord::kCounterbore:
      return ReadHole(row.table, draft, row.word, row.feature, row.task);
    case FeatureWord::kOuterDiameter:
    case FeatureWord::kSpigot:
    case FeatureWord::kBoss:
      return ReadOuterDiameter(row.table, draft, row.word, row.feature);
    case FeatureWord::kSlot:
      return ReadSlot(row.table, draft, row.feature);
    case FeatureWord::kPocket:
      return ReadPocket(row.table, draft, row.feature);
    case FeatureWord::kStep:
      return ReadStep(row.table, row.feature);
    case FeatureWord::kChamfer:
      return ReadChamfer(row.table, row.feature);
    case FeatureWord::kGroove:
    case FeatureWord::kUndercut:
      return ReadGroove(row.table, draft, row.word, row.feature);
    case FeatureWord::kFlats:
      return ReadFlats(row.table, draft, row.feature);
    default:
      return ReadLateShape(row, draft);
  }
}

void ReadCommon(Row& row) {
  const auto name = row.table.Name("name");
  row.table.Require("name", "give it a name: name = \"front_holes\"");
  const auto word = row.table.Word<FeatureWord>("kind");
  row.table.Require("kind", fmt::format("write one of: {}", ListOf(WordList<FeatureWord>())));
  ReadSurface(row.table, row.feature);
  if (name) row.feature.name = FeatureId(*name);
  row.known = word.has_value();
  if (!word) return;
  // No sheet can write this name, so that the rest of a nameless feature is still read.
  if (!name) row.feature.name = FeatureId(row.table.PathOf("name"));
  row.word = *word;
  row.feature.shape = DefaultShape(*word);
}

// Names already taken by another feature: the faces of a block not yet renamed do not count when
// the row is the one that renames them.
bool TakeName(Row& row, const Part& part) {
  if (part.Find(row.feature.name) == nullptr) return true;
  const auto face = [&] {
    if (row.word != FeatureWord::kPlanarFace || part.envelope != EnvelopeKind::kBlock) return false;
    const auto* old = std::get_if<PlanarFace>(&part.Find(row.feature.name)->shape);
    const auto side = row.table.Has("side") ? row.table.Side("side") : std::nullopt;
    return old != nullptr && side && old->normal_P.dot(*side) > 0.5;
  };
  if (face()) return true;
  row.table.Fault(ErrorCode::kDuplicateName, "name", "another feature has this name",
                  "names are given once in a part: choose another");
  return false;
}

bool IsInPlace(const Part& part, const FeatureId& name) { return part.Find(name) != nullptr; }

// A hole that runs until another one, which is finished.
void FinishOne(Row& row, bool target_good, PartDraft& draft) {
  const Feature* target = draft.part.Find(FeatureId(row.task.until));
  if (target == nullptr) {
    std::vector<std::string> known;
    for (const Feature& f : draft.part.features) known.push_back(f.name.text());
    row.table.Fault(ErrorCode::kUnknownFeature, "until", "the part has no such feature",
                    fmt::format("write \"{}\", or one of: {}", NearestOf(row.task.until, known),
                                ListOf(known)));
    return;
  }
  if (!std::holds_alternative<Hole>(target->shape)) {
    row.table.Fault(ErrorCode::kWrongFeatureKind, "until", "this is not a hole",
                    "name a hole, bore or counterbore of the same part");
    return;
  }
  if (!target_good) return;  // its own fault is reported
  row.good = FinishHole(row.table, draft, row.task, row.feature);
  for (Feature& f : draft.part.features) {
    if (f.name == row.feature.name) f = row.feature;
  }
}

// Holes that run until another, each once the other is finished.
void FinishUntil(std::vector<Row>& rows, PartDraft& draft) {
  std::vector<Row*> open;
  for (Row& row : rows) {
    if (row.good && !row.task.until.empty()) open.push_back(&row);
  }
  const auto named = [](const std::string& name) {
    return [name](const Row* row) { return row->feature.name.text() == name; };
  };
  while (!open.empty()) {
    const auto ready = std::find_if(open.begin(), open.end(), [&](const Row* row) {
      return std::none_of(open.begin(), open.end(), named(row->task.until));
    });
    if (ready == open.end()) break;
    Row& row = **ready;
    open.erase(ready);
    const bool target_good = std::any_of(rows.begin(), rows.end(), [&](const Row& other) {
      return other.good && other.feature.name.text() == row.task.until;
    });
    FinishOne(row, target_good, draft);
  }
  for (Row* row : open) {
    row->table.Fault(ErrorCode::kUntilNotMet, "until", "these holes run until each other",
                     "write depth = ... for one of them");
  }
}

void ReadPass(int pass, std::vector<Row>& rows, PartDraft& draft) {
  for (Row& row : rows) {
    if (!row.known || PassOf(row.word) != pass) continue;
    const bool named = TakeName(row, draft.part);
    const bool shaped = ReadShape(row, draft);
    if (!shaped && pass < kShapingPasses) draft.envelope_sound = false;
    row.good = shaped && named;
    if (row.good && row.task.through) {
      row.good = FinishHole(row.table, draft, row.task, row.feature);
    }
    row.table.Finish();
    row.renames_block_face = IsInPlace(draft.part, row.feature.name) && named;
    if (named && !row.renames_block_face) draft.part.features.push_back(row.feature);
  }
}

}  // namespace

void ReadFeatures(TableReader& sheet, PartDraft& draft) {
  std::vector<Row> rows;
  for (TableReader& table : sheet.Tables("feature")) {
    Row row{table, FeatureWord::kHole, false, false, false, {}, {}};
    ReadCommon(row);
    rows.push_back(std::move(row));
  }
  for (int pass = 0; pass < kPasses; ++pass) ReadPass(pass, rows, draft);
  FinishUntil(rows, draft);
  // Back into the sheet's order, the faces of a block in front.
  const std::size_t fixed = draft.part.envelope == EnvelopeKind::kBlock ? 6 : 0;
  std::vector<FeatureId> order;
  for (const Row& row : rows) order.push_back(row.feature.name);
  const auto rank = [&](const Feature& f) {
    return std::find(order.begin(), order.end(), f.name) - order.begin();
  };
  auto& features = draft.part.features;
  FW_CHECK(features.size() >= fixed);
  std::stable_sort(features.begin() + static_cast<std::ptrdiff_t>(fixed), features.end(),
                   [&](const Feature& a, const Feature& b) { return rank(a) < rank(b); });
  for (const Row& row : rows) {
    if (row.known) {
      TableReader table = row.table;
      table.Locate(
          fmt::format("parts.{}.features.{}", draft.part.name.text(), row.feature.name.text()));
    }
  }
}

}  // namespace fitwright::files
