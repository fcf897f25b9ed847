// How well people tell what eyes, ears, hands and noses find: P(told | there). `There` is what the state of a site
// makes it, by the numbers of bench/senses.hpp. All of it stands in scenarios/senses.toml, which says how it is meant;
// nothing of it in code.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace sunshaft::diagnose {

struct Senses {
    // Of one sense: by part of its number a matrix, rows what there is, columns what is told, each row 1 in sum. And
    // how often each number is told by one who tells of another state of the site.
    struct Sense {
        std::vector<std::vector<std::vector<double>>> parts;
        std::vector<double> elsewhere;
    };
    std::map<std::string, Sense, std::less<>> of;  // by gauge
    // Of words that only say yes or no of something ("it hums"): the share told wrongly, of a lamp by its name, and of
    // a drive that stops and starts again while one is there.
    double words_wrong = 0.0, lamp_wrong = 0.0, wrong_while_it_tries = 0.0;

    // Sums to one over all that can be told. doubt: share of those who tell of another state of the site. gauge: one
    // of those told in words, lug.isolator like lug.
    double told(const std::string& gauge, unsigned told, unsigned there, double doubt = 0.0) const;
    // How well two are told from each other, as a squared distance in deviations: 0 not at all. -4 ln of what their
    // distributions have in common (A. Bhattacharyya 1943), which is what two words told one time in twenty for each
    // other are worth in bits.
    double apart2(const std::string& gauge, unsigned one, unsigned other) const;
};

// Throws site::BadInput `file:line:column: key: what is wrong`.
Senses parse_senses(const std::string& text, const std::string& file);
// As it lies in scenarios/; read once.
const Senses& shipped_senses();

}  // namespace sunshaft::diagnose
