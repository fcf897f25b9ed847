#include "shell/loudspeaker.hpp"

#include <SFML/Audio/Sound.hpp>
#include <SFML/Audio/SoundBuffer.hpp>
#include <SFML/System/Err.hpp>

#include <algorithm>
#include <cmath>
#include <streambuf>

namespace sunshaft::shell {

namespace {

// A machine without sound is told of in the window, not line by line on standard error.
struct Quiet {
    std::streambuf* before = sf::err().rdbuf(nullptr);
    ~Quiet() { sf::err().rdbuf(before); }
};

}  // namespace

struct Loudspeaker::Output {
    sf::SoundBuffer buffer;
    sf::Sound sound;
};

Loudspeaker::Loudspeaker() = default;
Loudspeaker::~Loudspeaker() {
    const Quiet quiet;
    output_.reset();
}

void Loudspeaker::play(const std::shared_ptr<const std::vector<float>>& samples, int rate_Hz, double volume) {
    if (!samples) {
        if (output_) output_->sound.stop();
        samples_.reset();
        return;
    }
    const Quiet quiet;
    if (!output_) output_ = std::make_unique<Output>();
    output_->sound.setVolume(static_cast<float>(100.0 * std::clamp(volume, 0.0, 1.0)));
    if (samples == samples_) return;
    samples_ = samples;
    std::vector<sf::Int16> whole(samples->size());
    for (std::size_t n = 0; n < whole.size(); ++n)
        whole[n] = static_cast<sf::Int16>(std::lround(32767.0f * std::clamp((*samples)[n], -1.0f, 1.0f)));
    output_->sound.stop();
    if (!output_->buffer.loadFromSamples(whole.data(), whole.size(), 1, static_cast<unsigned>(rate_Hz))) return;
    output_->sound.setBuffer(output_->buffer);
    output_->sound.setLoop(true);
    output_->sound.play();
}

bool Loudspeaker::dumb() const {
    const Quiet quiet;
    return samples_ && output_->sound.getStatus() != sf::Sound::Playing;
}

}  // namespace sunshaft::shell
