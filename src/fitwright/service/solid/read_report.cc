#include <fmt/format.h>

#include <cmath>

#include "fitwright/review/assembly_order.h"
#include "fitwright/service/json_text.h"
#include "fitwright/service/solid/part_words.h"
#include "fitwright/service/solid/read_file.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using namespace sheets;

// Round work is said by its diameter and length.
std::string SizeText(const PartRead& part, LengthUnit unit) {
  std::vector<std::string> sides;
  for (int i = 0; i < 3; ++i) sides.push_back(PlainLength(part.size_mm[i], unit));
  const bool along_z = std::abs(part.size_mm[0] - part.size_mm[1]) < kDrawnAlike_mm;
  if (part.turned && along_z) return fmt::format("dia {} x {}", sides[0], sides[2]);
  return fmt::format("{} x {} x {}", sides[0], sides[1], sides[2]);
}

std::string UnreadText(const PartRead& part) {
  if (part.unread_faces == 0) return "all";
  return fmt::format("{} of {}", part.faces - part.unread_faces, part.faces);
}

Table PartTable(const FileRead& read, LengthUnit unit) {
  Table table;
  const std::string unit_word = unit == LengthUnit::kInch ? "in" : "mm";
  table.columns = {{"part", "", Align::kLeft, true}, {"no.", "", Align::kRight, false}, {"made from", "", Align::kLeft, false},
                   {"size", unit_word, Align::kLeft, false}, {"features", "", Align::kRight, false}, {"faces read", "", Align::kLeft, false}};
  for (const PartRead& part : read.parts) {
    table.rows.push_back({NameText(part.name.text()), fmt::format("{}", part.quantity), part.turned ? "round" : "block", SizeText(part, unit),
                          fmt::format("{}", part.features), UnreadText(part)});
  }
  return table;
}

// What becomes of the moving part: "screwed to".
std::string_view JoinedHow(JointKind kind) {
  switch (kind) {
    case JointKind::kScrewedPattern: return "screwed to";
    case JointKind::kSpigotInBore: return "located by";
    case JointKind::kFaceContact: return "stands against";
    case JointKind::kPressFit: return "pressed with";
    case JointKind::kBearingSeat: return "seated with";
    case JointKind::kBearingOnShaft: return "fitted with";
    case JointKind::kRunningFit: return "runs with";
    case JointKind::kSliderInBore: return "slides with";
    case JointKind::kBonded: return "bonded to";
    case JointKind::kPinned: return "pinned to";
    case JointKind::kHubOnShaft: return "fixed on or in";
    case JointKind::kRingInGroove: return "sprung into";
    case JointKind::kGasketedFace: return "sealed against";
    case JointKind::kBelt: return "by belt with";
  }
  return "joined to";
}

std::string JointText(const Machine& machine, const Joint& joint, LengthUnit unit) {
  std::string text = fmt::format("{} {} {}", NameText(joint.moving), JoinedHow(joint.kind), NameText(joint.fixed));
  if (!joint.screw) return text;
  const Feature* holes = machine.Find(joint.moving);
  const auto* hole = holes == nullptr ? nullptr : std::get_if<Hole>(&holes->shape);
  return text + fmt::format(", {} x {} x {}", hole == nullptr ? 1 : hole->entries_P_mm.size(), joint.screw->thread, NamedLength(joint.screw->length_mm, unit));
}

std::string PlaceText(const Vec3& direction) {
  for (int k = 0; k < 3; ++k) {
    if (std::abs(direction[k]) > 0.999) return fmt::format("along {}{}", direction[k] > 0 ? '+' : '-', static_cast<char>('x' + k));
  }
  return "at an angle";
}

// A possible order in which the machine goes together.
std::vector<std::string> OrderTexts(const Machine& machine) {
  std::vector<std::string> lines;
  if (machine.uses.size() + machine.bought_uses.size() < 2) return lines;
  const auto names = [](const std::vector<PartId>& parts) {
    std::vector<std::string> texts;
    for (const PartId& part : parts) texts.push_back(NameText(part.text()));
    return ListText(texts);
  };
  const review::AssemblyOrder order = review::FindAssemblyOrder(machine);
  if (!order.locked.empty()) return {"none of straight moves was found: " + names(order.locked) + " lock each other as drawn"};
  lines.push_back(names(order.first) + " first");
  for (const review::AssemblyStep& step : order.steps) {
    lines.push_back(fmt::format("{} {}, onto {}", names(step.parts), PlaceText(step.direction_W), names(step.onto)));
  }
  return lines;
}

// Reasons of the proposals, by what they are about; what is left when all have been said.
class Reasons {
 public:
  Reasons(const FileRead& read, LengthUnit unit) {
    for (const Doubt& d : read.proposed) reasons_.push_back({d.where, SentenceInUnit(d.words, unit, {})});
  }
  // " Proposed: ..." or nothing, where a person has confirmed it.
  std::string Take(const std::string& where) {
    std::string text;
    std::erase_if(reasons_, [&](const Doubt& d) {
      if (d.where != where) return false;
      text += (text.empty() ? ". Proposed: " : "; ") + d.words;
      return true;
    });
    return text;
  }
  std::vector<std::string> Rest() const {
    std::vector<std::string> lines;
    for (const Doubt& d : reasons_) lines.push_back(d.where + ": " + d.words);
    return lines;
  }

 private:
  std::vector<Doubt> reasons_;
};

void AddList(Book& book, const std::string& heading, const std::vector<std::string>& items) {
  if (items.empty()) return;
  book.pieces.emplace_back(Heading{3, heading, ""});
  for (const std::string& item : items) book.pieces.emplace_back(ListItem{item});
}

// "Housing, 2 wanted: flat bar 64 x 64 x 85, aluminium." and what is on it.
void AddPart(const Machine& machine, const PartRead& line, Reasons& reasons, LengthUnit unit, Book& book) {
  const Part* part = machine.FindPart(line.name);
  if (part == nullptr) return;
  const std::string name = line.name.text();
  book.pieces.emplace_back(Heading{3, Capital(NameText(name)), line.quantity > 1 ? fmt::format("{} wanted", line.quantity) : ""});
  std::string from = fmt::format("{}; {}", part->material, StockText(part->stock, unit));
  if (part->mirror_of) from += fmt::format("; the mirror image of {}", NameText(part->mirror_of->text()));
  book.pieces.emplace_back(Entry{"From", from + reasons.Take(name + ".material"), Tone::kPlain});
  reasons.Take("uses." + name);
  for (const std::string& text : FeatureTexts(*part, unit)) book.pieces.emplace_back(ListItem{text});
}

std::string DoubtsToJson(const std::vector<Doubt>& doubts) {
  std::string out = "[";
  for (std::size_t i = 0; i < doubts.size(); ++i) {
    out += fmt::format("{}\n    {{\"where\": {}, \"say\": {}}}", i > 0 ? "," : "", JsonString(doubts[i].where), JsonString(doubts[i].words));
  }
  return out + (doubts.empty() ? "]" : "\n  ]");
}

std::string PartsToJson(const std::vector<PartRead>& parts) {
  std::string out = "[";
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const PartRead& p = parts[i];
    out += fmt::format("{}\n    {{\"name\": {}, \"in_file\": {}, \"quantity\": {}, \"turned\": {}, \"size_mm\": [{:.4f}, {:.4f}, {:.4f}], "
                       "\"features\": {}, \"faces\": {}, \"unread_faces\": {}, \"unread_share\": {:.6g}}}",
                       i > 0 ? "," : "", JsonString(p.name.text()), JsonString(p.in_file), p.quantity, p.turned, p.size_mm.x(), p.size_mm.y(),
                       p.size_mm.z(), p.features, p.faces, p.unread_faces, p.unread_share);
  }
  return out + (parts.empty() ? "]" : "\n  ]");
}

}  // namespace

std::string ReadReport(const FileRead& read, const ReportOptions& options) {
  const Machine& machine = read.machine;
  Book book;
  book.pieces.emplace_back(Heading{2, Capital(NameText(machine.name)) + ": read", options.unit == LengthUnit::kInch ? "in" : "mm"});
  for (const std::string& note : read.notes) book.pieces.emplace_back(Entry{"Look here", SentenceInUnit(note, options.unit, {}), Tone::kLook});
  book.pieces.emplace_back(PartTable(read, options.unit));
  Reasons reasons(read, options.unit);
  for (const PartRead& line : read.parts) AddPart(machine, line, reasons, options.unit, book);
  std::vector<std::string> bought;
  for (const BoughtPart& part : machine.bought) {
    bought.push_back(fmt::format("{} x {}{}", part.quantity, part.what, reasons.Take("bought." + part.part.name.text())));
  }
  AddList(book, "Bought, not made", bought);
  std::vector<std::string> joints, asked;
  for (const Joint& joint : machine.joints) joints.push_back(JointText(machine, joint, options.unit) + reasons.Take("joints." + joint.name.text()));
  AddList(book, "How it goes together", joints);
  AddList(book, "A possible order", OrderTexts(machine));
  for (const Requirement& one : machine.requirements) {
    if (!one.derived) asked.push_back(NameText(one.name.text()) + reasons.Take("requirements." + one.name.text()));
  }
  AddList(book, "What it has to keep", asked);
  const auto said = [&](const std::vector<Doubt>& doubts) {
    std::vector<std::string> lines;
    for (const Doubt& d : doubts) lines.push_back(d.where + ": " + SentenceInUnit(d.words, options.unit, {}));
    return lines;
  };
  AddList(book, "Kept as confirmed", said(read.kept));
  AddList(book, "Other than it was confirmed", said(read.changes));
  AddList(book, "Not understood; shaped by hand", said(read.unread));
  AddList(book, "To be settled by you, in the sheets", reasons.Rest());
  if (read.unread.empty()) book.pieces.emplace_back(Paragraph{"Every face of every part is explained.", Tone::kPlain});
  return RenderText(book, {options.width, options.colour});
}

std::string ReadToJson(const FileRead& read) {
  std::vector<std::string> bought, joints, requirements, written;
  for (const BoughtPart& part : read.machine.bought) bought.push_back(part.what);
  for (const Joint& joint : read.machine.joints) joints.push_back(joint.name.text());
  for (const Requirement& requirement : read.machine.requirements) requirements.push_back(requirement.name.text());
  for (const auto& path : read.written) written.push_back(path.generic_string());
  return fmt::format(
      "{{\n  \"schema\": \"fitwright-read/1\",\n  \"all_read\": {},\n  \"file_schema\": {},\n  \"parts\": {},\n  \"bought\": {},\n  \"joints\": {},\n"
      "  \"requirements\": {},\n  \"proposed\": {},\n  \"unread\": {},\n  \"kept\": {},\n  \"changes\": {},\n  \"notes\": {},\n  \"written\": {}\n}}\n",
      read.unread.empty(), JsonString(read.schema), PartsToJson(read.parts), JsonStrings(bought), JsonStrings(joints), JsonStrings(requirements),
      DoubtsToJson(read.proposed), DoubtsToJson(read.unread), DoubtsToJson(read.kept), DoubtsToJson(read.changes), JsonStrings(read.notes), JsonStrings(written));
}

}  // namespace fitwright::service
