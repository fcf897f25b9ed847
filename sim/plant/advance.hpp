// Driver::advance for each motor and for each who looks on. It is most of what there is to compile in this room: motors
// that stand at the end of this file are compiled in files of their own, advance_*.cpp, beside each other. One that
// stands nowhere yet is compiled where it is used.
#pragma once

#include "plant/driver.hpp"
#include "plant/summer.hpp"

namespace sunshaft::plant {

template <class Machine>
struct Advance {
    static void on(Driver<Machine>& driver, State& state, double until, NoSink& sink);
    static void on(Driver<Machine>& driver, State& state, double until, Recorder& sink);
    static void on(Driver<Machine>& driver, State& state, double until, Summer& sink);
};

template <class Machine>
void Advance<Machine>::on(Driver<Machine>& driver, State& state, double until, NoSink& sink) {
    driver.advance(state, until, sink);
}
template <class Machine>
void Advance<Machine>::on(Driver<Machine>& driver, State& state, double until, Recorder& sink) {
    driver.advance(state, until, sink);
}
template <class Machine>
void Advance<Machine>::on(Driver<Machine>& driver, State& state, double until, Summer& sink) {
    driver.advance(state, until, sink);
}

extern template struct Advance<motor::Induction>;
extern template struct Advance<motor::Bridged<motor::Induction>>;
extern template struct Advance<motor::DoubleCage>;
extern template struct Advance<motor::Bridged<motor::DoubleCage>>;
extern template struct Advance<motor::PermanentMagnet>;
extern template struct Advance<motor::Bridged<motor::PermanentMagnet>>;
extern template struct Advance<motor::SynchronousReluctance>;
extern template struct Advance<motor::Bridged<motor::SynchronousReluctance>>;

}  // namespace sunshaft::plant
