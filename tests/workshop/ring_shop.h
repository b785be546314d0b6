// A workshop that makes the ring and the pin of tests/support/pin_and_ring.h.
#pragma once

#include <string>
#include <vector>

#include "fitwright/service/build_use.h"
#include "tests/support/pin_and_ring.h"

namespace fitwright::workshop_test {

struct RingShop {
  service::Workshop workshop;
  PlanOrigin origin;  // of its plan

  RingShop() {
    const testing::PinAndRing job;
    workshop.opened = service::Opened{};
    workshop.opened->project.machine = job.machine;
    workshop.opened->project.shop = job.shop;
    workshop.plan = job.plan;
    workshop.plan->parts = {{PartId("ring"), 1, "steel", "", 0},
                            {PartId("pin"), 1, "steel", "", 0}};
    workshop.followed[1] = *workshop.plan;
  }
  LogEvent& Add(LogKind kind, const char* part, const char* step) {
    LogEvent event;
    event.number = static_cast<std::int64_t>(workshop.log.events.size()) + 1;
    event.kind = kind;
    event.revision = 1;
    event.part = PartId(part);
    event.step = StepId(step);
    workshop.log.events.push_back(event);
    return workshop.log.events.back();
  }
  void ReadBore(double value_mm, const char* typed) {
    Add(LogKind::kReading, "ring", "s1.1").reading =
        Reading{value_mm, typed, InstrumentId("bore_gauge"), {PartId("ring"), FeatureId("bore")}};
  }
};

inline std::string AllOf(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& w : words) all += w + "\n";
  return all;
}

}  // namespace fitwright::workshop_test
