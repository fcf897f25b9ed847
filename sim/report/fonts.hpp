// The fonts that text on paper and in plots is set with.
#pragma once

namespace sunshaft::report {

/// A folder that travels brings its fonts along (shipped_data()/fonts): from then on they alone are used, so that a
/// page is the same on a machine without fonts or their configuration. Elsewhere the system has them: does nothing.
/// To be called before the first text is set; later calls cost nothing.
void take_own_fonts();

}  // namespace sunshaft::report
