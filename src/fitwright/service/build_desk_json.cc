#include "fitwright/service/build_desk_json.h"

#include <fmt/format.h>

#include <algorithm>

#include "fitwright/service/build_words.h"
#include "fitwright/service/json_text.h"
#include "fitwright/sheets/words.h"

namespace fitwright::service {
namespace {

constexpr std::size_t kMostLately = 12;

template <typename Items, typename Text>
std::string SparseList(const Items& items, const Text& text) {
  std::string out;
  for (const auto& item : items) {
    const std::string one = text(item);
    if (one.empty()) continue;
    if (!out.empty()) out += ',';
    out += one;
  }
  return "[" + out + "]";
}

std::string StepAndPart(const StepOnPiece& place) {
  return fmt::format(R"("step":{},"part":{})", JsonString(place.first.text()),
                     JsonString(place.second.text()));
}

class Writer {
 public:
  Writer(const Workshop& workshop, const BuildView& view)
      : workshop_(workshop), view_(view), plan_(*workshop.plan) {
    progress_ = CalcProgress(plan_, workshop.log, workshop.followed, view.build);
    places_ = PlacesOf(plan_);
  }

  std::string Write() const {
    const Next next = FindNext(plan_, progress_, view_.now_ms);
    return fmt::format(
        R"("steps":{},"done":{},"readings":{},"limits":{},"bring":{},"next":{},"meanwhile":{},"elsewhere":{})",
        places_.size(), Done(), Readings(), Limits(), Bring(), NextText(next.step), NextText(next.meanwhile),
        Elsewhere());
  }

 private:
  std::optional<ReadingLimits> LimitsOf(const StepPlace& place) const {
    return FindLimits(place, workshop_.machine(), workshop_.log, workshop_.followed, view_.build);
  }
  std::string Done() const {
    return SparseList(progress_.done, [](const auto& done) {
      return fmt::format(R"({{{},"time_ms":{}}})", StepAndPart(done.first), done.second.time_ms);
    });
  }
  std::string Readings() const {
    return SparseList(places_, [&](const StepPlace& place) -> std::string {
      const auto found = progress_.readings.find({place.step->id, place.piece});
      if (found == progress_.readings.end()) return "";
      const LogEvent& event = found->second;
      const Reading& reading = *event.reading;
      const auto check = CheckReading(reading.value_mm, LimitsOf(place), workshop_.unit());
      std::vector<std::string> say = CheckWords(check, reading.value_mm, workshop_.unit());
      const Consequences& changes = view_.consequences;
      const bool last = event.id == changes.event;
      if (last) say.insert(say.end(), changes.words.begin(), changes.words.end());
      return fmt::format(
          R"({{{},"id":{},"value_mm":{},"typed":{},"instrument":{},"time_ms":{},"verdict":"{}","say":{},"ways":{},"plan_anew":{}}})",
          StepAndPart(found->first), JsonString(event.id), reading.value_mm,
          JsonString(reading.typed), JsonString(reading.instrument.text()), event.time_ms,
          WordOf(check.verdict), JsonStrings(say), last ? Ways(changes.ways) : "[]", last && changes.plan_anew);
    });
  }
  static std::string Ways(const std::vector<WayOut>& ways) {
    return SparseList(ways, [](const WayOut& way) { return fmt::format(R"({{"then":"{}","say":{}}})", WordOf(way.then), JsonString(way.say)); });
  }
  std::string Limits() const {
    return SparseList(places_, [&](const StepPlace& place) -> std::string {
      const auto limits = LimitsOf(place);
      if (!limits) return "";
      const auto& line = place.step->measure;
      if (line && line->lower_mm == limits->lower_mm && line->upper_mm == limits->upper_mm)
        return "";
      return fmt::format(R"({{{},"lower_mm":{},"upper_mm":{},"mate_mm":{}}})",
                         StepAndPart({place.step->id, place.piece}), limits->lower_mm,
                         limits->upper_mm,
                         limits->mate_mm ? fmt::format("{}", *limits->mate_mm) : "null");
    });
  }
  std::string Bring() const {
    return SparseList(view_.consequences.bring, [](const ToBring& one) {
      return fmt::format(R"({{{},"lower_mm":{},"upper_mm":{},"say":{}}})", StepAndPart({one.step, one.part}), one.lower_mm, one.upper_mm,
                         JsonString(one.say));
    });
  }
  std::string NextText(const std::optional<NextStep>& next) const {
    if (!next) return "null";
    const StepPlace& place = next->place;
    const std::string waits =
        SparseList(next->waits, [&](const Wait& wait) { return JsonString(WaitWords(plan_, wait)); });
    return fmt::format(R"({{{},"setup":{},"waits":{}}})",
                       StepAndPart({place.step->id, place.piece}), place.setup->number, waits);
  }
  std::string Elsewhere() const {
    return SparseList(progress_.elsewhere, [&](const LogEvent& event) {
      return JsonString(StepWords(workshop_, event) + ", " + sheets::NameText(event.part.text()));
    });
  }

  const Workshop& workshop_;
  const BuildView& view_;
  const Plan& plan_;
  BuildProgress progress_;
  std::vector<StepPlace> places_;
};

std::string Lately(const Workshop& workshop, int build) {
  std::vector<const LogEvent*> last;
  const auto& events = workshop.whole_log.events;
  for (auto event = events.rbegin(); event != events.rend() && last.size() < kMostLately; ++event) {
    if (event->build == build) last.push_back(&*event);
  }
  return SparseList(last, [&](const LogEvent* event) {
    return fmt::format(
        R"({{"number":{},"time_ms":{},"part":{},"step":{},"what":{}}})", event->number,
        event->time_ms, JsonString(sheets::NameText(event->part.text())),
        JsonString(StepWords(workshop, *event)), JsonString(EventWords(workshop, *event)));
  });
}

}  // namespace

std::string BuildToJson(const Workshop& workshop, const BuildView& view) {
  const std::string kept = SparseList(view.kept, [](const KeptEvent& one) {
    return fmt::format(R"({{"id":{},"as":"{}","say":{}}})", JsonString(one.id), WordOf(one.as),
                       JsonStrings(one.say));
  });
  const std::string stands =
      workshop.plan
          ? Writer(workshop, view).Write()
          : R"("steps":0,"done":[],"readings":[],"limits":[],"next":null,"meanwhile":null,"elsewhere":[])";
  const auto& events = workshop.whole_log.events;
  return fmt::format(
             R"({{"schema":"{}","build":{},"last":{},"sign":{},"plan":{},"kept":{},{},"lately":{}}})",
             kBuildSchemaId, view.build, events.empty() ? 0 : events.back().number,
             JsonString(view.sign),
             JsonString(workshop.plan_id), kept, stands,
             Lately(workshop, view.build)) +
         "\n";
}

}  // namespace fitwright::service
