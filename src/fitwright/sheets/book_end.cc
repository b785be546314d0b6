// What the odds rest on, what they leave out, and the cautions.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr std::array<std::string_view, 5> kNotModelled = {
    "Work, tool and machine giving way under the cut.",
    "Heat of cutting; only the warmth of the part when it is measured.",
    "Parts that move when stressed stock is cut open.",
    "Slips of the hand: a readout zero lost, a turn of the handwheel, a wrong sign; they are counted "
    "apart, below.",
    "Threads, knurls and marks: a tapped hole is a hole of its drill's size in every drawing and in "
    "the replay of the cuts."};

constexpr std::string_view kLeftOut = "Not in the odds";

constexpr std::array<std::string_view, 9> kEveryMachine = {
    "Eye protection. No gloves, rings, watches, loose sleeves or loose hair near a spindle.",
    "Stop the spindle to measure, to clear swarf and to change a tool; isolate the machine for "
    "changes at the spindle.",
    "A brush for swarf, not fingers, and no compressed air.",
    "Turn the work or the spindle a full turn by hand before the first cut of a setup.",
    "Clamp under the drill; never hold work by hand.",
    "Brass, bronze and thin sheet grab a drill as it breaks through.",
    "File with a handle on, clear of the chuck; no abrasive strip wrapped round turning work.",
    "No unattended running.",
    "Burrs and strip edges cut: deburr before handling and before every seating."};
constexpr std::array<std::string_view, 5> kLatheCautions = {
    "The chuck key comes out before anything else is done.",
    "Low speed and a balance weight for work off centre, and a shield.",
    "Support work that stands out more than three diameters, and bar behind the spindle.",
    "Parting off: short stand-out, tool on centre, feed without pause.",
    "A board over the ways when a chuck goes on or off."};
constexpr std::array<std::string_view, 4> kMillCautions = {
    "The drawbar spanner comes off before the spindle starts.",
    "Boring head and fly cutter have a speed limit and never run reversed.",
    "Cutters by the shank with a rag, never by the edge.",
    "Look where the cutter comes out below: parallels, vise and table."};
// Left out where the machine's own cautions speak of the same.
struct GeneralCaution {
  std::string_view about;
  std::string_view say;
};
constexpr std::array<GeneralCaution, 5> kFinishedMachine = {{
    {"uard", "Guard belts, pulleys, flywheels and whatever else turns; check grub screws."},
    {"earth", "Where there is a motor: fuse and earth it; electrical work by those licensed for it where the "
     "law asks."},
    {"irst run slow", "First run slow, behind a screen, and not left alone."},
    {"elief valve", "Where there is pressure: a certified relief valve with nothing that can shut in "
     "front of it; only bought, stamped receivers; prove with water, never with air."},
    {"ocal codes", "Local codes and licensed practice decide in matters of pressure, electricity, road "
     "and air."}}};

template <std::size_t N>
void AddList(const std::array<std::string_view, N>& items, Book& book) {
  for (const std::string_view item : items) book.pieces.emplace_back(ListItem{std::string(item)});
}

void AddSaid(const BookContext& context, const std::vector<std::string>& items,
             std::set<std::string>& said, Book& book) {
  for (const std::string& item : items) {
    if (item.starts_with(kLeftOut)) continue;  // has a section of its own
    if (said.insert(item).second) book.pieces.emplace_back(ListItem{context.Say(item)});
  }
}

bool SaysOf(const std::vector<std::string>& cautions, std::string_view about) {
  return std::any_of(cautions.begin(), cautions.end(), [&](const std::string& c) {
    return c.find(about) != std::string::npos;
  });
}

bool Uses(const BookContext& context, MachineToolKind kind) {
  return std::any_of(context.plan.setups.begin(), context.plan.setups.end(), [&](const Setup& s) {
    const MachineTool* tool = context.shop.Find(s.machine);
    return tool != nullptr && tool->kind == kind;
  });
}

}  // namespace

void AddFoundations(const BookContext& context, const Odds& odds, Book& book) {
  book.pieces.emplace_back(Heading{2, "What was assumed", ""});
  std::set<std::string> said;
  AddSaid(context, context.plan.assumed, said, book);
  AddSaid(context, odds.assumed, said, book);
  if (said.empty()) book.pieces.emplace_back(ListItem{"Nothing: every figure was stated."});
  book.pieces.emplace_back(Heading{3, "What the odds leave out", ""});
  AddList(kNotModelled, book);
  book.pieces.emplace_back(ListItem{"A spread for any of these can be given in the shop file."});
  if (odds.blunders_expected > 0) {
    book.pieces.emplace_back(Paragraph{
        fmt::format("In {} setups expect about {} slip{} in spite of the printed checks. What catches "
                    "most: the check reading before the first cut, a caliper across the first hole, "
                    "the measure lines, and a dot on the part that marks which way is up.",
                    context.plan.setups.size(), FormatFixed(odds.blunders_expected, 1),
                    odds.blunders_expected < 0.95 || odds.blunders_expected >= 1.05 ? "s" : ""),
        Tone::kPlain});
  }
}

void AddCautions(const BookContext& context, Book& book) {
  book.pieces.emplace_back(Heading{2, "Cautions", ""});
  book.pieces.emplace_back(Heading{3, "At the machines", ""});
  AddList(kEveryMachine, book);
  if (Uses(context, MachineToolKind::kLathe)) AddList(kLatheCautions, book);
  if (Uses(context, MachineToolKind::kMill) || Uses(context, MachineToolKind::kDrillPress)) {
    AddList(kMillCautions, book);
  }
  book.pieces.emplace_back(Heading{3, "When it runs", ""});
  std::set<std::string> said;
  AddSaid(context, context.machine.cautions, said, book);
  for (const GeneralCaution& general : kFinishedMachine) {
    if (!SaysOf(context.machine.cautions, general.about)) {
      book.pieces.emplace_back(ListItem{std::string(general.say)});
    }
  }
}

}  // namespace fitwright::sheets
