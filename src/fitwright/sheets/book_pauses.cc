// The words for breaking off and for what is done meanwhile.
#include <fmt/format.h>

#include <algorithm>

#include "fitwright/sheets/book_pages.h"
#include "fitwright/sheets/numbers.h"
#include "fitwright/sheets/words.h"

namespace fitwright::sheets {
namespace {

constexpr std::size_t kMostBeside = 4;  // setups named as work for a wait

std::string SinceText(const Pause& pause) { return TimeText(pause.worked_min) + " since the last"; }

std::string HalfDoneText(const Pause& pause) {
  if (pause.half_done.empty()) return "nothing is half cut";
  std::vector<std::string> names;
  for (const FeatureRef& ref : pause.half_done) names.push_back(NameText(ref));
  return fmt::format("{} {} begun and not finished, so measure before going on", ListText(names), names.size() == 1 ? "is" : "are");
}

}  // namespace

std::string PauseInOrder(const BookContext& context, const Setup& setup) {
  std::string text;
  for (const Pause& pause : context.pauses) {
    if (pause.setup != setup.id) continue;
    const auto step = std::find_if(setup.steps.begin(), setup.steps.end(), [&](const Step& s) { return s.id == pause.step; });
    const auto place = fmt::format("{}.{}", setup.number, step - setup.steps.begin() + 1);
    if (!text.empty()) text += "; ";
    text += pause.piece_out ? fmt::format("pause, {}", SinceText(pause)) : fmt::format("pause after {}, {}", place, SinceText(pause));
  }
  return text;
}

void AddPause(const BookContext& context, const Setup& setup, const Step& step, Book& book) {
  for (const Pause& pause : context.pauses) {
    if (pause.setup != setup.id || pause.step != step.id) continue;
    std::string text = fmt::format("A place to break off, {}", SinceText(pause));
    if (pause.piece_out) {
      text += pause.half_done.empty() ? "." : fmt::format("; {}.", HalfDoneText(pause));
    } else if (setup.holding == HoldingKind::kBench) {
      text += ". Cover what lies open: a chip or grit now is in there for good.";
    } else {
      text += fmt::format(". The piece stays held as it is; {}. Leave no tool running; on coming back check zero before the first cut.", HalfDoneText(pause));
    }
    book.pieces.emplace_back(Entry{"Pause", text, Tone::kNote});
  }
}

std::string MeanwhileText(const BookContext& context, const Setup& setup) {
  const std::vector<const Setup*> beside = WorkBeside(context.plan, setup);
  if (beside.empty()) return "Nothing else can be done meanwhile: all that is left waits for this.";
  std::vector<std::string> names;
  for (const Setup* other : beside) {
    if (names.size() == kMostBeside) break;
    names.push_back(fmt::format("{} ({})", other->number, context.PiecesText(*other)));
  }
  return fmt::format("Meanwhile: setup{} {}{} not wait for it.", names.size() == 1 ? "" : "s", ListText(names), names.size() == 1 ? " does" : " do");
}

}  // namespace fitwright::sheets
