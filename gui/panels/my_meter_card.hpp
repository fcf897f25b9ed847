#pragma once
// One's own meter, from waves out of this machine's headphone socket: cautions first, then a play button and a field a
// wave, then what kind of meter it is.
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "shell/loudspeaker.hpp"
#include "shell/panel.hpp"
#include "teach/own_meter.hpp"

namespace sunshaft::panels {

class MyMeterCard {
  public:
    bool on() const { return on_; }
    void begin() { on_ = true; }
    void leave();
    void draw(shell::PanelContext& x, shell::Box box);

  private:
    void cautions(shell::PanelContext& x, const shell::Box& box);
    double wave(shell::PanelContext& x, shell::Box row, const teach::Tone& tone);
    void found(shell::PanelContext& x, const shell::Box& box);
    void fit();
    void keep();

    bool on_ = false, warned_ = false;
    double counts_ = 2000.0;
    std::string playing_;  // a wave's name; empty: silence
    shell::Loudspeaker speaker_;
    std::map<std::string, std::shared_ptr<const std::vector<float>>> loops_;
    std::map<std::string, std::string> seen_;  // by wave, as typed
    std::optional<teach::OwnMeter> own_;
    std::string trouble_, kept_;
};

}  // namespace sunshaft::panels
