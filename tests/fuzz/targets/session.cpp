// Any bytes as a session of the window: one that reads back to itself, or one clean line.
#include "demand.hpp"
#include "fuzz/order.hpp"
#include "model/setup.hpp"

using namespace sunshaft;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    try {
        const std::string written = view::to_toml(view::session_from({reinterpret_cast<const char*>(data), size}));
        try {
            demand(view::to_toml(view::session_from(written)) == written, "a session reads back to itself");
        } catch (const site::BadInput& wrong) {
            std::fprintf(stderr, "%s\n%s\n", wrong.what(), written.c_str());
            demand(false, "what is written reads back");
        }
    } catch (const site::BadInput& wrong) {
        demand(test::one_clean_line(wrong.what()), "a mistake is one clean line");
    }
    return 0;
}
