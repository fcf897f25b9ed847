// The desk's meters, the scope and how they are set.
#include <algorithm>
#include <utility>

#include "meter/settings.hpp"
#include "model/desk_impl.hpp"

namespace sunshaft::view {

void Desk::change_meter(const std::string& spec, const std::string& key, const std::string& value) {
    MeterChanges changes = impl_->setup.meter_changes;
    auto& own = changes[spec];
    std::erase_if(own, [&](const auto& one) { return one.first == key; });
    try {
        // Back at the file's own value it is no change.
        const meter::Spec plain = find_meter(spec);
        if (meter::to_toml(meter::changed(plain, key, value)) != meter::to_toml(plain)) own.emplace_back(key, value);
        with_changes(plain, changes);
    } catch (const std::exception& e) {
        impl_->error = e.what();
        return;
    }
    if (own.empty()) changes.erase(spec);
    impl_->error.clear();
    impl_->put(changes);
}

void Desk::restore_meter(const std::string& spec) {
    MeterChanges changes = impl_->setup.meter_changes;
    changes.erase(spec);
    impl_->error.clear();
    impl_->put(changes);
}

std::string Desk::save_meter(const std::string& spec) {
    try {
        std::string stem = save_as_own(with_changes(find_meter(spec), impl_->setup.meter_changes));
        impl_->at_hand = view::meters_at_hand();
        for (std::string& one : impl_->setup.meters)
            if (one == spec) one = stem;
        restore_meter(spec);
        return stem;
    } catch (const std::exception& e) {
        impl_->error = e.what();
        return {};
    }
}

const std::vector<meter::Spec>& Desk::meters_at_hand() const {
    if (impl_->at_hand.empty()) impl_->at_hand = view::meters_at_hand();
    return impl_->at_hand;
}

void Desk::keep_extremes(bool on) {
    impl_->setup.memory = on;
    impl_->send();
}

void Desk::await_inrush(bool on) {
    impl_->setup.inrush = on;
    impl_->send();
}

void Desk::expect(bool on) {
    impl_->setup.expected = on;
    impl_->send();
}

void Desk::listen(std::optional<bench::Ear> ear) {
    if (impl_->setup.ear == ear) return;
    impl_->setup.ear = ear;
    impl_->send();
}

void Desk::look_at_heat(bool on) {
    if (std::exchange(impl_->setup.camera, on) != on) impl_->send();
}

void Desk::choose_channels(const std::vector<std::string>& signals) {
    try {
        for (const std::string& name : signals) plant::signal(*snapshot()->site, name);
    } catch (const std::exception& e) {
        impl_->error = e.what();
        return;
    }
    impl_->error.clear();
    impl_->setup.channels.clear();
    for (const std::string& name : signals)
        if (std::find(impl_->setup.channels.begin(), impl_->setup.channels.end(), name) == impl_->setup.channels.end())
            impl_->setup.channels.push_back(name);
    impl_->send();
}

void Desk::show_seconds(double seconds) {
    if (!(seconds > 0.0)) return;
    impl_->setup.scope_seconds = std::clamp(seconds, least_scope_s, most_scope_s);
    impl_->send();
}

void Desk::trigger(const Trigger& wanted) {
    if (wanted == scope.trigger) return;
    impl_->hear();
    impl_->remember();
    scope.trigger = wanted;
}

const bench::Probes& Desk::probes() const { return impl_->setup.probes; }
std::array<std::string, 2> Desk::meters() const { return impl_->setup.meters; }
bool Desk::keeps_extremes() const { return impl_->setup.memory; }
bool Desk::expects() const { return impl_->setup.expected; }
std::optional<bench::Ear> Desk::listens() const { return impl_->setup.ear; }
bool Desk::awaits_inrush() const { return impl_->setup.inrush; }
meter::Mode Desk::mode() const { return impl_->setup.mode; }
const std::vector<std::string>& Desk::channels() const { return impl_->setup.channels; }

}  // namespace sunshaft::view
