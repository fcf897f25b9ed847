// A reading as a formula over what is so: "pi / (2 * sqrt(2)) * rectified_mean", "healthy + 2 * severity", "over".
//
// Numbers, + - * / ^, brackets, sqrt abs min max, pi, over (a display out of range), and names that whoever evaluates
// it looks up: figures of the wave, or scenario keys with their dots.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace sunshaft::teach {

class Formula {
  public:
    Formula() = default;
    // Throws std::invalid_argument: what is wrong and at which letter, counted from 1.
    explicit Formula(std::string_view text);
    const std::string& text() const { return text_; }
    const std::vector<std::string>& names() const { return names_; }  // in order, each once
    // Whatever lookup throws comes out. Endless: over range.
    double operator()(const std::function<double(const std::string&)>& lookup) const;

    struct Node;

  private:
    std::string text_;
    std::vector<std::string> names_;
    std::shared_ptr<const Node> root_;
};

}  // namespace sunshaft::teach
