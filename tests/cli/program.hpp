// Runs the program as its user does, for the tests of this folder.
#pragma once

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "catch_shim.hpp"

namespace sunshaft::test {

using nlohmann::json;

struct Outcome {
    int status;
    std::string out, err;
};

inline Outcome run(const std::string& arguments) {
    const auto errors = std::filesystem::temp_directory_path() / ("sunshaft-cli-" + std::to_string(getpid()) + ".err");
    // Nothing is kept in the home of whoever runs the tests.
    static const std::string home =
        std::filesystem::temp_directory_path() / ("sunshaft-cli-" + std::to_string(getpid()));
    setenv("XDG_STATE_HOME", home.c_str(), 1);
    std::FILE* pipe = popen((std::string(SUNSHAFT_PROGRAM) + " " + arguments + " 2>" + errors.string()).c_str(), "r");
    REQUIRE(pipe != nullptr);
    Outcome o{};
    std::array<char, 4096> buffer{};
    for (std::size_t n; (n = std::fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) o.out.append(buffer.data(), n);
    const int raw = pclose(pipe);
    o.status = WIFEXITED(raw) ? WEXITSTATUS(raw) : -1;
    std::ifstream in(errors);
    o.err.assign(std::istreambuf_iterator<char>(in), {});
    std::filesystem::remove(errors);
    return o;
}

inline json reading(const std::string& arguments) {
    const Outcome o = run("read " + arguments + " --json");
    INFO(o.err);
    REQUIRE(o.status == 0);
    return json::parse(o.out);
}

inline void refuses(const std::string& arguments, const std::string& must_hold) {
    const Outcome o = run(arguments);
    INFO(arguments << " -> " << o.err);
    CHECK(o.status == 2);
    CHECK(o.err.find(must_hold) != std::string::npos);
    CHECK(std::count(o.err.begin(), o.err.end(), '\n') == 1);
    CHECK(o.out.empty());
}

}  // namespace sunshaft::test
