// Engine: a bench, its healthy twin and the instruments on it, carried forward in chunks. No thread, no clock:
// the same calls give the same snapshots.
#pragma once

#include <deque>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "bench/observe.hpp"
#include "model/figures.hpp"
#include "model/history.hpp"
#include "model/memories.hpp"
#include "model/past.hpp"
#include "model/setup.hpp"
#include "model/snapshot.hpp"
#include "site/keys.hpp"

namespace sunshaft::view {

class Twin;

class Engine {
  public:
    // start: the bench as it stands when work begins, its edits those of the setup; null: at its own start.
    Engine(const Scenario& scenario, const Setup& setup, const bench::Bench* start = nullptr);
    ~Engine();

    // Carries out what differs from before. Throws site::BadInput for edits the bench refuses: then those stay
    // as they were, all else is carried out.
    void take(const Setup& setup);
    const Setup& setup() const { return setup_; }
    double time() const { return bench_.time(); }
    bool failed() const { return !failure_.empty(); }
    std::size_t history_rows() const { return history_.rows(); }  // what is held in full

    // Simulates, records, updates the meters when they are due. A solver that gives up is told in the snapshot.
    void advance(double seconds);
    void step();
    // The healthy twin has still something to do; carries it forward by some simulated seconds.
    bool twin_busy() const;
    void advance_twin(double seconds);

    // Spectra are renewed about three times a second, in one snapshot not more than `most_spectra` of them.
    std::shared_ptr<Snapshot> snapshot(std::size_t most_spectra = 100);

  private:
    struct Face {
        std::string stem;
        std::shared_ptr<const meter::Spec> spec;  // with its changes
        std::shared_ptr<const meter::Reading> reading, expected;
        std::string note;
        double next_update = 0.0;
        std::optional<Memory> memory = {};
    };
    struct Account {
        double t;
        plant::Energies energy;
    };

    double acts_t_ = 0.0;  // s: when the acts last changed

    std::optional<site::BadInput> take_edits(const bench::Edits& wanted);
    bool take_meters(const Setup& before);
    void walk(std::optional<double> to);
    void replay(const bench::Bench& from, double to);
    bench::Grip held(const Face& face, meter::Mode mode);
    void chunk(double seconds);
    void after_chunk(std::size_t first_new_row);
    void site_changed();
    void choose_signals();
    void connect();
    double load_ohm();
    void prime();
    void choose(Face& face, const std::string& stem) const;
    void update_faces();
    void listen();
    void look_at_heat();
    void update(Face& face, meter::Mode mode);
    bool off(const Face& face) const;
    bench::Observation look_of(const Face& face, meter::Mode mode) const;
    void expect(Face& face, const bench::Observation& what) const;
    void say(Event event);
    double next_change() const;
    plant::Energies mean_power(double from) const;
    void analyse(double fundamental_Hz, double from, double to, std::size_t most_spectra);
    std::vector<std::pair<std::string, double>> potentials();
    void fill_faces(Snapshot& s) const;
    void fill_healthy(Snapshot& s) const;
    void fill_analyses(Snapshot& s, bool twin_spectra) const;
    void fill_waves(Snapshot& s) const;
    trace::Trace ringing(const std::string& name, const trace::Trace& wave) const;

    Scenario scenario_;
    Setup setup_;
    bench::Bench bench_;
    std::shared_ptr<const site::Site> site_;
    std::shared_ptr<const site::Site> plain_site_;  // null: no fault stands
    History history_;
    std::map<std::string, ScopeTrack> tracks_;
    std::deque<Account> accounts_;
    Face faces_[2], clamp_;
    std::unique_ptr<Twin> twin_;
    Past past_;
    std::optional<bench::Bench> present_;  // while an earlier instant is looked at
    struct Due {
        Spectrum spectrum;
        double due = 0.0;
    };
    std::vector<Due> spectra_;
    double phasors_due_ = 0.0, signature_due_ = 0.0;
    static constexpr double sideband_seconds = 2.0;
    ScopeTrack stator_;  // the current of line u on this site, as long as sidebands want it
    std::optional<Signature> signature_;
    InrushWait inrush_;
    std::shared_ptr<const bench::Heard> heard_;
    std::shared_ptr<const std::vector<float>> sound_;
    double listen_due_ = 0.0;
    std::shared_ptr<const std::vector<bench::Bench::Warm>> array_warmth_;
    std::shared_ptr<const site::Site> heat_of_;
    double heat_due_ = 0.0;
    Phasors phasors_;
    SpacePaths paths_;
    Curve array_current_, array_power_;  // of the present site
    std::vector<Event> events_;
    std::vector<std::pair<std::string, std::string>> told_;
    std::shared_ptr<const site::Site> points_of_;
    std::vector<plant::Signal> points_;  // of that site
    long logged_ = 0;                    // entries of the drive's log said already
    std::string failure_;
    bool connected_ = false;  // the meters' load stands in the wiring
    std::uint64_t number_ = 0;
};

}  // namespace sunshaft::view
