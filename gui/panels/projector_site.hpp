#pragma once
// The site for the back row: tank, bore, sun, modules and drive as a strip of shapes without a word, and the leads on
// it.
#include <optional>

#include "bench/bench.hpp"
#include "model/snapshot.hpp"
#include "shell/panel.hpp"

namespace sunshaft::panels {

/// Draws it; `unit` is the size of one layout unit. A press on one of the three terminals (right button: the black
/// lead) returns where the leads are wanted.
std::optional<bench::Probes> projector_site(shell::PanelContext& x, const view::Box& box, const view::Snapshot& s,
                                            const bench::Probes& probes, double unit);

}  // namespace sunshaft::panels
