// The account of a call-out on one page of A4: what was wrong, where the evidence sufficed, both ways on one scale of
// time, every step with what it read, every point with its rule, one thing done well, one to change.
#pragma once

#include <string>
#include <vector>

#include "callout/account.hpp"
#include "report/paper.hpp"

namespace sunshaft::classroom {

// head: site, names, day: "Hill Orchard. Ana, Ben. 2026-11-29". placed: what was set where.
std::string account_page(const callout::Account& account, const std::string& head,
                         std::vector<report::Paper::Placed>* placed = nullptr);

}  // namespace sunshaft::classroom
