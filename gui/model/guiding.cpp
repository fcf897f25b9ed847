#include "model/guiding.hpp"

#include <exception>
#include <utility>

namespace sunshaft::view {

Guiding::Guiding(const teach::CaseRow& row, teach::Level level, std::uint64_t seed)
    : row_(row), level_(level), seed_(seed) {
    thread_ = std::thread([this] {
        std::unique_ptr<const teach::CaseTable> table;
        std::string trouble;
        try {
            table = std::make_unique<const teach::CaseTable>(row_);
        } catch (const std::exception& e) {
            trouble = e.what();
        }
        const std::lock_guard hold(mutex_);
        table_ = std::move(table);
        trouble_ = std::move(trouble);
    });
}

Guiding::~Guiding() { wait(); }

void Guiding::wait() {
    if (thread_.joinable()) thread_.join();
}

std::string Guiding::trouble() const {
    const std::lock_guard hold(mutex_);
    return trouble_;
}

teach::Guided* Guiding::game() {
    const std::lock_guard hold(mutex_);
    if (!table_) return nullptr;
    if (!game_) game_.emplace(*table_, level_, seed_);
    return &*game_;
}

}  // namespace sunshaft::view
