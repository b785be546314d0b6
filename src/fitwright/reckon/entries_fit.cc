#include <fmt/format.h>

#include <cmath>

#include "fitwright/reckon/entries.h"
#include "fitwright/trade/fits.h"

namespace fitwright::reckon {
namespace {

constexpr double kMost_mm = trade::kFitRange_mm;

struct FitPair {
  std::optional<trade::FitLimits> hole;
  std::optional<trade::FitLimits> shaft;
};

// "H7/g6", "g6/H7", "H7" or "g6".
Result<FitPair> ReadFit(double size_mm, const std::string& text) {
  FitPair pair;
  const std::size_t slash = text.find('/');
  const auto take = [&](const std::string& name) -> Status {
    const auto limits = trade::FindFit(size_mm, name);
    if (!limits) {
      Error error = limits.error();
      error.where.key = "fit";
      return Unexpected(std::move(error));
    }
    auto& place = limits->hole ? pair.hole : pair.shaft;
    if (place) {
      return Unexpected(Refused(ErrorCode::kUnknownFit, "fit", text,
                                "a fit is a hole and a shaft, and these are two of one",
                                "write one with a capital and one with a small letter: H7/g6"));
    }
    place = *limits;
    return Ok{};
  };
  const Status first = take(text.substr(0, slash));
  if (!first) return Unexpected(first.error());
  if (slash != std::string::npos) {
    const Status second = take(text.substr(slash + 1));
    if (!second) return Unexpected(second.error());
  }
  return pair;
}

Result<Reckoned> Fit(const Given& given) {
  const double size = given.Number("size");
  const auto pair = ReadFit(size, given.Word("fit"));
  if (!pair) return Unexpected(pair.error());
  Reckoned r;
  Table table{"Limits",
              {{"of", Kind::kWord},
               {"least", Kind::kFine},
               {"greatest", Kind::kFine},
               {"lower dev.", Kind::kFine},
               {"upper dev.", Kind::kFine}},
              {}};
  const auto add = [&](const char* name, const trade::FitLimits& limits) {
    table.rows.push_back({std::string(name), size + limits.lower_mm, size + limits.upper_mm,
                          limits.lower_mm, limits.upper_mm});
  };
  if (pair->hole) add("hole", *pair->hole);
  if (pair->shaft) add("shaft", *pair->shaft);
  if (pair->hole && pair->shaft) {
    const double most = pair->hole->upper_mm - pair->shaft->lower_mm;
    const double least = pair->hole->lower_mm - pair->shaft->upper_mm;
    r.AddWord("kind of fit", least >= 0 ? "clearance" : most <= 0 ? "interference" : "transition");
    if (most > 0) r.Add("greatest clearance", Kind::kFine, most);
    if (least > 0) r.Add("least clearance", Kind::kFine, least);
    if (most < 0) r.Add("least interference", Kind::kFine, -most);
    if (least < 0) r.Add("greatest interference", Kind::kFine, -least);
  }
  r.tables.push_back(std::move(table));
  r.source = "ISO 286-1 and -2, sizes over 0 up to 500 mm; limits hold at 20 degC";
  return r;
}

}  // namespace

std::vector<Reckoning> FitEntries() {
  return {
      {"fit",
       "Limits of a hole, a shaft or both, and the clearance or interference between.",
       "size=25 fit=H7/g6",
       {Needs("size", Kind::kLength, "nominal size", kLeastLength_mm, kMost_mm),
        Needs("fit", Kind::kWord, "tolerance class: H7, g6 or both, H7/g6", 0, 0)},
       Fit},
  };
}

}  // namespace fitwright::reckon
