// What a shop lacks for a machine, and what would let it be made.
#pragma once

#include <string>
#include <vector>

#include "fitwright/model/machine.h"
#include "fitwright/model/shop.h"
#include "fitwright/planner/planner.h"

namespace fitwright::planner {

// How a lack may be mended. In this order they are taken to cost more and more (opinion; the shop's own prices decide).
enum class MeansKind { kChangeDesign, kGetTool, kGetHolding, kSendOut, kGetMachine };

struct Means {
  MeansKind kind = MeansKind::kSendOut;
  std::string say;  // "Buy or borrow: boring head, 12-42."
};

// A part that cannot be made by itself.
struct Lack {
  PartId part;
  std::vector<FeatureId> features;  // without these it could be made; empty: the part as a whole
  std::string why;                  // what stood in the way of the first
  std::vector<Means> means;         // cheapest first, each tried: with it the part, or what is left of it, can be made
};

// Each part that no plan makes in this shop. `catalogue`: what might be bought or borrowed (tools, holding devices,
// machines). `pins`: of machines, holding, tools and setups, kept all the while. Deterministic; some hundred small plans
// for each such part.
std::vector<Lack> FindLacks(const Machine& machine, const Shop& shop, const Shop& catalogue, const PlannerOptions& options,
                            const std::vector<Pin>& pins = {});
// " 1) Buy or borrow: ... 2) ..." of each.
std::string MeansWords(const std::vector<Lack>& lacks);

// `error` where nothing lacks; else what, and what would do.
Error SayLacks(const std::vector<Lack>& lacks, const Error& error);

}  // namespace fitwright::planner
