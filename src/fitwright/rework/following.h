// What a reading says of features that it did not touch.
#pragma once

#include <vector>

#include "fitwright/rework/changes.h"
#include "fitwright/rework/conditioning.h"

namespace fitwright::rework {

// Sizes and places whose expected value moves by half of its spread or more, or whose spread
// shrinks by three tenths or more, between two states of knowledge; most first, at most `most`.
// Features that were read are left out.
std::vector<Following> FindFollowing(const Standing& standing, const variation::Analysis& analysis,
                                     const Conditioning& before, const Conditioning& after,
                                     std::size_t most);

}  // namespace fitwright::rework
