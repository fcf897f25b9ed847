#pragma once
// Plays what an ear hears, over and over, until it sounds another way. Opens the machine's sound output when it is
// first asked to play, never before.
#include <memory>
#include <vector>

namespace sunshaft::shell {

class Loudspeaker {
  public:
    Loudspeaker();
    ~Loudspeaker();
    Loudspeaker(const Loudspeaker&) = delete;
    Loudspeaker& operator=(const Loudspeaker&) = delete;

    /// Of the same samples again it only takes the volume (0 to 1). Null is silence.
    void play(const std::shared_ptr<const std::vector<float>>& samples, int rate_Hz, double volume);
    /// It was asked to play and cannot: this machine has no sound output.
    bool dumb() const;

  private:
    struct Output;
    std::unique_ptr<Output> output_;
    std::shared_ptr<const std::vector<float>> samples_;
};

}  // namespace sunshaft::shell
