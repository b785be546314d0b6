// The sheet of one setup: how it is held, where zero is, tools, cuts, what to measure.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fitwright/model/faces.h"
#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"
#include "fitwright/trade/materials.h"

namespace fitwright::sheets {
namespace {

constexpr double kTilted = 1e-6;  // 1 - cosine

void AddEntry(Book& book, std::string label, std::string text, Tone tone = Tone::kPlain) {
  if (!text.empty()) book.pieces.emplace_back(Entry{std::move(label), std::move(text), tone});
}

void AddEntries(const BookContext& context, Book& book, std::string label,
                const std::vector<std::string>& texts, Tone tone = Tone::kPlain) {
  for (const std::string& text : texts) {
    AddEntry(book, label, Capital(context.SayAtMachine(text)), tone);
    label.clear();
  }
}

std::string HeldText(const BookContext& context, const Setup& setup) {
  if (!setup.hold_words.empty()) return Capital(context.SayAtMachine(setup.hold_words));
  return Capital(std::string(HoldingText(setup.holding)));
}

bool IsVise(HoldingKind holding) {
  return holding == HoldingKind::kViseBedFirst || holding == HoldingKind::kViseJawFirst;
}

// In a three-jaw chuck by less than half the diameter, with no face seated (opinion).
bool GripIsShort(const Setup& setup) {
  const bool seated = std::any_of(setup.contacts.begin(), setup.contacts.end(), [](const Contact& c) { return c.kind == ContactKind::kChuckFace; });
  return setup.holding == HoldingKind::kThreeJaw && !seated && setup.grip_depth_mm < 0.5 * setup.opening_mm;
}

// Practice: at least a third of the height in the jaws. S has its origin on the top that the setup leaves.
bool GripIsLow(const Setup& setup) {
  const auto jaw = std::find_if(setup.fixtures.begin(), setup.fixtures.end(), [](const FixtureSolid& f) { return f.role == FixtureRole::kFixedJaw; });
  const auto* box = jaw == setup.fixtures.end() || !IsVise(setup.holding) ? nullptr : std::get_if<FixtureBox>(&jaw->shape);
  return box != nullptr && setup.grip_depth_mm > 0 && 3 * setup.grip_depth_mm < -box->box_F.min_mm.z() - setup.parallels_mm;
}

std::string GripText(const BookContext& context, const Setup& setup) {
  if (setup.holding == HoldingKind::kClampsOnTable) {
    return fmt::format("Clamps {} above the table, packing {}", NamedLength(setup.opening_mm, context.unit),
                       NamedLength(setup.parallels_mm, context.unit));
  }
  if (setup.holding == HoldingKind::kAnglePlate) {
    std::string plate = fmt::format("{} between plate and bar", NamedLength(setup.opening_mm, context.unit));
    if (setup.parallels_mm > 0) plate += fmt::format(", packing {}", NamedLength(setup.parallels_mm, context.unit));
    return plate;
  }
  std::vector<std::string> parts;
  const bool chuck = !IsVise(setup.holding);
  if (setup.opening_mm > 0) {
    parts.push_back(fmt::format(fmt::runtime(chuck ? "gripped on {}" : "{} across the jaws"),
                                NamedLength(setup.opening_mm, context.unit)));
  }
  if (setup.grip_depth_mm > 0) {
    parts.push_back(fmt::format("held over {}", NamedLength(setup.grip_depth_mm, context.unit)));
  }
  if (setup.parallels_mm > 0) {
    parts.push_back(fmt::format("parallels {}", NamedLength(setup.parallels_mm, context.unit)));
  }
  std::string text;
  for (const std::string& part : parts) text += (text.empty() ? "" : ", ") + part;
  if (GripIsShort(setup)) text += ". That is short for its diameter: no heavier cuts than the tables have, and look after the first that it has not moved";
  if (GripIsLow(setup)) text += ". That is less than a third of its height: no heavier cuts than the tables have, and look after the first that it has not moved";
  return Capital(text);
}

std::string ZeroText(const BookContext& context, const Setup& setup) {
  if (!setup.zero.routine.empty()) return Capital(context.SayAtMachine(setup.zero.routine));
  std::vector<std::string> parts;
  const auto add = [&](char axis, const FeatureRef& ref) {
    if (!ref.part.empty()) parts.push_back(fmt::format("{} from the {}", axis, NameText(ref)));
  };
  add('X', setup.zero.x_from);
  add('Y', setup.zero.y_from);
  add('Z', setup.zero.z_from);
  return ListText(parts);
}

// Said only when the routine itself does not speak of the finder.
std::string FinderText(const BookContext& context, const Setup& setup) {
  const bool edges =
      std::any_of(setup.contacts.begin(), setup.contacts.end(),
                  [](const Contact& c) { return c.kind == ContactKind::kEdgeFound; });
  if (!edges || setup.zero.routine.find("finder") != std::string::npos) return "";
  for (const Instrument& i : context.shop.instruments) {
    if (i.kind != InstrumentKind::kEdgeFinder || i.finder_diameter_mm <= 0) continue;
    return fmt::format("Finder {}: the spindle's centre stands {} outside the edge it touches.",
                       NamedLength(i.finder_diameter_mm, context.unit),
                       FineLength(i.finder_diameter_mm / 2, context.unit));
  }
  return "";
}

std::string WaitsText(const BookContext& context, const Setup& setup) {
  std::vector<std::string> numbers;
  for (const SetupId& id : setup.waits_for) {
    if (const int number = context.NumberOf(id); number > 0) {
      numbers.push_back(std::to_string(number));
    }
  }
  if (numbers.empty()) return "";
  return (numbers.size() == 1 ? "Setup " : "Setups ") + ListText(numbers) + " done.";
}

}  // namespace

std::string OilText(const BookContext& context, const Setup& setup) {
  const bool cuts = std::any_of(setup.steps.begin(), setup.steps.end(),
                                [](const Step& step) { return !step.tool.empty(); });
  if (!cuts || setup.parts.empty()) return "";
  const Part* part = context.machine.FindPart(setup.parts.front().part);
  const trade::Material* material = part == nullptr ? nullptr : trade::FindMaterial(part->material);
  if (material == nullptr) return "";
  const bool hones = std::any_of(setup.steps.begin(), setup.steps.end(), [](const Step& step) { return step.operation == Operation::kHone; });
  return std::string(trade::CuttingOil(material->kind)) + (hones ? " The hone runs wet: plenty of paraffin, the ways covered." : "");
}

namespace {

bool Makes(const Setup& setup, const FeatureRef& ref) {
  for (const Step& step : setup.steps) {
    if (!step.finishes) continue;
    if (std::find(step.features.begin(), step.features.end(), ref) != step.features.end()) {
      return true;
    }
  }
  return false;
}

// Surfaces finished here that later setups locate on, with the setups.
std::vector<std::string> DatumTexts(const BookContext& context, const Setup& setup) {
  std::vector<std::pair<FeatureRef, std::vector<std::string>>> datums;
  for (const Setup& later : context.plan.setups) {
    if (later.number <= setup.number) continue;
    for (const Contact& contact : later.contacts) {
      if (contact.surface.feature.empty() || !Makes(setup, contact.surface)) continue;
      auto found = std::find_if(datums.begin(), datums.end(),
                                [&](const auto& d) { return d.first == contact.surface; });
      if (found == datums.end()) found = datums.insert(datums.end(), {contact.surface, {}});
      const std::string number = std::to_string(later.number);
      if (found->second.empty() || found->second.back() != number) {
        found->second.push_back(number);
      }
    }
  }
  std::vector<std::string> texts;
  for (const auto& [ref, numbers] : datums) {
    texts.push_back(fmt::format("{}: setup{} {} locate{} on it.", Capital(NameText(ref)),
                                numbers.size() > 1 ? "s" : "", ListText(numbers),
                                numbers.size() > 1 ? "" : "s"));
  }
  return texts;
}

void AddTools(const BookContext& context, const Setup& setup, Book& book) {
  struct Use {
    ToolId tool;
    double rpm;
    double feed_mm_min;
    std::vector<std::string> steps;
  };
  std::vector<Use> uses;
  for (const Step& step : setup.steps) {
    if (step.tool.empty()) continue;
    const auto same = std::find_if(uses.begin(), uses.end(), [&](const Use& u) {
      return u.tool == step.tool && u.rpm == step.rpm && u.feed_mm_min == step.feed_mm_min;
    });
    Use& use = same != uses.end()
                   ? *same
                   : *uses.insert(uses.end(), {step.tool, step.rpm, step.feed_mm_min, {}});
    use.steps.push_back(fmt::format("{}.{}", setup.number, &step - setup.steps.data() + 1));
  }
  if (uses.empty()) return;
  const bool inch = context.unit == LengthUnit::kInch;
  Table table;
  table.columns = {{"tools, in order", "", Align::kLeft, true},
                   {"speed", "rpm", Align::kRight, false},
                   {"feed", inch ? "in/min" : "mm/min", Align::kRight, false},
                   {"steps", "", Align::kLeft, true}};
  for (const Use& use : uses) {
    const std::string feed = use.feed_mm_min <= 0 ? "by hand"
                             : inch ? FormatFixed(use.feed_mm_min / kMmPerInch, 1)
                                    : FormatFixed(use.feed_mm_min, 0);
    // A tap that ends the thread is not the one that begins it.
    std::string tool = context.ToolText(use.tool);
    if (const std::size_t plug = tool.find("plug tap"); plug != std::string::npos) tool.replace(plug, 8, "second and plug taps");
    table.rows.push_back({tool,
                          use.rpm > 0 ? FormatFixed(use.rpm, 0) : "-", feed,
                          ListText(use.steps)});
  }
  book.pieces.emplace_back(std::move(table));
}

std::string_view AxisWord(int axis, double along) {
  static constexpr std::string_view kWords[] = {"+x", "-x", "+y", "-y", "+z", "-z"};
  return kWords[static_cast<std::size_t>(2 * axis + (along < 0 ? 1 : 0))];
}

// The face that is up by its name, or by how far the piece is tilted.
std::string UpText(const BookContext& context, const Setup& setup) {
  if (setup.parts.empty() || setup.contacts.empty()) return Capital(NameText(setup.up));
  const PartPose& held = setup.parts.front();
  const std::string name = NameText(held.part.text());
  const Vec3 up_P = held.X_PS.linear() * Vec3::UnitZ();
  int first = 0;
  const double most = up_P.cwiseAbs().maxCoeff(&first);
  const std::string_view axis = AxisWord(first, up_P[first]);
  if (most < 1 - kTilted) {
    Vec3 rest = up_P;
    rest[first] = 0;
    int second = 0;
    rest.cwiseAbs().maxCoeff(&second);
    return fmt::format("{} of the {}, tilted {} deg towards {}", axis, name,
                       FormatAngle_deg(std::atan2(std::abs(up_P[second]), most), 2),
                       AxisWord(second, up_P[second]));
  }
  const Part* part = context.machine.FindPart(PartId(held.part.text().substr(
      0, held.part.text().find('#'))));
  if (part != nullptr) {
    const Feature* outermost = OutermostFace(*part, up_P);
    if (outermost != nullptr) {
      return fmt::format("{} of the {}, {}", Capital(NameText(outermost->name.text())), name, axis);
    }
  }
  return fmt::format("{} of the {}", axis, name);
}

}  // namespace

std::string WitnessText(const BookContext& context, const Setup& setup) {
  static constexpr std::string_view kLabel = "Check: ";
  std::string text = setup.zero.witness;
  if (text.starts_with(kLabel)) text.erase(0, kLabel.size());
  return Capital(context.SayAtMachine(text));
}

// Of a part that is made in both hands, which one this is.
std::string HandText(const BookContext& context, const Setup& setup) {
  if (setup.parts.empty()) return "";
  for (const Part& part : context.machine.parts) {
    if (!part.mirror_of) continue;
    if (part.name == setup.parts[0].part) return fmt::format("{}, the mirror image of {}.", Capital(NameText(part.name.text())), NameText(part.mirror_of->text()));
    if (*part.mirror_of == setup.parts[0].part) return fmt::format("{}; {} is its mirror image.", Capital(NameText(part.mirror_of->text())), NameText(part.name.text()));
  }
  return "";
}

void AddSetupSheet(const BookContext& context, const Setup& setup, Book& book) {
  book.pieces.emplace_back(
      Heading{2,
              fmt::format("Setup {} of {}: {}", setup.number, context.plan.setups.size(),
                          context.PiecesText(setup)),
              fmt::format("{}   {}", TimeText(setup.time_min), UnitWord(context.unit))});
  if (!setup.contacts.empty()) AddEntry(book, "At", Capital(context.MachineText(setup.machine)));
  AddEntry(book, "After", WaitsText(context, setup));
  AddEntry(book, "Hand", HandText(context, setup));
  AddEntry(book, "Fetch", FetchText(context, setup));
  if (setup.keeps_chucking) {
    AddEntry(book, "Held", "As in the setup before: it stays in the " +
                               NameText(setup.device.text()) + ".");
  } else {
    AddEntry(book, "Held", HeldText(context, setup));
    if (!setup.contacts.empty()) AddEntry(book, "Grip", GripText(context, setup));
  }
  AddEntry(book, context.IsLathe(setup) ? "Free end" : "Up", UpText(context, setup));
  AddEntry(book, "Zero", ZeroText(context, setup));
  AddEntry(book, "", FinderText(context, setup));
  AddEntry(book, "Check", WitnessText(context, setup));
  AddEntries(context, book, "Why", setup.reasons);
  AddEntries(context, book, "Caution", setup.cautions, Tone::kStop);
  AddEntry(book, "Oil", OilText(context, setup));
  AddTools(context, setup, book);
  AddSteps(context, setup, book);
  AddEntries(context, book, "Datum now", DatumTexts(context, setup));
  AddEntries(context, book, "Note", setup.leave_it_in, Tone::kLook);
}

}  // namespace fitwright::sheets
