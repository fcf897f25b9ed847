// The main function of Catch2 version 2 (version 3 brings its own).
#define CATCH_CONFIG_MAIN
#include "catch_shim.hpp"
