#include "fitwright/service/book_json.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <variant>
#include <vector>

#include "fitwright/base/hash.h"
#include "fitwright/base/words.h"
#include "fitwright/files/plan_json.h"
#include "fitwright/service/build_progress.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/left_use.h"
#include "fitwright/sheets/book.h"

namespace fitwright::service {
namespace {

using sheets::Piece;

std::string_view ToneWord(sheets::Tone tone) {
  static constexpr std::string_view kWords[] = {"plain", "note", "look", "stop"};
  return kWords[static_cast<std::size_t>(tone)];
}

std::string_view AlignWord(sheets::Align align) {
  static constexpr std::string_view kWords[] = {"left", "right", "point"};
  return kWords[static_cast<std::size_t>(align)];
}

std::string_view LaneWord(sheets::Lane lane) {
  static constexpr std::string_view kWords[] = {"none", "waiting", "worked", "joined"};
  return kWords[static_cast<std::size_t>(lane)];
}

// "[a,b]" of what `text` makes of each.
template <typename T, typename Text>
std::string List(const std::vector<T>& items, const Text& text) {
  std::string out = "[";
  for (std::size_t i = 0; i < items.size(); ++i) {
    if (i > 0) out += ',';
    out += text(items[i]);
  }
  return out + "]";
}

std::string Strings(const std::vector<std::string>& texts) {
  return List(texts, [](const std::string& text) { return JsonString(text); });
}

std::string Number(double value) {
  return std::isfinite(value) ? fmt::format("{}", value) : "null";
}

std::string Number(const std::optional<double>& value) { return value ? Number(*value) : "null"; }

struct PieceWriter {
  std::string operator()(const sheets::Heading& p) const {
    return fmt::format(R"({{"kind":"heading","level":{},"text":{},"right":{}}})", p.level,
                       JsonString(p.text), JsonString(p.right));
  }
  std::string operator()(const sheets::Paragraph& p) const {
    return fmt::format(R"({{"kind":"paragraph","text":{},"tone":"{}"}})", JsonString(p.text),
                       ToneWord(p.tone));
  }
  std::string operator()(const sheets::Entry& p) const {
    return fmt::format(R"({{"kind":"entry","label":{},"text":{},"tone":"{}"}})",
                       JsonString(p.label), JsonString(p.text), ToneWord(p.tone));
  }
  std::string operator()(const sheets::TickLine& p) const {
    return fmt::format(
        R"({{"kind":"tick","number":{},"text":{},"details":{},"pass_axis":{},"passes":{}}})",
        JsonString(p.number), JsonString(p.text), Strings(p.details), JsonString(p.pass_axis),
        Strings(p.passes));
  }
  std::string operator()(const sheets::ListItem& p) const {
    return fmt::format(R"({{"kind":"item","text":{}}})", JsonString(p.text));
  }
  std::string operator()(const sheets::Table& p) const {
    const auto column = [](const sheets::Column& c) {
      return fmt::format(R"({{"head":{},"unit":{},"align":"{}"}})", JsonString(c.head),
                         JsonString(c.unit), AlignWord(c.align));
    };
    return fmt::format(R"({{"kind":"table","columns":{},"rows":{}}})", List(p.columns, column),
                       List(p.rows, Strings));
  }
  std::string operator()(const sheets::Tally& p) const {
    return fmt::format(R"({{"kind":"tally","met":{}}})", p.met);
  }
  std::string operator()(const sheets::Bars& p) const {
    const auto bar = [](const sheets::Bar& b) {
      return fmt::format(R"({{"share":{},"text":{}}})", Number(b.share), JsonString(b.text));
    };
    return fmt::format(R"({{"kind":"bars","bars":{}}})", List(p.bars, bar));
  }
  std::string operator()(const sheets::OrderOfWork& p) const {
    const auto lane = [](sheets::Lane l) { return fmt::format("\"{}\"", LaneWord(l)); };
    const auto row = [&](const sheets::OrderRow& r) {
      return fmt::format(R"({{"lanes":{},"number":{},"text":{},"right":{},"waits":{},"pause":{}}})",
                         List(r.lanes, lane), JsonString(r.number), JsonString(r.text),
                         JsonString(r.right), Strings(r.waits), JsonString(r.pause));
    };
    return fmt::format(R"({{"kind":"order","parts":{},"rows":{}}})", Strings(p.parts),
                       List(p.rows, row));
  }
};

std::string Pieces(const std::vector<Piece>& pieces) { return List(pieces, PieceToJson); }

// The book cut at its headings of the first two levels.
struct Section {
  std::string heading;
  std::vector<Piece> pieces;
};
std::vector<Section> SectionsOf(sheets::Book book) {
  std::vector<Section> sections;
  for (Piece& piece : book.pieces) {
    const auto* heading = std::get_if<sheets::Heading>(&piece);
    if (sections.empty() || (heading != nullptr && heading->level <= 2)) {
      sections.push_back({heading != nullptr ? heading->text : "", {}});
    }
    sections.back().pieces.push_back(std::move(piece));
  }
  return sections;
}

std::string StepText(const Step& step) {
  std::string measure = "null";
  if (step.measure) {
    const MeasureLine& line = *step.measure;
    measure = fmt::format(R"({{"feature":{},"instrument":{},"lower_mm":{},"upper_mm":{}}})",
                          JsonString(line.feature.text()), JsonString(line.instrument.text()),
                          Number(line.lower_mm), Number(line.upper_mm));
  }
  return fmt::format(R"({{"id":{},"operation":"{}","measure":{}}})", JsonString(step.id.text()),
                     WordOf(step.operation), measure);
}

std::string SetupText(const Plan& plan, const Setup& setup, const std::vector<Piece>& pieces) {
  const auto part = [](const PartPose& p) { return JsonString(p.part.text()); };
  std::vector<int> waits;
  for (const Setup& other : plan.setups) {
    if (std::find(setup.waits_for.begin(), setup.waits_for.end(), other.id) !=
        setup.waits_for.end()) {
      waits.push_back(other.number);
    }
  }
  std::vector<PartId> copies;
  for (int copy = 1; copy <= PiecesOf(plan, setup); ++copy) copies.push_back(PieceOf(setup, copy));
  return fmt::format(
      R"({{"id":{},"number":{},"parts":{},"machine":{},"time_min":{},"waits_for":{},"steps":{},"copies":{},"pieces":{}}})",
      JsonString(setup.id.text()), setup.number, List(setup.parts, part),
      JsonString(setup.machine.text()), Number(setup.time_min),
      List(waits, [](int number) { return std::to_string(number); }), List(setup.steps, StepText),
      List(copies, [](const PartId& copy) { return JsonString(copy.text()); }), Pieces(pieces));
}

std::string Spreads(const Opened& opened, const Odds& odds) {
  const auto spread = [&](const RequirementOdds& r) {
    std::optional<double> lower;
    std::optional<double> upper;
    for (const Requirement& stated : opened.project.machine.requirements) {
      if (stated.name != r.name) continue;
      lower = stated.lower;
      upper = stated.upper;
    }
    return fmt::format(R"({{"name":{},"mean":{},"sigma":{},"lower":{},"upper":{}}})",
                       JsonString(r.name.text()), Number(r.mean), Number(r.sigma), Number(lower),
                       Number(upper));
  };
  return List(odds.requirements, spread);
}

// Where a section of the book stands among the page's.
std::string_view PlaceOf(const Section& section, bool after_setups) {
  if (section.heading.starts_with("Joints")) return "joints";
  if (section.heading == "Will it fit") return "fit";
  if (section.heading == "What was assumed") return "assumed";
  if (section.heading == "Cautions") return "cautions";
  return after_setups ? "cautions" : "overview";
}

}  // namespace

std::string PieceToJson(const Piece& piece) { return std::visit(PieceWriter{}, piece); }

std::string BookToJson(const Opened& opened, const SavedPlan& saved) {
  const files::Project& project = opened.project;
  const sheets::BookOptions options{opened.unit, saved.older_than_sheets};
  std::string setups;
  std::size_t next = 0;
  std::vector<std::pair<std::string_view, std::vector<Piece>>> others = {
      {"overview", {}}, {"joints", {}}, {"fit", {}}, {"assumed", {}}, {"cautions", {}}};
  for (Section& section :
       SectionsOf(sheets::MakeBook(project.machine, project.shop, saved.plan, options))) {
    const std::vector<Setup>& all = saved.plan.setups;
    if (next < all.size() &&
        section.heading.starts_with(fmt::format("Setup {} of ", all[next].number))) {
      setups += (next > 0 ? "," : "") + SetupText(saved.plan, all[next], section.pieces);
      ++next;
      continue;
    }
    for (auto& [place, pieces] : others) {
      if (place != PlaceOf(section, next > 0)) continue;
      for (Piece& piece : section.pieces) pieces.push_back(std::move(piece));
    }
  }
  if (saved.origin.anew) {
    for (Piece& piece : AnewPieces(*saved.origin.anew, opened.unit, 3))
      others.front().second.push_back(std::move(piece));
  }
  std::string out =
      fmt::format(R"({{"schema":"{}","unit":"{}","plan":{},"older_than_sheets":{},"setups":[{}])",
                  kBookSchemaId, opened.unit == LengthUnit::kInch ? "inch" : "mm",
                  JsonString(saved.id), saved.older_than_sheets, setups);
  for (const auto& [place, pieces] : others)
    out += fmt::format(",\"{}\":{}", place, Pieces(pieces));
  return out + ",\"spreads\":" + Spreads(opened, saved.plan.odds) + "}\n";
}

std::string ProjectToJson(const Opened& opened, const SavedPlan* saved, std::string_view version) {
  const files::Project& project = opened.project;
  const auto part = [](const Part& p) {
    return fmt::format(R"({{"name":{},"material":{}}})", JsonString(p.name.text()),
                       JsonString(p.material));
  };
  const std::string_view state = saved == nullptr           ? "none"
                                 : saved->older_than_sheets ? "older"
                                                            : "current";
  return fmt::format(
             R"({{"schema":"{}","folder":"{:016x}","name":{},"unit":"{}","version":{},"shop":{},"parts":{},"plan":"{}","plan_hash":{},)"
             R"("sheets_hash":{},"warnings":{},"cautions":{}}})",
             kProjectSchemaId, StableHash(project.dir.string()), JsonString(project.machine.name),
             opened.unit == LengthUnit::kInch ? "inch" : "mm", JsonString(version),
             JsonString(project.shop.name), List(project.machine.parts, part), state,
             JsonString(saved == nullptr ? "" : saved->plan.inputs_hash),
             JsonString(project.inputs_hash), Strings(project.warnings),
             Strings(project.machine.cautions)) +
         "\n";
}

std::string PlanText(const SavedPlan& saved) { return files::PlanToJson(saved.plan); }

}  // namespace fitwright::service
