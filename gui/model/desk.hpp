// Desk: the window's view-model. Holds what the user has set up (probes, meters, edits with undo and redo, scope
// channels, time), hands the whole of it to the physics thread each time it changes (steps are counted) and hands out
// the newest snapshot. Free of ImGui and SFML. Nothing here blocks.
#pragma once

#include <array>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "model/call.hpp"
#include "model/days.hpp"
#include "model/done.hpp"
#include "model/laid.hpp"
#include "model/notebook.hpp"
#include "model/scope_view.hpp"
#include "model/snapshot.hpp"
#include "model/suspecting.hpp"
#include "model/teaching.hpp"
#include "model/writing.hpp"

namespace sunshaft::bench {
struct Hazard;
struct Scene;
}  // namespace sunshaft::bench

namespace sunshaft::view {

struct Caution;  // model/site_offers.hpp
struct Known;    // these four: model/desk_impl.hpp
struct Question;
struct Standing;
struct Touch;

class Worker;  // the physics thread

// Of a second window that shows a class this bench (wall.hpp).
struct WallState {
    bool blank = false;   // nothing is shown
    bool frozen = false;  // the picture stands, whatever is done here
    friend bool operator==(const WallState&, const WallState&) = default;
};

class Desk {
  public:
    // threaded = false: no thread; tests and scripts call work() themselves, the same on every run.
    Desk(Scenario scenario, bool threaded);
    ~Desk();
    // Another site in place of this one, from its start, with nothing standing. Throws site::BadInput and changes
    // nothing.
    void open(Scenario scenario);
    // The leads as they lie when work begins: on u and v of the drive, where there is one.
    void hang_leads();
    // As somebody finds a site: its pump has been running for some seconds. Waits for that, but not longer than is
    // worth waiting for; with a thread the rest is caught up with.
    void set_going();

    // Newest, never null. While faults are hidden it holds only what a person on site could know (seen.hpp).
    std::shared_ptr<const Snapshot> snapshot() const;
    std::shared_ptr<const Snapshot> truth() const;  // all of it, for whoever may know
    // Simulates `seconds` and publishes; only without a thread.
    void work(double seconds);
    // For tests: shows this instead until it is null again (desk_alter.hpp).
    void show_instead(std::shared_ptr<const Snapshot> altered);
    void show_day_instead(std::shared_ptr<const DayView> altered);

    // -- acts of the user; each is one entry of undo unless noted
    // The channels that follow the leads go with them. A touch is judged before it is one (bench/hazards.hpp), and so
    // are a mode, a meter and an undoing that make one: what must not be done now waits for an answer, below.
    void place(const bench::Probes& probes);
    // The same with the mode both meters are to be in; a meter that neither of the two is takes the first one's place.
    void measure(const bench::Probes& probes, meter::Mode mode, const std::string& meter = {});
    std::optional<std::pair<bench::Probes, meter::Mode>> asked_touch() const;  // what waits; nothing: nothing does
    Caution touch_caution() const;                                             // what stands on its card
    void touch_anyway();   // refused, and done all the same: counted as unsafe, unless it may be done by now
    void touch_stopped();  // refused in an exam: not done, and it counts, once
    void leave_touch();
    // A hand carries a lead and has it there for the moment: all reads along, and place() at the end makes one entry of
    // undo of the whole way. On a point nobody can reach it hangs in the air.
    void carry(bench::Probes probes);                                                // and where it must not lie
    void plant(const std::string& kind, const std::string& place, double severity);  // replaces the same kind and place
    // The same fault elsewhere, one act.
    void move_fault(const std::string& kind, const std::string& from, const std::string& to);
    void heal(const std::string& kind, const std::string& place);
    void heal_all();
    void act(const std::string& kind, const std::string& place);
    // refused, and done all the same: counted as unsafe
    void act_anyway(const std::string& kind, const std::string& place);
    // "sun.irradiance_W_m2", "600". What comes to an act at the valve (valve_act) waits for its card instead.
    void set(const std::string& key, const std::string& value);
    void set(const std::vector<std::pair<std::string, std::string>>& keys);  // all of them one act
    std::optional<site::Act> take_asked_act();                               // for whoever shows the card, once
    void undo();  // while faults are hidden they stay: only the rest goes back
    void redo();
    bool can_undo() const;
    bool can_redo() const;
    // Each of these acts, oldest first, those that were undone last; without what tells of faults that are hidden.
    std::vector<Done> done() const;
    void walk_edits(std::size_t depth);  // undo or redo until so many stand (Done::depth)
    const bench::Edits& edits() const;   // as wanted now, may be ahead of the snapshot
    std::string new_error();             // the same, to be told once: empty until another act is refused
    std::string last_error() const;      // one line from a refused act; cleared by the next good one

    // -- instruments
    void choose_meter(int which, const std::string& spec);
    void choose_mode(meter::Mode mode);  // both meters
    void keep_extremes(bool on);         // min, max and peak from now on
    void await_inrush(bool on);          // the clamp waits for a surge from now on
    void expect(bool on);                // beside each display what the healthy site would show
    // Settings of a meter's chain (meter/settings.hpp), one entry of undo each; a meter chosen twice is changed twice.
    void change_meter(const std::string& spec, const std::string& key, const std::string& value);
    void restore_meter(const std::string& spec);  // as its file has it
    // Keeps the changed meter in the user's own folder and shows it in place of the one it came from, which is as its
    // file has it again. The new stem; empty: last_error() says why.
    std::string save_meter(const std::string& spec);
    const std::vector<meter::Spec>& meters_at_hand() const;  // shipped and own, as their files have them
    void choose_channels(const std::vector<std::string>& signals);
    void show_seconds(double seconds);    // how much the scope keeps
    void trigger(const Trigger& wanted);  // of the scope; one entry of undo
    const bench::Probes& probes() const;
    std::array<std::string, 2> meters() const;  // as wanted now
    meter::Mode mode() const;
    meter::Mode mode_meant() const;  // the one that waits for an answer, if one does: keys go on from there
    bool keeps_extremes() const;
    bool awaits_inrush() const;
    bool expects() const;
    void listen(std::optional<bench::Ear> ear);  // nothing: nobody listens
    std::optional<bench::Ear> listens() const;
    void look_at_heat(bool on);  // of the array: Snapshot::array_warmth
    const std::vector<std::string>& channels() const;

    // -- time
    void run();
    void hold();
    void step();  // to the next switching event
    // Holds time and looks at an earlier instant, s, of the last minute as it was; run(), or a change of the site, is
    // back at the present.
    void walk_to(double t);
    void walk_by(double seconds);  // from where one looks; negative: back
    /// A panel that shows spectra says so with each frame: they cost time.
    void want_spectra();
    void rate(double simulated_per_wall);  // 1/1000 .. 1 .. 100
    double rate() const;
    bool running() const;  // as wanted now

    // -- what is hidden from a class
    bool marks_hidden = false;         // the planted faults, in every panel
    double comes_in_s = 0.0;           // simulated s from now after which a fault sets in that is planted next
    bool teaching_points = false;      // allow leads on points nobody can reach in the field
    ScopeSettings scope;               // saved with the session; its trigger is changed by trigger() above
    std::shared_ptr<const Laid> laid;  // a recording over the scope; null: none. Not kept with the session

    // -- the day at the well
    DayWish day;  // which, under which sky; saved with the session
    // A panel that shows it says so with each frame: it is worked out beside the live run, again where something else
    // is planted, done or set. While faults are hidden, as if there were none.
    void want_day(bool year);
    // Measured weather in place of a named sky, from its first whole day on; of this site, until another is opened.
    void take_weather(std::shared_ptr<const day::Weather> weather);
    bool has_weather() const { return weather_ != nullptr; }
    std::shared_ptr<const DayView> the_day() const;  // what is known of it by now; never null
    // The live run takes sun, modules and air of that hour of the day. While a hand holds the clock (in_hand) it takes
    // them on the way; letting go makes one entry of undo of the whole way.
    void at_hour(double hour, bool in_hand);

    // -- the notebook, saved with the session
    Notebook notebook;
    void note();  // what the displays show now; last_error() where they show nothing
    // What somebody says he read, as he says it: where the leads lie, in the clamp, or at a gauge.
    void note_typed(const std::string& gauge, bool clamp, const std::string& shown);
    // Looks, listens or reads a gauge on site; noted once it is told. hear() is for whoever asked: again and again.
    void look(const std::string& gauge);
    void hear();
    // Leads, mode and meter as they were for an entry, one entry of undo; acts are not done again.
    void look_again(const Note& note);
    // The notebook as a case, TOML; empty: nothing in it counts.
    std::string case_text() const;
    // Weighs what the notebook holds now, beside the running site; again and again, it costs nothing where nothing is
    // new. Then who is suspected, as far as that is known.
    void suspect();
    std::shared_ptr<const Suspicion> suspicion() const { return suspecting_.now(); }

    // -- a call-out: something is wrong that nobody is told. While it is sealed faults stay hidden, none is planted or
    // healed, the site's keys stand, suspects and healthy figures are closed.
    void draw_call(const callout::Wish& wish);  // on this site, from its start; the bench as it stood comes back after
    void bring_call(const callout::Callout& call);  // whose site this is
    void meet_call();                               // once it is drawn: the site as it is then; again and again
    // What it is, each learner for himself: once all have said it they are judged by the notebook.
    void say(const callout::Named& named, const std::optional<callout::Named>& second = {});
    // What stands on the card before an act. In a call-out it is told from the site as it is written, or from volts
    // that somebody reads or has noted since the last act; else from the whole truth.
    Caution caution(const std::string& kind, const std::string& place) const;
    // Before somebody listens, or reads a gauge.
    std::vector<std::string> cautions_of(const std::string& gauge) const;
    void stopped(const std::string& kind, const std::string& place);  // refused in an exam: not done, and it counts
    void leave_call();                                                // the bench as it stood before
    // Every act, reading, undoing and striking out goes into the journal of these learners; again and again, it costs
    // nothing where nothing is new.
    void keep_call();
    void hear_call();                                         // the same of the accounts, once they are there
    std::optional<callout::Attempt> unfinished_call() const;  // of these learners
    std::string journals;                                     // the folder of journals; empty: none is kept
    std::vector<std::string> learners;                        // who sits here: one or two names
    callout::Terms terms;                                     // of the next call-out
    std::shared_ptr<const Call::State> call() const;          // null: none
    bool sealed() const;                                      // nobody has said yet what it is
    double minutes_on_site() const;                           // as the account counts them

    // -- a lesson: the bench stands as each of its turns has it, and what would tell the answer is closed until it may
    // be known. Nothing else changes the site meanwhile; the bench from before comes back after.
    void begin_lesson(const std::string& name_or_file, const teach::PlayOptions& options);
    void answer_lesson(const std::string& said);
    void meet_lesson();  // the turn carried out, and on as soon as the leads lie right; again and again
    bool lesson_waits() const { return lies_already_; }  // the leads lie right: on when it is told to
    void leave_lesson();
    std::shared_ptr<const Teaching::State> lesson() const;  // null: none
    // On a wall: the lesson somebody else is at, answered as it was answered there. True: it has come as far. A hand on
    // this bench answers nothing then.
    bool follow_lesson(const std::string& file, std::uint64_t seed, const std::vector<std::string>& said);
    bool leads_locked() const;  // figure and reason come first
    bool reasons_closed() const;
    std::string learner;   // the file that keeps what was learnt; empty: nothing is kept
    Writing writing;       // a lesson of one's own; what is noted becomes its steps
    void record_lesson();  // begins one on this site
    bool save_lesson();
    // From the step that is edited, or from its beginning.
    void try_lesson(bool from_step);

    std::optional<WallState> wall;  // what it is told; none: there is none

    // -- session: everything above as text (TOML), to save and restore
    std::string session() const;
    std::string standing() const;  // the same of the bench as it stands, in a lesson that of its turn
    // All or nothing; false: error says why in one line. The session must be of the same scenario file.
    bool restore(const std::string& text, std::string& error);
    // Which scenario a session is of, to open that first; empty when the text is no session.
    static std::string scenario_of(const std::string& text);

  private:
    bool refuses_sealed();
    bool refuses_locked();
    void stand(const teach::Turn& turn);
    void keep_progress(const Teaching::State& s) const;
    void keep_lesson(const Teaching::State& s) const;
    void set_up_for(const teach::Look& look);
    bool can_be_laid(const teach::Look& look) const;
    void carry_out(const std::string& kind, const std::string& place);
    // Why a lead cannot lie there; empty: it can.
    std::string why_not(const std::string& point, bool clamp) const;
    std::string why_not(const bench::Probes& probes) const;
    void touch(const Touch& to, std::function<void()> lay);
    void carry_out(const Question& asked);
    void count(const Touch& touch, bool stopped);
    // What is refused and cautioned of a touch that was none before.
    std::vector<bench::Hazard> hazards_of(const bench::Scene& scene, const Touch& to) const;
    std::vector<bench::Hazard> told_of(std::vector<bench::Hazard> list, const bench::Scene& scene) const;
    void walk_edits_by(std::vector<Standing>& from, std::vector<Standing>& to);

    struct Impl;
    std::unique_ptr<Impl> impl_;
    Suspecting suspecting_;
    Days days_;
    std::shared_ptr<const day::Weather> weather_;
    std::shared_ptr<const DayView> day_instead_;
    mutable std::shared_ptr<const DayView> day_all_, day_without_faults_;  // the latter made of the former
    std::unique_ptr<Teaching> lesson_;
    std::size_t lesson_met_ = 0;                         // its turn that is carried out
    bool lies_already_ = false;                          // as the turn came the leads lay where it wants them
    bool follows_ = false;                               // answers come from elsewhere
    std::string stood_;                                  // the state of the site that the bench was put in
    std::pair<std::string, std::string> before_lesson_;  // scenario's file, session
    void begin_call();
    bench::Scene written() const;  // of a call-out's site, with nothing wrong
    Known known() const;           // by which is told what must not be done now
    void keep(const callout::Deed& deed);
    void take_up(const callout::Attempt& attempt);
    std::string journal_file() const;
    std::shared_ptr<Call> call_;
    struct Kept;
    std::shared_ptr<Kept> kept_;  // what the journal holds of this call-out
    bool met_ = false;            // the site stands as the call-out has it
    std::string before_call_;     // the session to come back to
    bool threaded_ = true;
    std::size_t heard_ = 0;  // of Snapshot::told
};

}  // namespace sunshaft::view
