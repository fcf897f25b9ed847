// Places that are one to whoever cannot tell them apart: all on one wire, or all in one string.
#pragma once

#include <string>
#include <vector>

namespace sunshaft::diagnose {

// "splice.v", "drive.v", "v" -> "v"; "s1.m3-", "fuse.s1" -> "s1"; one place is itself; nothing in common: empty.
std::string common_place(const std::vector<std::string>& places);
// The one is the other, or what the other lies on ("v" of "splice.v", "s1" of "s1.m3-"); a place not named is any.
bool one_place(const std::string& a, const std::string& b);

}  // namespace sunshaft::diagnose
