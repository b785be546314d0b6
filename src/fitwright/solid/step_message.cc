#include "fitwright/solid/step_message.h"

#include <algorithm>
#include <cmath>
#include <cstring>

#include "fitwright/base/hash.h"
#include "fitwright/solid/kernel.h"

namespace fitwright::solid {
namespace {

constexpr std::string_view kMessageBegin = "fitwright step message";

class Writer {
 public:
  void Number(std::uint64_t number) { Raw(&number, sizeof number); }
  void Real(double number) { Raw(&number, sizeof number); }
  void Text(const std::string& text) {
    Number(text.size());
    all_ += text;
  }
  void Texts(const std::vector<std::string>& texts) {
    Number(texts.size());
    for (const std::string& text : texts) Text(text);
  }
  std::string& all() { return all_; }

 private:
  void Raw(const void* from, std::size_t size) {
    all_.append(static_cast<const char*>(from), size);
  }
  std::string all_;
};

// Reads what Writer wrote; past the end or beyond what is left, everything is nothing and ok()
// false.
class Reader {
 public:
  explicit Reader(std::string_view all) : left_(all) {}
  bool ok() const { return ok_; }
  bool done() const { return ok_ && left_.empty(); }
  std::uint64_t Number() {
    std::uint64_t number = 0;
    Raw(&number, sizeof number);
    return number;
  }
  double Real() {
    double number = 0;
    Raw(&number, sizeof number);
    return number;
  }
  std::string Text() {
    const std::size_t size = Count(1);
    std::string text(left_.substr(0, size));
    left_.remove_prefix(size);
    return text;
  }
  std::vector<std::string> Texts() {
    std::vector<std::string> texts;
    for (std::size_t i = Count(sizeof(std::uint64_t)); i > 0 && ok_; --i) texts.push_back(Text());
    return texts;
  }
  // A count of things that take at least `least` bytes each.
  std::size_t Count(std::size_t least) {
    const std::uint64_t count = Number();
    if (count > left_.size() / least) ok_ = false;
    return ok_ ? static_cast<std::size_t>(count) : 0;
  }

 private:
  void Raw(void* to, std::size_t size) {
    ok_ = ok_ && left_.size() >= size;
    if (!ok_) return;
    std::memcpy(to, left_.data(), size);
    left_.remove_prefix(size);
  }
  std::string_view left_;
  bool ok_ = true;
};

void Write(const PlacedShape& placed, Writer& writer) {
  writer.Text(placed.name);
  writer.Texts(placed.path);
  writer.Number(placed.shape);
  writer.Number(placed.mirrored ? 1 : 0);
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 4; ++column) writer.Real(placed.X_WF.matrix()(row, column));
  }
}

PlacedShape ReadPlaced(Reader& reader) {
  PlacedShape placed;
  placed.name = reader.Text();
  placed.path = reader.Texts();
  placed.shape = static_cast<std::size_t>(reader.Number());
  placed.mirrored = reader.Number() != 0;
  for (int row = 0; row < 3; ++row) {
    for (int column = 0; column < 4; ++column) placed.X_WF.matrix()(row, column) = reader.Real();
  }
  return placed;
}

void Write(const std::vector<std::size_t>& places, Writer& writer) {
  writer.Number(places.size());
  for (const std::size_t place : places) writer.Number(place);
}

void Write(const StatedLimit& limit, Writer& writer) {
  writer.Number(limit.shape);
  Write(limit.faces, writer);
  writer.Number(limit.diameter ? 1 : 0);
  const Size size = limit.diameter.value_or(Size{});
  for (const double mm : {size.nominal_mm, size.lower_mm, size.upper_mm}) writer.Real(mm);
  writer.Number(static_cast<std::uint64_t>(size.origin));
  writer.Text(size.fit);
  writer.Number(static_cast<std::uint64_t>(limit.kind));
  writer.Real(limit.within_mm);
  writer.Number(static_cast<std::uint64_t>(limit.datums));
  Write(limit.datum_faces, writer);
  writer.Text(limit.words);
}

std::vector<std::size_t> ReadPlaces(Reader& reader) {
  std::vector<std::size_t> places;
  for (std::size_t i = reader.Count(sizeof(std::uint64_t)); i > 0; --i)
    places.push_back(static_cast<std::size_t>(reader.Number()));
  return places;
}

StatedLimit ReadLimit(Reader& reader) {
  StatedLimit limit;
  limit.shape = static_cast<std::size_t>(reader.Number());
  limit.faces = ReadPlaces(reader);
  const bool round = reader.Number() != 0;
  Size size;
  for (double* mm : {&size.nominal_mm, &size.lower_mm, &size.upper_mm}) *mm = reader.Real();
  size.origin = static_cast<LimitsOrigin>(reader.Number());
  size.fit = reader.Text();
  if (round) limit.diameter = size;
  limit.kind = static_cast<GeometricKind>(reader.Number());
  limit.within_mm = reader.Real();
  limit.datums = static_cast<int>(reader.Number());
  limit.datum_faces = ReadPlaces(reader);
  limit.words = reader.Text();
  return limit;
}

bool IsSound(const StatedLimit& limit, std::size_t shapes) {
  const bool known =
      std::any_of(WordsOf<GeometricKind>::kAll.begin(), WordsOf<GeometricKind>::kAll.end(),
                  [&](const Word<GeometricKind>& word) { return word.value == limit.kind; });
  const Size size = limit.diameter.value_or(Size{1, 1, 1, LimitsOrigin::kFit, ""});
  const bool ordered = size.nominal_mm > 0 && size.lower_mm > 0 && size.lower_mm <= size.upper_mm;
  const bool finite = std::isfinite(size.nominal_mm) && std::isfinite(size.upper_mm) &&
                      std::isfinite(limit.within_mm);
  return limit.shape < shapes && known && ordered && finite &&
         size.origin <= LimitsOrigin::kGeneralTolerance;
}

bool IsRigid(const Pose& pose) {
  constexpr double kOff = 1e-6;
  const Eigen::Matrix3d turn = pose.linear();
  return pose.matrix().allFinite() && std::abs(turn.determinant() - 1) < kOff &&
         (turn * turn.transpose() - Eigen::Matrix3d::Identity()).cwiseAbs().maxCoeff() < kOff;
}

Error Broken(const char* what) {
  return KernelError("STEP", std::string("what the reading process sent is ") + what);
}

Result<StepMessage> ReadContents(Reader& reader) {
  StepMessage message;
  message.shapes = reader.Texts();
  for (std::size_t i = reader.Count(sizeof(std::uint64_t)); i > 0; --i) {
    message.face_labels.push_back(reader.Texts());
  }
  for (std::size_t i = reader.Count(sizeof(std::uint64_t)); i > 0 && reader.ok(); --i) {
    message.placed.push_back(ReadPlaced(reader));
  }
  for (std::size_t i = reader.Count(sizeof(std::uint64_t)); i > 0 && reader.ok(); --i) {
    message.limits.push_back(ReadLimit(reader));
  }
  message.written_in = reader.Number() == 1 ? LengthUnit::kInch : LengthUnit::kMillimetre;
  message.schema = reader.Text();
  message.notes = reader.Texts();
  if (!reader.done()) return Unexpected(Broken("cut short"));
  if (message.face_labels.size() != message.shapes.size()) return Unexpected(Broken("uneven"));
  for (const PlacedShape& placed : message.placed) {
    if (placed.shape >= message.shapes.size()) return Unexpected(Broken("short of a shape"));
    if (!IsRigid(placed.X_WF)) return Unexpected(Broken("at odds about a place"));
  }
  for (const StatedLimit& limit : message.limits) {
    if (!IsSound(limit, message.shapes.size())) return Unexpected(Broken("at odds about a limit"));
  }
  return message;
}

}  // namespace

std::string ToText(const Result<StepMessage>& message) {
  Writer writer;
  writer.Number(message.has_value() ? 1 : 0);
  if (message.has_value()) {
    writer.Texts(message->shapes);
    writer.Number(message->face_labels.size());
    for (const auto& labels : message->face_labels) writer.Texts(labels);
    writer.Number(message->placed.size());
    for (const PlacedShape& placed : message->placed) Write(placed, writer);
    writer.Number(message->limits.size());
    for (const StatedLimit& limit : message->limits) Write(limit, writer);
    writer.Number(message->written_in == LengthUnit::kInch ? 1 : 0);
    writer.Text(message->schema);
    writer.Texts(message->notes);
  } else {
    const Error& error = message.error();
    writer.Number(static_cast<std::uint64_t>(error.code));
    for (const std::string& text : {error.message, error.value, error.remedy}) writer.Text(text);
  }
  Writer whole;
  whole.all() = kMessageBegin;
  whole.Number(kStepMessageVersion);
  whole.Number(StableHash(writer.all()));
  return whole.all() + writer.all();
}

Result<StepMessage> FromText(std::string_view text) {
  if (!text.starts_with(kMessageBegin)) return Unexpected(Broken("no message"));
  Reader head(text.substr(kMessageBegin.size()));
  if (head.Number() != kStepMessageVersion) return Unexpected(Broken("of another version"));
  const std::uint64_t hash = head.Number();
  if (!head.ok()) return Unexpected(Broken("cut short"));
  text.remove_prefix(kMessageBegin.size() + 2 * sizeof(std::uint64_t));
  if (StableHash(text) != hash) return Unexpected(Broken("changed on the way"));
  Reader reader(text);
  if (reader.Number() == 1) return ReadContents(reader);
  Error error;
  error.code = static_cast<ErrorCode>(reader.Number());
  error.message = reader.Text();
  error.value = reader.Text();
  error.remedy = reader.Text();
  if (!reader.done()) return Unexpected(Broken("cut short"));
  return Unexpected(std::move(error));
}

}  // namespace fitwright::solid
