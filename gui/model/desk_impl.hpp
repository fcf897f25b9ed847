// The desk's inside: what is wanted, undo and redo, the physics thread. Private to desk.cpp and desk_instruments.cpp.
#pragma once

#include <algorithm>
#include <ctime>
#include <memory>
#include <string>
#include <vector>

#include "bench/hazards.hpp"
#include "model/desk.hpp"
#include "model/setup.hpp"
#include "model/worker.hpp"
#include "site/keys.hpp"

namespace sunshaft::view {

inline constexpr std::size_t deepest_undo = 500;

// What undo goes back to.
struct Standing {
    bench::Edits edits;
    MeterChanges meters;
    bench::Probes probes;
    std::vector<std::string> channels;  // they go with the leads
    Trigger trigger;                    // and its source with them
    // When the step beside it was made: simulated s, and by the wall.
    double t = 0.0;
    std::time_t clock = 0;
};

// Where the leads lie, or are to lie, and on what.
struct Touch {
    bench::Probes probes;
    meter::Mode mode;
    std::array<std::string, 2> meters;
    MeterChanges changes;
    friend bool operator==(const Touch&, const Touch&) = default;
};

// A touch that waits for an answer, and how it is carried out.
struct Question {
    Touch touch;
    std::function<void()> lay;
    bool counted = false;
};

struct Known {
    std::shared_ptr<const Snapshot> keeps;  // what the scene points into
    bench::Scene scene;
};

inline bool lies_right(const bench::Probes& lie, const bench::Probes& wanted) {
    return wanted.around.empty() ? lie.red == wanted.red && lie.black == wanted.black : lie.around == wanted.around;
}

// Why an act was not done, until the next good one.
struct Refusal {
    std::string why;
    bool fresh = false;  // nobody has been told
    Refusal& operator=(std::string words) {
        why = std::move(words);
        fresh = !why.empty();
        return *this;
    }
    void clear() { *this = std::string(); }
    bool empty() const { return why.empty(); }
};

struct Desk::Impl {
    Scenario scenario;
    ScopeSettings& scope;  // the desk's
    Setup setup;
    std::vector<Standing> undo, redo;
    std::optional<Standing> carried;  // what stood when a hand took the lead it carries
    std::optional<Standing> clock;    // what stood when a hand took the clock of the day
    std::optional<Question> question;
    std::optional<site::Act> asked_act;
    std::vector<meter::Spec> at_hand;
    Refusal error;
    std::unique_ptr<Worker> worker;
    std::shared_ptr<const Snapshot> instead;
    mutable std::shared_ptr<const Snapshot> all, without_faults;  // the latter made of the former
    mutable bool unread = false;                                  // and without what a lesson asks about

    Impl(Scenario of, bool threaded, ScopeSettings& desks, const bench::Bench* start = nullptr)
        : scenario(std::move(of)), scope(desks) {
        if (start) setup.edits = start->edits();
        else setup.edits.faults = site::planted_faults(scenario, site::set_up(scenario));
        worker = std::make_unique<Worker>(scenario, setup, threaded, start);
    }

    // What the bench refused after it had passed the check here: its edits stand.
    void hear() {
        if (auto refusal = worker->refusal()) {
            setup.edits = refusal->standing;
            if (!undo.empty()) undo.pop_back();
            error = refusal->text;
        }
    }

    void send() { worker->want(setup); }

    void put(const bench::Edits& edits) {
        hear();
        if (same(edits, setup.edits)) return error.clear();
        try {
            (void)bench::checked(scenario, edits);
        } catch (const std::exception& e) {
            error = e.what();
            return;
        }
        error.clear();
        remember();
        setup.edits = edits;
        setup.walked_to.reset();
        send();
    }

    Standing standing() const {
        return {setup.edits, setup.meter_changes, setup.probes, setup.channels, scope.trigger};
    }

    Touch lying() const { return {setup.probes, setup.mode, setup.meters, setup.meter_changes}; }

    void remember() { remember(standing()); }
    void remember(Standing before) {
        before.t = worker->snapshot()->t;
        before.clock = std::time(nullptr);
        undo.push_back(std::move(before));
        if (undo.size() > deepest_undo) undo.erase(undo.begin());
        redo.clear();
    }

    void put(const MeterChanges& changes) {
        if (changes == setup.meter_changes) return;
        remember();
        setup.meter_changes = changes;
        send();
    }

    // The leads as they lay before a hand took the one it carries.
    void put_back() {
        if (!carried) return;
        setup.probes = carried->probes;
        setup.channels = carried->channels;
        scope.trigger = carried->trigger;
        carried.reset();
    }

    // The channel that is on the leads goes with them, or the first that is on two points; the same of the clamp.
    void follow(const bench::Probes& to) {
        std::vector<std::string>& list = setup.channels;
        const auto move = [&](const std::string& from, const std::string& wanted, auto alike) {
            if (wanted.empty() || std::find(list.begin(), list.end(), wanted) != list.end()) return;
            auto at = std::find(list.begin(), list.end(), from);
            if (at == list.end()) at = std::find_if(list.begin(), list.end(), alike);
            if (at != list.end() && *at == scope.trigger.source) scope.trigger.source = wanted;
            if (at != list.end()) *at = wanted;
            else if (list.size() < 5) list.push_back(wanted);
        };
        const auto pair = [](const bench::Probes& p) {
            return p.red.empty() || p.black.empty() ? std::string() : p.red + ":" + p.black;
        };
        const auto ring = [](const bench::Probes& p) {
            return p.around.empty() ? std::string() : "around." + p.around;
        };
        const auto known = [&](const std::string& name) {
            try {
                if (!name.empty()) plant::signal(*worker->snapshot()->site, name);
                return name;
            } catch (const std::exception&) {
                return std::string();  // the still bench alone knows it
            }
        };
        move(pair(setup.probes), known(pair(to)),
             [](const std::string& s) { return s.find(':') != std::string::npos; });
        move(ring(setup.probes), known(ring(to)), [](const std::string& s) { return !plant::clamped(s).empty(); });
    }

    void lay(const bench::Probes& probes) {
        if (scope.follows) follow(probes);
        setup.probes = probes;
    }

    void turn_back(std::vector<Standing>& from, std::vector<Standing>& to, bool but_faults) {
        hear();
        if (from.empty()) return;
        put_back();
        to.push_back(standing());
        to.back().t = from.back().t, to.back().clock = from.back().clock;
        if (but_faults) from.back().edits.faults = setup.edits.faults;
        setup.edits = from.back().edits;
        setup.meter_changes = from.back().meters;
        setup.probes = from.back().probes;
        setup.channels = from.back().channels;
        scope.trigger = from.back().trigger;
        from.pop_back();
        error.clear();
        send();
    }
};

}  // namespace sunshaft::view
