// The desk's day: which is asked for, what may be known of it, the clock in the hand.
#include <cmath>

#include "model/desk_impl.hpp"
#include "model/seen.hpp"

namespace sunshaft::view {

void Desk::want_day(bool year) {
    DayQuestion q{impl_->scenario, edits(), day, year, weather_};
    if (marks_hidden || sealed()) q.edits.faults.clear();
    if (sealed()) q.edits.set.clear();  // what is sealed may lie in the site's data
    days_.ask(std::move(q));
    if (!threaded_) days_.wait();
}

void Desk::take_weather(std::shared_ptr<const day::Weather> weather) {
    weather_ = std::move(weather);
    if (!weather_ || weather_->rows.empty()) return;
    day.sky = measured_sky;
    day.date = day::date_of(weather_->rows.front().begin + 3600 * day::utc_offset_h(impl_->scenario) + 86399.0);
}

std::shared_ptr<const DayView> Desk::the_day() const {
    auto all = day_instead_ ? day_instead_ : days_.now();
    if (!marks_hidden && !sealed()) return all;
    if (day_all_ != all) {
        day_without_faults_ = std::make_shared<const DayView>(seen(*all));
        day_all_ = std::move(all);
    }
    return day_without_faults_;
}

void Desk::show_day_instead(std::shared_ptr<const DayView> altered) { day_instead_ = std::move(altered); }

void Desk::at_hour(double hour, bool in_hand) {
    const double fives = std::round(std::clamp(hour, 0.0, 23.9) * 12.0) / 12.0;
    const auto moment = moment_of(*the_day(), fives);
    if (!moment || refuses_sealed()) return;
    const auto before = impl_->clock;
    const Standing stood = impl_->standing();
    const std::size_t depth = impl_->undo.size();
    set(keys_at(*moment));
    // The way there is one entry: the first keeps what stood before it.
    if (before && impl_->undo.size() > depth) impl_->undo.pop_back();
    if (in_hand && !before) impl_->clock = stood;
    if (!in_hand) impl_->clock.reset();
}

}  // namespace sunshaft::view
