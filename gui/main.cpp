// sunshaft-bench: the window.
#include <CLI/CLI.hpp>

#include <exception>
#include <string>

#include <fmt/format.h>

#include "shell/app.hpp"
#include "shell/gallery.hpp"

namespace {

bool read_size(const std::string& text, int& width, int& height) {
    return std::sscanf(text.c_str(), "%dx%d", &width, &height) == 2 && width >= 320 && height >= 240 &&
           width <= 16384 && height <= 16384;
}

}  // namespace

int main(int argc, char** argv) {
    using namespace sunshaft;
    shell::AppOptions options;
    std::string scenario;
    std::string size;
    std::string scale;
    bool gallery = false;
    CLI::App cli{"The bench: see a solar pump site, probe it, break it."};
    cli.add_option("SCENARIO", scenario, "site to open (a TOML file); without it the last one");
    cli.add_option("--size", size, "window size in pixels, as 1600x1000");
    cli.add_option("--theme", options.theme, "paper or night")->check(CLI::IsMember({"paper", "night"}));
    cli.add_option("--scale", scale, "size of everything in percent, 50 to 300");
    cli.add_option("--script", options.script, "play the acts in a file")->group("");
    cli.add_option("--frames", options.frames, "end after so many frames")->group("");
    cli.add_flag("--stats", options.stats, "print frame times at the end")->group("");
    cli.add_flag("--gallery", gallery, "show every shape and widget")->group("");
    bool forget = false;
    cli.add_flag("--forget", forget, "neither read nor keep the remembered window");
    try {
        cli.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        const int status = cli.exit(error);
        return status == 0 ? 0 : 2;
    }
    options.remember = !forget;
    if (!size.empty() && !read_size(size, options.width_px, options.height_px)) {
        fmt::print(stderr, "--size: '{}' is not a size, expected for example 1600x1000\n", size);
        return 2;
    }
    if (!scale.empty()) {
        options.scale = std::atof(scale.c_str()) / 100.0;
        if (!(options.scale >= 0.5 && options.scale <= 3.0)) {
            fmt::print(stderr, "--scale: '{}' is not a percentage from 50 to 300\n", scale);
            return 2;
        }
    }
    try {
        if (gallery) return shell::run_gallery(options);
        return shell::run(options, {}, {});
    } catch (const std::exception& error) {
        fmt::print(stderr, "sunshaft-bench: {}\n", error.what());
        return 1;
    }
}
