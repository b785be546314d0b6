// Keys and store of remembered cuts. Private to process*.cc.
#pragma once

#include <string>

#include "fitwright/planner/process.h"

namespace fitwright::planner {

// All that a cut depends on beside shop and parts, as bytes: equal keys, equal cuts.
std::string CutKey(const CutContext& context, const CutRequest& request);
// The same for a part cut off its bar.
std::string PartOffKey(const CutContext& context, double z_S_mm);

class CutMemoAccess {
 public:
  static const Result<CutResult>* Find(const CutMemo& memo, const std::string& key);
  static void Keep(CutMemo& memo, const std::string& key, const Result<CutResult>& made);
};

}  // namespace fitwright::planner
