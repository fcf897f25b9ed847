#include "model/writing.hpp"

#include <algorithm>
#include <filesystem>

#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::view {

void Writing::begin(const std::string& site) {
    lesson_ = teach::Lesson{};
    lesson_->site = site;
    file_.clear();
    trouble_.clear();
    at = 0;
}

void Writing::open(const std::string& file) {
    file_ = file;
    at = 0;
    read_again();
}

void Writing::stop() {
    lesson_.reset();
    file_.clear();
    trouble_.clear();
}

bool Writing::take(const bench::Edits& edits, const bench::Probes& probes, meter::Mode mode, const std::string& meter) {
    const bool clamp = meter::takes_clamp(mode);
    if (clamp ? probes.around.empty() : probes.red.empty() || probes.black.empty()) return false;
    teach::Step step;
    step.measure = teach::look_of(edits, probes, mode, meter);
    lesson_->steps.push_back(std::move(step));
    at = lesson_->steps.size() - 1;
    return true;
}

void Writing::predict(std::size_t n, bool on) {
    teach::Step& step = lesson_->steps.at(n);
    if (on == step.predict.has_value()) return;
    std::swap(step.measure, step.predict);
    if (!on) step.why.clear();
}

void Writing::remove(std::size_t n) {
    lesson_->steps.erase(lesson_->steps.begin() + static_cast<std::ptrdiff_t>(n));
    at = std::min(at, lesson_->steps.empty() ? 0 : lesson_->steps.size() - 1);
}

bool Writing::save(const Scenario& scenario) {
    teach::Lesson& l = *lesson_;
    trouble_.clear();
    const std::string folder = teach::own_lessons_folder(), stem = teach::stem_of(l.title);
    if (stem.empty()) trouble_ = text::tr("The lesson has no title yet.");
    else if (folder.empty()) trouble_ = text::tr("There is no folder of your own to keep it in.");
    if (!trouble_.empty()) return false;
    l.believes.clear();
    for (teach::Step& step : l.steps) {
        std::erase(step.why, std::string());
        for (std::size_t n = 1; n < step.why.size(); ++n)
            if (std::ranges::find(l.believes, step.why[n]) == l.believes.end()) l.believes.push_back(step.why[n]);
    }
    // The exercise follows what was asked last; the wrong ones of its reasons are what the lesson is about.
    if (l.exercises.size() <= 1 && made_) l.exercises.clear();
    made_ = made_ || l.exercises.empty();
    for (auto step = l.steps.rbegin(); made_ && step != l.steps.rend(); ++step)
        if (step->predict) {
            l.exercises.push_back(teach::exercise_of(*step->predict, step->why, scenario));
            l.exercises.back().given = step->given;
            break;
        }
    if (file_.empty()) file_ = folder + "/" + stem + ".toml";
    try {
        std::filesystem::create_directories(folder);
        files::FreshFile fresh(file_);
        fresh.write(teach::to_toml(l));
        fresh.finish();
    } catch (const std::exception& e) {
        trouble_ = e.what();
        return false;
    }
    return read_again();
}

bool Writing::read_again() {
    trouble_.clear();
    try {
        lesson_ = teach::load_lesson(file_);
    } catch (const site::BadInput& e) {
        trouble_ = e.what();
        return false;
    }
    at = std::min(at, lesson_->steps.size() - 1);
    return true;
}

}  // namespace sunshaft::view
