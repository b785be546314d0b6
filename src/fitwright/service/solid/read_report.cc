#include <fmt/format.h>

#include "fitwright/service/json_text.h"
#include "fitwright/service/solid/read_file.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

using namespace sheets;

std::string SizeText(const PartRead& part, LengthUnit unit) {
  std::vector<std::string> sides;
  for (int i = 0; i < 3; ++i) sides.push_back(PlainLength(part.size_mm[i], unit));
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

std::string JointText(const Joint& joint) {
  return fmt::format("{}: {} in or on {} ({})", NameText(joint.name.text()), NameText(joint.moving), NameText(joint.fixed), NameText(WordOf(joint.kind)));
}

void AddList(Book& book, const std::string& heading, const std::vector<std::string>& items) {
  if (items.empty()) return;
  book.pieces.emplace_back(Heading{3, heading, ""});
  for (const std::string& item : items) book.pieces.emplace_back(ListItem{item});
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
  Book book;
  book.pieces.emplace_back(Heading{2, Capital(NameText(read.machine.name)) + ": read", options.unit == LengthUnit::kInch ? "in" : "mm"});
  for (const std::string& note : read.notes) book.pieces.emplace_back(Entry{"Look here", SentenceInUnit(note, options.unit, {}), Tone::kLook});
  book.pieces.emplace_back(PartTable(read, options.unit));
  std::vector<std::string> bought;
  for (const BoughtPart& part : read.machine.bought) bought.push_back(fmt::format("{} x {}", part.quantity, part.what));
  AddList(book, "Taken as bought, not made", bought);
  std::vector<std::string> joints;
  for (const Joint& joint : read.machine.joints) joints.push_back(JointText(joint));
  AddList(book, "Joints", joints);
  const auto said = [&](const std::vector<Doubt>& doubts) {
    std::vector<std::string> lines;
    for (const Doubt& d : doubts) lines.push_back(d.where + ": " + SentenceInUnit(d.words, options.unit, {}));
    return lines;
  };
  AddList(book, "Not understood; to be shaped by hand", said(read.unread));
  AddList(book, "Proposed, to be confirmed in the sheets", said(read.proposed));
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
      "  \"requirements\": {},\n  \"proposed\": {},\n  \"unread\": {},\n  \"notes\": {},\n  \"written\": {}\n}}\n",
      read.unread.empty(), JsonString(read.schema), PartsToJson(read.parts), JsonStrings(bought), JsonStrings(joints), JsonStrings(requirements),
      DoubtsToJson(read.proposed), DoubtsToJson(read.unread), JsonStrings(read.notes), JsonStrings(written));
}

}  // namespace fitwright::service
