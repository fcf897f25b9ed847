#include "teach/formula.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

#include "text/language.hpp"

namespace sunshaft::teach {

struct Formula::Node {
    char what = '0';  // '0' number, 'n' name, an operator, 's' sqrt, 'a' abs, '<' min, '>' max, '~' minus
    double number = 0.0;
    std::string name = {};
    std::shared_ptr<const Node> left = {}, right = {};
};

namespace {

using Node = Formula::Node;
using Part = std::shared_ptr<const Node>;

class Parser {
  public:
    Parser(std::string_view text, std::vector<std::string>& names) : s_(text), names_(names) {}
    Part whole() {
        const Part part = sum();
        blanks();
        if (at_ < s_.size()) fail(text::tr("an operator"));
        return part;
    }

  private:
    [[noreturn]] void fail(const char* expected) const {
        throw std::invalid_argument(text::say("{}: letter {}, expected {}", s_, at_ + 1, expected));
    }
    void blanks() {
        while (at_ < s_.size() && s_[at_] == ' ') ++at_;
    }
    bool take(char c) {
        blanks();
        if (at_ >= s_.size() || s_[at_] != c) return false;
        ++at_;
        return true;
    }
    static Part make(char what, Part left, Part right = {}) {
        Node n;
        n.what = what;
        n.left = std::move(left);
        n.right = std::move(right);
        return std::make_shared<const Node>(std::move(n));
    }
    static Part number(double value) {
        Node n;
        n.number = value;
        return std::make_shared<const Node>(std::move(n));
    }
    Part sum() {
        if (++depth_ > 50) fail(text::tr("fewer brackets"));
        Part left = product();
        for (;;) {
            if (take('+')) left = make('+', left, product());
            else if (take('-')) left = make('-', left, product());
            else break;
        }
        --depth_;
        return left;
    }
    Part product() {
        Part left = power();
        for (;;) {
            if (take('*')) left = make('*', left, power());
            else if (take('/')) left = make('/', left, power());
            else return left;
        }
    }
    Part power() {
        if (take('-')) {
            if (++depth_ > 50) fail(text::tr("fewer signs"));
            Part part = make('~', power());
            --depth_;
            return part;
        }
        Part left = atom();
        return take('^') ? make('^', left, atom()) : left;
    }
    Part atom() {
        blanks();
        if (take('(')) {
            Part inner = sum();
            if (!take(')')) fail(text::tr("a closing bracket"));
            return inner;
        }
        if (at_ >= s_.size()) fail(text::tr("a number, a name or a bracket"));
        const char c = s_[at_];
        if ((c >= '0' && c <= '9') || c == '.') {
            double value = 0.0;
            const auto [end, error] = std::from_chars(s_.data() + at_, s_.data() + s_.size(), value);
            if (error != std::errc()) fail("a number");
            at_ = static_cast<std::size_t>(end - s_.data());
            return number(value);
        }
        const std::size_t from = at_;
        while (at_ < s_.size() &&
               (std::isalnum(static_cast<unsigned char>(s_[at_])) || s_[at_] == '_' || s_[at_] == '.'))
            ++at_;
        const std::string name(s_.substr(from, at_ - from));
        if (name.empty()) fail(text::tr("a number, a name or a bracket"));
        if (name == "pi") return number(std::numbers::pi);
        if (name == "over") return number(std::numeric_limits<double>::infinity());
        if (name == "sqrt" || name == "abs") {
            if (!take('(')) fail(text::tr("an opening bracket"));
            Part inner = sum();
            if (!take(')')) fail(text::tr("a closing bracket"));
            return make(name[0], inner);
        }
        if (name == "min" || name == "max") {
            if (!take('(')) fail(text::tr("an opening bracket"));
            Part a = sum();
            if (!take(',')) fail(text::tr("a comma"));
            Part b = sum();
            if (!take(')')) fail(text::tr("a closing bracket"));
            return make(name == "min" ? '<' : '>', a, b);
        }
        if (std::find(names_.begin(), names_.end(), name) == names_.end()) names_.push_back(name);
        Node n;
        n.what = 'n';
        n.name = name;
        return std::make_shared<const Node>(std::move(n));
    }

    std::string_view s_;
    std::vector<std::string>& names_;
    std::size_t at_ = 0;
    int depth_ = 0;
};

double value(const Node& n, const std::function<double(const std::string&)>& lookup) {
    const auto left = [&] { return value(*n.left, lookup); };
    const auto right = [&] { return value(*n.right, lookup); };
    switch (n.what) {
        case 'n': return lookup(n.name);
        case '+': return left() + right();
        case '-': return left() - right();
        case '*': return left() * right();
        case '/': return left() / right();
        case '^': return std::pow(left(), right());
        case '~': return -left();
        case 's': return std::sqrt(left());
        case 'a': return std::abs(left());
        case '<': return std::min(left(), right());
        case '>': return std::max(left(), right());
        default: return n.number;
    }
}

}  // namespace

Formula::Formula(std::string_view text) : text_(text) { root_ = Parser(text_, names_).whole(); }

double Formula::operator()(const std::function<double(const std::string&)>& lookup) const {
    return value(*root_, lookup);
}

}  // namespace sunshaft::teach
