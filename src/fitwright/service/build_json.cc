// The JSON of build_words.h.
#include <fmt/format.h>

#include "fitwright/service/build_words.h"
#include "fitwright/service/json_text.h"

namespace fitwright::service {
namespace {

std::string LimitsToJson(const std::optional<ReadingLimits>& limits) {
  if (!limits) return "null";
  const std::string mate = limits->mate_mm ? fmt::format("{}", *limits->mate_mm) : "null";
  return fmt::format("{{\"lower_mm\": {}, \"upper_mm\": {}, \"mate_mm\": {}}}", limits->lower_mm,
                     limits->upper_mm, mate);
}

std::string WaitsToJson(const std::vector<Wait>& waits) {
  std::string out;
  for (const Wait& wait : waits) {
    out += fmt::format("{}{{\"setup\": {}, \"until_ms\": {}}}", out.empty() ? "" : ", ",
                       JsonString(wait.setup.text()), wait.until_ms);
  }
  return "[" + out + "]";
}

std::string StepToJson(const NextAnswer& answer, const std::optional<NextStep>& next) {
  if (!next) return "null";
  const Workshop& w = answer.workshop;
  const StepPlace& place = next->place;
  const Step& step = *place.step;
  const auto limits = FindLimits(place, w.machine(), w.log, w.followed, answer.build);
  const std::string instrument = step.measure ? step.measure->instrument.text() : "";
  return fmt::format(
      "{{\n    \"step\": {}, \"number\": {}, \"setup\": {}, \"part\": {}, \"operation\": {},\n    "
      "\"words\": {},\n"
      "    \"tool\": {}, \"instrument\": {}, \"caution\": {},\n    \"limits\": {}, "
      "\"begins_setup\": {},\n"
      "    \"waits_for\": {}\n  }}",
      JsonString(step.id.text()), JsonString(place.number()), JsonString(place.setup->id.text()),
      JsonString(place.piece.text()), JsonString(WordOf(step.operation)), JsonString(step.words),
      JsonString(step.tool.text()), JsonString(instrument), JsonString(step.caution),
      LimitsToJson(limits), next->begins_setup, WaitsToJson(next->waits));
}

std::string PlanNewsToJson(const PlanNews& news) {
  return fmt::format("{{\"anew\": {}, \"next_changed\": {}, \"about\": {}, \"readings_since\": {}, \"worth\": {}}}",
                     news.anew, news.next_changed, JsonStrings(news.about), news.readings_since,
                     JsonStrings(news.worth));
}

}  // namespace

std::string NextToJson(const NextAnswer& answer, const PlanNews& plan) {
  std::string elsewhere;
  for (const LogEvent& event : answer.progress.elsewhere) {
    elsewhere += fmt::format("{}\n    {{\"revision\": {}, \"step\": {}, \"part\": {}}}",
                             elsewhere.empty() ? "" : ",", event.revision,
                             JsonString(event.step.text()), JsonString(event.part.text()));
  }
  return fmt::format(
      "{{\n  \"schema\": \"{}\",\n  \"build\": {},\n  \"older_than_sheets\": {},\n  "
      "\"sheets_read\": {},\n"
      "  \"steps_done\": {},\n  \"steps\": {},\n  \"next\": {},\n  \"meanwhile\": {},\n"
      "  \"not_in_this_plan\": [{}],\n  \"target\": {},\n  \"news\": {},\n  \"plan\": {}\n}}\n",
      kNextSchemaId, answer.build, answer.workshop.older_than_sheets,
      answer.workshop.opened.has_value(), answer.progress.done.size(), answer.steps,
      StepToJson(answer, answer.next.step), StepToJson(answer, answer.next.meanwhile), elsewhere, answer.target,
      JsonStrings(answer.news), PlanNewsToJson(plan));
}

std::string RecordToJson(const RecordAnswer& answer, const std::string& changes) {
  std::string events;
  for (const LogEvent& event : answer.events) {
    const std::string value = event.reading ? fmt::format("{}", event.reading->value_mm) : "null";
    events += fmt::format(
        "{}\n    {{\"number\": {}, \"id\": {}, \"kind\": {}, \"revision\": {}, \"part\": {}, "
        "\"step\": {}, "
        "\"value_mm\": {}}}",
        events.empty() ? "" : ",", event.number, JsonString(event.id),
        JsonString(WordOf(event.kind)), event.revision, JsonString(event.part.text()),
        JsonString(event.step.text()), value);
  }
  std::string check = "null";
  if (answer.check) {
    check = fmt::format("{{\"verdict\": {}, \"off_mm\": {}, \"limits\": {}}}",
                        JsonString(WordOf(answer.check->verdict)), answer.check->off_mm,
                        LimitsToJson(answer.check->limits));
  }
  return fmt::format(
      "{{\n  \"schema\": \"{}\",\n  \"events\": [{}\n  ],\n  \"check\": {},\n  \"say\": {},\n  \"changes\": {}\n}}\n",
      kRecordSchemaId, events, check, JsonStrings(RecordWords(answer)), changes);
}

}  // namespace fitwright::service
