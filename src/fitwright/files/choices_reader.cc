#include "fitwright/files/choices_reader.h"

#include "fitwright/files/part_reader.h"

namespace fitwright::files {

Choices ReadChoices(const SourceFile& file, LengthUnit unit, ReadLog& log) {
  TableReader table(file, file.table, "", unit, log);
  Choices choices;
  ReadFormat(table, kChoicesFormat);
  for (TableReader row : table.Tables("pin")) {
    Pin pin;
    const auto kind = row.Word<PinKind>("kind");
    row.Require("kind", fmt::format("write one of: {}", ListOf(WordList<PinKind>())));
    const auto subject = row.String("subject");
    row.Require("subject", "name what the choice is about");
    const auto value = row.String("value");
    row.Require("value", "write what is chosen");
    if (kind == PinKind::kTechnique) {
      pin.first = static_cast<int>(row.Integer("first", 0, 360).value_or(0));
    }
    row.Finish();
    pin.kind = kind.value_or(PinKind::kTechnique);
    pin.subject = subject.value_or("");
    pin.value = value.value_or("");
    choices.pins.push_back(pin);
    row.Locate(fmt::format("pins.{}", choices.pins.size()));
  }
  table.Finish();
  return choices;
}

}  // namespace fitwright::files
