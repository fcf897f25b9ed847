// What comes from outside: files that are none, nesting without end, text that would steer a terminal.
#include "files/input.hpp"

#include <sys/stat.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "catch_shim.hpp"
#include "files/shipped.hpp"
#include "files/text.hpp"
#include "scratch.hpp"

using namespace sunshaft;
using sunshaft::test::Scratch;
namespace fs = std::filesystem;

namespace {

std::string read_refused(const std::string& path, std::size_t most = 100) {
    try {
        files::read_whole(path, most);
    } catch (const files::Unreadable& wrong) {
        return wrong.what();
    }
    return "";
}

}  // namespace

TEST_CASE("only plain files up to their size are read, and nothing is waited for") {
    const Scratch f;
    std::ofstream(f / "ok") << std::string(100, 'x');
    std::ofstream(f / "big") << std::string(101, 'x');
    REQUIRE(mkfifo((f / "pipe").c_str(), 0600) == 0);
    CHECK(files::read_whole(f / "ok", 100) == std::string(100, 'x'));
    CHECK(read_refused(f / "big").find("is larger than") == 0);
    CHECK(read_refused(f / "pipe") == "is a pipe, no plain file");
    CHECK(read_refused("/dev/zero") == "is a device, no plain file");
    CHECK(read_refused(f / "") == "is a folder");
    CHECK(read_refused(f / "none") == "is not there");
    CHECK(read_refused(f / "ok/none") == "is not there");
    CHECK_FALSE(files::read_whole("/proc/self/status", files::most_settings).empty());  // its size is said to be zero
    std::ofstream(f / "empty").close();
    CHECK(files::read_whole(f / "empty", 100).empty());
}

TEST_CASE("nesting deeper than any key and letters no key has are found before a parser follows them, and only those") {
    const auto at = [](const std::string& text) {
        const auto place = files::toml_trouble(text);
        return place ? std::to_string(place->line) + ":" + std::to_string(place->column) : "";
    };
    std::string dots = "x";
    for (int n = 0; n < 50000; ++n) dots += ".x";
    CHECK(at(dots + " = 1") == "1:32");
    CHECK(at("[a]\n  '\xC3\xA9' = 1\n[" + dots + "]") == "3:33");
    CHECK(at("a = " + std::string(17, '[')) == "1:21");
    CHECK(at("'\xC3\xA9' = " + std::string(17, '[')) == "1:23");  // columns count letters, not bytes
    CHECK(at("a = 1 # \xC3\xA9\nb\xEF\xBB\x9D = 1") == "2:2");
    CHECK(at("\xEF\xBB\xBF"
             "a = 1") == "");
    CHECK(at("k = 2777+'\xCB\x82'") == "1:10");
    CHECK(at("a = 'x' 'y'") == "1:9");
    CHECK(at("ro = 4.\"\"\"\xEF\xBB\xBE") == "1:8");  // a point ends no number, and a parser reads on
    CHECK(at("a = [1, 2.'x']") == "1:11");
    CHECK(at("f = 8[\"\\u[\xEF\xAE\xBF\"]") == "1:6");
    CHECK(at("a = [[1],\n # x\n [2, {b = [3]}]\n]\n[[c]]\n[d]") == "");
    CHECK(at("f = 8_8.///=\"b/\xC3\x89\"") == "1:12");
    CHECK(at("a = {b.'c' = 1, d.\"e\" = [2,\n3]}\nf.'g' = 1\n[h.'i']\nj = {}") == "");
    CHECK(at("'a'.\"b\" = {'c'=['d' , ''], \"e\"=\"\"}\r\n[\"f\"]\n[[ 'g' ]]\n") == "");
    for (const char* marks : {"\"", "'"}) {  // three and up to two more
        const std::string three = std::string(marks) + marks + marks;
        std::string lines;
        for (int n = 0; n < 40; ++n)
            lines += "a = [" + three + "x" + three + std::string(std::size_t(n % 3), marks[0]) + ", " + marks + "b" +
                     marks + "]\n";
        CHECK(at(lines) == "");
    }
    // Behind a backslash, and behind a line that it lets go on.
    CHECK(at("a = \"\\\xEF\xBB\xB7\"") == "1:7");
    CHECK(at("a = \"\"\"x\\  \n \xC3\xA9\"\"\"") == "1:10");
    CHECK(at("a = \"\"\"x\\  \n y\xC3\xA9\"\"\"\nb = '\\\xC3\xA9'") == "");
    CHECK(at("'''a''' = 1\n" + dots) == "2:32");
    const std::string many(5000, '.'), brackets(5000, '[');
    CHECK(at("a = \"" + many + brackets + "\\\"" + many + "\" # " + many + brackets) == "");
    CHECK(at("a = '" + many + "\\' # " + many) == "");
    CHECK(at("a = '''" + many + "'\n''" + brackets + "'''\nb = \"\"\"" + many + "\"\n\\\"\"\"" + brackets + "\"\"\"") ==
          "");
    CHECK(at("a = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5, 10.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5, 1.5]") ==
          "");
    CHECK(at(std::string("a.b.c = [[{d.e = [1]}]]\n").append("x = 1.5\n", 8)) == "");
    for (const auto& entry : fs::recursive_directory_iterator(files::shipped_data() + "/scenarios"))
        if (entry.path().extension() == ".toml") CHECK(at(test::slurp(entry.path().string())) == "");
}

TEST_CASE("text from outside comes out as UTF-8 that steers nothing") {
    using files::plain_text;
    CHECK(plain_text("Stra\xC3\x9F"
                     "e \xE6\xB0\xB4 \xF0\x9F\x92\xA7") ==
          "Stra\xC3\x9F"
          "e \xE6\xB0\xB4 \xF0\x9F\x92\xA7");
    CHECK(plain_text("Str\xF6mung \xB5") == "Str\xC3\xB6mung \xC2\xB5");  // Latin-1
    CHECK(plain_text("a\x1B[31mb\x7F\r\n") == "a [31mb   ");
    CHECK(plain_text("a\xC2\x9B"
                     "31m") == "a 31m");  // CSI as one letter
    CHECK(plain_text("a\x9B"
                     "31m") == "a 31m");  // and as one byte
    // right to left, isolate, Arabic letter mark
    CHECK(plain_text("x\xE2\x80\xAE"
                     "gpj.\xE2\x81\xA6\xD8\x9C") == "x gpj.  ");
    CHECK(plain_text("\xC0\xAF\xED\xA0\x80\xF4\x90\x80\x80") != "\xC0\xAF\xED\xA0\x80\xF4\x90\x80\x80");
    for (int a = 0; a < 256; ++a)
        for (int b = 0; b < 256; ++b) {
            const std::string text{char(a), char(b), 'x'}, plain = plain_text(text);
            REQUIRE(files::is_plain(plain));
            REQUIRE(plain.back() == 'x');
        }
    CHECK(files::one_line(std::string(50, 'a') + "\xC3\xA9", 51) == std::string(50, 'a') + "...");
    CHECK(files::one_line("short", 5) == "short");
}

TEST_CASE("what comes with the program is found") {
    CHECK(fs::is_directory(files::shipped_data() + "/scenarios/meters"));
    CHECK(fs::is_regular_file(files::shipped_data() + "/assets/modules.csv"));
}
