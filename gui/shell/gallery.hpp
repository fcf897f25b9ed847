#pragma once
// A hidden page that shows every shape and widget, to look at after a change.
#include "shell/app.hpp"

namespace sunshaft::shell {

int run_gallery(AppOptions options);

}  // namespace sunshaft::shell
