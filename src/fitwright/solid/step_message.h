// Private to this layer: what the reading process tells the one that started it, as one message.
#pragma once

#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "fitwright/base/result.h"
#include "fitwright/solid/step_reading.h"

namespace fitwright::solid {

// Raised when the layout changes. Both ends are one program; the version guards against a mix.
inline constexpr std::uint32_t kStepMessageVersion = 2;

struct StepMessage {
  std::vector<std::string> shapes;  // as ToBytes gives them
  std::vector<std::vector<std::string>> face_labels;  // of each shape
  std::vector<PlacedShape> placed;
  std::vector<StatedLimit> limits;
  LengthUnit written_in = LengthUnit::kMillimetre;
  std::string schema;
  std::vector<std::string> notes;
};

// Either the contents or why there are none.
std::string ToText(const Result<StepMessage>& message);
// Errors: the one that was sent, or kKernel when the message is not whole and in order: wrong version,
// cut short, changed on the way, a place without its shape, a pose that is no rigid movement.
Result<StepMessage> FromText(std::string_view text);

}  // namespace fitwright::solid
