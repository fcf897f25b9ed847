// Any bytes as a meter: one that reads back from what it is written as, or one clean line.
#include "demand.hpp"
#include "fuzz/order.hpp"
#include "meter/settings.hpp"

using namespace sunshaft;

int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    try {
        const meter::Spec spec = meter::parse_spec({reinterpret_cast<const char*>(data), size}, "m.toml");
        demand(files::is_plain(spec.name) && files::is_plain(spec.description), "names are plain text");
        const std::string written = meter::to_toml(spec);
        try {
            demand(meter::to_toml(meter::parse_spec(written, "again")) == written, "a meter reads back to itself");
        } catch (const meter::SpecError& wrong) {
            std::fprintf(stderr, "%s\n%s\n", wrong.what(), written.c_str());
            demand(false, "what is written reads back");
        }
    } catch (const meter::SpecError& wrong) {
        demand(test::one_clean_line(wrong.what()), "a mistake is one clean line");
    }
    return 0;
}
