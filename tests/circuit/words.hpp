// What an expression that must throw says, and whether it says what it should.
#pragma once

#include <exception>
#include <initializer_list>
#include <string>

namespace sunshaft::test {

// The message of what `act` throws; empty when it does not throw.
template <class Act>
std::string words(Act act) {
    try {
        act();
    } catch (const std::exception& problem) {
        return problem.what();
    }
    return {};
}

inline bool says(const std::string& text, std::initializer_list<const char*> parts) {
    for (const char* part : parts)
        if (text.find(part) == std::string::npos) return false;
    return true;
}

}  // namespace sunshaft::test
