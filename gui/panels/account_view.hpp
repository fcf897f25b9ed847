// The account of a call-out in the window: what was wrong, both ways beside each other, the points.
#pragma once

#include <array>

#include "callout/account.hpp"
#include "model/geometry.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

// Three columns of room.
void account_view(shell::PanelContext& x, const callout::Account& account, const std::array<view::Box, 3>& column);

}  // namespace sunshaft::panels
