// Points found by part of their name, and by the arrows.
#include "model/spelled.hpp"
#include "catch_shim.hpp"

using namespace sunshaft;
using view::Spot;

namespace {

const std::vector<Spot> spots = {{"array+", "the array, plus", {0, 0}},
                                 {"link+", "the drive's link, plus", {100, 0}},
                                 {"drive.u", "terminal u of the drive", {100, 60}},
                                 {"drive.v", "terminal v of the drive", {130, 60}},
                                 {"cable.u", "cable, core u", {100, 300}}};

std::vector<std::string> names(const std::string& typed) {
    std::vector<std::string> list;
    for (const Spot& s : view::spelled(spots, typed)) list.push_back(s.name);
    return list;
}
using Names = std::vector<std::string>;

}  // namespace

TEST_CASE("typing part of a name narrows the points: those that begin so first, then those that have it in them") {
    CHECK(names("").size() == spots.size());
    CHECK(names("dri") == Names{"drive.u", "drive.v", "link+"});  // its words speak of the drive
    CHECK(names(".U") == Names{"drive.u", "cable.u"});
    CHECK(names("core") == Names{"cable.u"});
    CHECK(names("CAB") == Names{"cable.u"});
    CHECK(names("zz").empty());
}

TEST_CASE("an arrow goes to the nearest point that lies rather that way than aside") {
    const auto to = [&](view::Point from, view::Point way) {
        const Spot* s = view::stepped(from, way, spots);
        return s ? s->name : "";
    };
    CHECK(to({100, 60}, {1, 0}) == "drive.v");
    CHECK(to({100, 60}, {0, -1}) == "link+");
    CHECK(to({100, 60}, {0, 1}) == "cable.u");
    CHECK(to({100, 0}, {-1, 0}) == "array+");
    CHECK(to({0, 0}, {-1, 0}).empty());
}
