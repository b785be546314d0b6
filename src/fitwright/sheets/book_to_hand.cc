// What the setups ask for beside machines, cutters and instruments.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>
#include <map>
#include <set>
#include <utility>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

enum class Figure { kNone, kBefore, kAfter };

// The words by which a sentence asks for a thing; "{}" in its name is the size that stands before or behind them, in mm.
struct Wanted {
  std::string_view words;
  std::string_view name;
  Figure figure = Figure::kNone;
};
constexpr std::array kWanted = {
    Wanted{" mm round bar along the moving jaw", "round bar {} mm, as long as the vise's jaws", Figure::kBefore},
    Wanted{" mm parallel", "pair of parallels {} mm high", Figure::kBefore},
    Wanted{"parallels higher than ", "two blocks of one height, over {} mm", Figure::kAfter},
    Wanted{"of one height", "packing pieces in threes, each three of one height"},
    Wanted{"on a ring behind it", "ring faced on both sides alike, to seat the piece on"},
    Wanted{"oft packing", "soft packing for the jaws: strip of aluminium or copper, about 1 mm thick"},
    Wanted{"split ring", "split ring of aluminium or card, to the piece"},
    Wanted{"in soft jaws", "soft jaws for the bench vise"},
    Wanted{"between soft jaws", "soft jaws for the bench vise"},
    Wanted{"soft jaws, so that", "soft jaws for the bench vise"},
    Wanted{"bore its soft jaws", "ring or plug to close the soft jaws on, soft jaws with metal left"},
    Wanted{"ard between", "thin card"},
    Wanted{"shim", "shims, thin paper"},
    Wanted{"feeler", "feelers"},
    Wanted{"straight edge", "straight edge"},
    Wanted{"V-block", "two V-blocks with straps"},
    Wanted{"on the plate", "surface plate"},
    Wanted{"retaining compound", "retaining compound"},
    Wanted{"made for close fits", "retaining compound made for close fits, where the step asks for it"},
    Wanted{"thread lock", "thread lock"},
    Wanted{"brass rod", "bit of brass rod, thinner than the grub's thread"},
    Wanted{"tube or a sleeve", "tubes or sleeves to press bearings home by"},
    Wanted{"bearings and their circlip", "tubes or sleeves to press bearings home by"},
    Wanted{"tube behind", "tubes or sleeves to press bearings home by"},
    Wanted{"raw it tight", "keys and spanners to the screws and nuts"},
    Wanted{"drawn up", "keys and spanners to the screws and nuts"},
    Wanted{"drawn tight", "keys and spanners to the screws and nuts"},
    Wanted{"drop of oil", "oil"},
    Wanted{"short one that was made", "the short one for the trial (made with the other)"},
    Wanted{" mm pin", "ground pin {} mm", Figure::kBefore},
    Wanted{"pin of ", "ground pin {} mm", Figure::kAfter},
    Wanted{" mm drill's shank", "drill {} mm, for its shank", Figure::kBefore},
    Wanted{"square upright", "try square"},
    Wanted{"with a square on", "try square"},
    Wanted{"straightedge", "straight edge"},
    Wanted{"a stand", "stand for the indicator"},
    Wanted{"and stand on", "stand for the indicator"},
    Wanted{"0.002 or finer", "indicator that reads 0.002 mm or finer"},
    Wanted{"with a file", "file"},
    Wanted{"fine file", "fine file"},
    Wanted{"smooth rod", "smooth rod for the tailstock's chuck"},
    Wanted{"kitchen foil", "kitchen foil"},
    Wanted{"waxed", "wax, where compound must not bond (no grease: it spoils the joint)"},
    Wanted{"plug of ", "plug {} mm: ground bar, miked", Figure::kAfter},
    Wanted{"a slip ", "slip {} mm thick", Figure::kAfter},
    Wanted{"soft wire, ", "soft wire {} mm", Figure::kAfter},
    Wanted{"hardened buttons", "hardened buttons to file to"},
    Wanted{"abrasive paper", "fine abrasive paper, a flat plate"},
    Wanted{"scraper", "scraper for bores"},
    Wanted{"countersink by hand", "hand countersink"},
    Wanted{"drift", "drifts thinner than the pins"},
    Wanted{"circlip pliers", "circlip pliers, the circlip"},
    Wanted{"their circlip", "circlip pliers, the circlip"},
    Wanted{"board over the bed", "board over the lathe's bed"},
    Wanted{"scrap of board", "board over the lathe's bed"},
    Wanted{"pipe cleaner", "pipe cleaners, brushes"},
    Wanted{"solvent", "solvent, clean rags, gloves"},
    Wanted{"grease", "grease"},
    Wanted{"tapping oil", "tapping oil"},
    Wanted{"utting oil", "cutting oil"},
    Wanted{"araffin", "paraffin or light oil"},
};

bool IsFigure(char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0 || c == '.'; }

// The size without zeros that say nothing: "6", "1.2".
std::string Plain(std::string figure) {
  if (figure.find('.') == std::string::npos) return figure;
  while (figure.back() == '0') figure.pop_back();
  if (figure.back() == '.') figure.pop_back();
  return figure;
}

std::string FigureAt(const std::string& text, std::size_t found, const Wanted& wanted) {
  std::size_t from = wanted.figure == Figure::kAfter ? found + wanted.words.size() : found;
  std::size_t to = from;
  if (wanted.figure == Figure::kBefore) {
    while (from > 0 && IsFigure(text[from - 1])) --from;
  } else {
    while (to < text.size() && IsFigure(text[to])) ++to;
  }
  return from == to ? "" : Plain(text.substr(from, to - from));
}

class ToHand {
 public:
  void Take(const std::string& text, int setup) {
    for (std::size_t k = 0; k < kWanted.size(); ++k) {
      const Wanted& wanted = kWanted[k];
      for (std::size_t at = text.find(wanted.words); at != std::string::npos; at = text.find(wanted.words, at + 1)) {
        std::string name(wanted.name);
        double size = 0;
        if (const std::size_t gap = name.find("{}"); gap != std::string::npos) {
          const std::string figure = FigureAt(text, at, wanted);
          if (figure.empty()) continue;
          name.replace(gap, 2, figure);
          size = std::strtod(figure.c_str(), nullptr);
        }
        Add(k, size, name, setup);
      }
    }
  }

  // In the order of the list, small ones first, each with the setups that ask for it.
  std::vector<std::pair<std::string, std::set<int>>> Listed() const {
    std::vector<std::pair<std::string, std::set<int>>> listed;
    for (const auto& [rank, found] : found_) {
      for (const auto& [key, setups] : found) listed.emplace_back(key.second, setups);
    }
    return listed;
  }

 private:
  void Add(std::size_t rank, double size_mm, const std::string& name, int setup) {
    const auto known = rank_.emplace(name, rank).first;
    found_[known->second][{size_mm, name}].insert(setup);
  }

  std::map<std::string, std::size_t> rank_;
  std::map<std::size_t, std::map<std::pair<double, std::string>, std::set<int>>> found_;
};

// "1, 2 and 7"; of many the first and how many.
std::string SetupsText(const std::set<int>& setups) {
  constexpr std::size_t kMost = 4;
  std::vector<std::string> numbers;
  for (const int number : setups) numbers.push_back(std::to_string(number));
  if (numbers.size() <= kMost) return ListText(numbers);
  return fmt::format("{} of them, first {}", numbers.size(), numbers.front());
}

void TakeSetup(const BookContext& context, const Setup& setup, ToHand& to_hand) {
  to_hand.Take(setup.hold_words, setup.number);
  to_hand.Take(OilText(context, setup), setup.number);
  for (const Step& step : setup.steps) {
    to_hand.Take(step.words, setup.number);
    to_hand.Take(step.caution, setup.number);
    if (step.measure) to_hand.Take(step.measure->words, setup.number);
    if (const Tool* tool = context.shop.Find(step.tool)) to_hand.Take(tool->words, setup.number);
  }
}

// The shop's own, where it has one.
std::string IndicatorText(const BookContext& context) {
  const auto& instruments = context.shop.instruments;
  const auto own = std::find_if(instruments.begin(), instruments.end(), [](const Instrument& i) { return i.kind == InstrumentKind::kIndicator; });
  return own == instruments.end() ? "indicator" : context.InstrumentText(own->name);
}

bool SaysMiked(const Step& step) {
  const auto says = [](const std::string& text) { return text.find(" mike") != std::string::npos; };
  return says(step.words) || (step.measure && says(step.measure->words));
}

// The one for small things: pins, shanks, packing.
std::string MicrometerText(const BookContext& context) {
  const Instrument* least = nullptr;
  for (const Instrument& i : context.shop.instruments) {
    if (i.kind == InstrumentKind::kMicrometer && (least == nullptr || i.from_mm < least->from_mm)) least = &i;
  }
  return least == nullptr ? "micrometer" : context.InstrumentText(least->name);
}

}  // namespace

std::string FetchText(const BookContext& context, const Setup& setup) {
  std::vector<std::string> things;
  const auto add = [&](const std::string& thing) {
    if (std::find(things.begin(), things.end(), thing) == things.end()) things.push_back(thing);
  };
  const std::string set_up = setup.hold_words + setup.zero.routine;
  if (set_up.find("edge finder") != std::string::npos) add("edge finder");
  const bool read = std::any_of(setup.steps.begin(), setup.steps.end(), [](const Step& step) {
    return step.words.find("indicator") != std::string::npos || (step.measure && step.measure->words.find("indicator") != std::string::npos);
  });
  if (read || set_up.find("indicator") != std::string::npos) add(IndicatorText(context));
  for (const Step& step : setup.steps) {
    if (step.measure && !step.measure->instrument.empty()) add(context.InstrumentText(step.measure->instrument));
  }
  if (std::any_of(setup.steps.begin(), setup.steps.end(), [&](const Step& step) { return SaysMiked(step); })) add(MicrometerText(context));
  ToHand to_hand;
  TakeSetup(context, setup, to_hand);
  for (const auto& [name, setups] : to_hand.Listed()) add(context.SayAtMachine(name));
  return things.empty() ? "" : Capital(fmt::format("{}.", fmt::join(things, "; ")));
}

void AddToHand(const BookContext& context, Book& book) {
  ToHand to_hand;
  for (const Setup& setup : context.plan.setups) TakeSetup(context, setup, to_hand);
  const auto listed = to_hand.Listed();
  if (listed.empty()) return;
  book.pieces.emplace_back(Heading{3, "To have to hand", "beside machines, cutters and instruments"});
  Table table;
  table.columns = {{"what", "", Align::kLeft, true}, {"in setups", "", Align::kLeft, true}, {"got", "", Align::kLeft, false}};
  for (const auto& [name, setups] : listed) table.rows.push_back({context.SayAtMachine(name), SetupsText(setups), "[ ]"});
  book.pieces.emplace_back(std::move(table));
}

}  // namespace fitwright::sheets
