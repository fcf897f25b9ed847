// Implementation of side.hpp: one turn of the field, averaged and switched.
#pragma once

namespace sunshaft::day::sides {

template <class Machine>
Turn Side<Machine>::steady(double field_Hz, double volts, double speed) {
    if (!(volts > 0.0)) return {};
    const drive::DriveSettings& d = site_->works.drive;
    const bool pwm = !six_step(d.modulation);  // a smooth mean
    const bool modulated = pwm && d.modulation != drive::Modulation::ideal_sine;
    // Where the phases are alike the next sixth of a turn is like this one, by 60 degrees on.
    const int whole = pwm ? 48 : 72;
    const bool sixth = alike_ && row_of(*compiled_, pattern(0)).free == 2;
    const int steps = sixth ? whole / 6 : whole;
    double link = volts, amplitude = 1.0;
    if (pwm || split_) {  // what dead times, drops and shorts take depends on the link itself
        const double reach = pwm ? drive::linear_limit(d.modulation) : 1.0;
        link = std::max(nominal_V_, volts / reach);
        amplitude = volts / link;
    }
    electric_->source.stiff_V = link;
    const double h = 1.0 / (field_Hz * whole), angle = 2 * pi / whole;
    // A held sample takes sin(x)/x of the fundamental.
    const double held_sample = pwm ? angle / std::sin(angle) : 1.0;
    auto& rows = rows_;
    std::array<Vector, 72> drives;
    std::array<motor::Vec3, 72> leg_i{};
    std::array<Vector, 73> x;
    double psi0 = flux_scale(field_Hz, volts);
    const bool dead =
        modulated && (d.dead_time > 0.0 || d.dead_time_extra[0] + d.dead_time_extra[1] + d.dead_time_extra[2] > 0.0);
    bool saturates = false;
    if constexpr (slips) saturates = machine_.saturation != 1.0;
    const int rounds = 1 + (dead ? 2 : 0) + (saturates ? 4 : 0);
    for (int round = 0; round < rounds; ++round) {
        Matrix A, E, F;
        for (int k = 0; k < steps; ++k) {
            const auto n = static_cast<std::size_t>(k);
            if (round > 0 && !dead) break;
            // Two steps share a row.
            rows[n] = k % 2 ? rows[n - 1] : mean_row(*compiled_, angle * (k + 1), amplitude * held_sample, leg_i[n]);
        }
        for (int k = 0; k < steps; ++k) {
            const auto n = static_cast<std::size_t>(k);
            chain_.row = &rows[n];
            drives[n] = rate(Vector::Zero(), speed);
        }
        chain_.row = &rows[0];
        for (int j = 0; j < size; ++j) {
            Vector e = Vector::Zero();
            const double scale = flux > 0 && j >= 2 && j < 2 + flux ? psi0 : 1.0;
            e[j] = scale;
            A.col(j) = (rate(e, speed) - drives[0]) / scale;
        }
        exponential(A, h, E, F);
        Matrix over = Matrix::Identity();
        Vector sum = Vector::Zero();
        for (int k = 0; k < steps; ++k) sum = (E * sum + F * drives[static_cast<std::size_t>(k)]).eval();
        Matrix square = E;
        for (int n = steps; n > 0; n >>= 1) {
            if (n & 1) over = (over * square).eval();
            square = (square * square).eval();
        }
        Matrix allowed = Matrix::Identity();
        if (sixth) allowed = turned_back();
        if (const ModeRow& r = rows[0]; r.free < 2) {
            const double one = r.free;
            allowed(0, 0) = one * r.dir[0] * r.dir[0], allowed(1, 1) = one * r.dir[1] * r.dir[1];
            allowed(0, 1) = allowed(1, 0) = one * r.dir[0] * r.dir[1];
        }
        x[0] = (Matrix::Identity() - allowed * over).partialPivLu().solve(allowed * sum);
        double psi = 0.0;
        for (std::size_t k = 0; k < static_cast<std::size_t>(steps); ++k) {
            x[k + 1] = E * x[k] + F * drives[k];
            if constexpr (flux > 0) psi += (x[k][2] * x[k][2] + x[k][3] * x[k][3]) / steps;
        }
        if (dead)
            for (std::size_t k = 0; k < static_cast<std::size_t>(steps); ++k) {
                chain_.row = &rows[k];
                leg_i[k] = chain_.leg_currents(chain_.point(0.0, spread(0.5 * (x[k] + x[k + 1]), speed)));
            }
        if (saturates) psi0 = std::sqrt(std::max(psi, 1e-12));
    }
    // Simpson's rule over two steps, between whose edges all is smooth.
    Turn out{};
    Energies e{};
    double peak = 0.0;
    const auto look = [&](std::size_t row, std::size_t at, double weight) {
        chain_.row = &rows[row];
        const Point from = chain_.point(0.0, spread(x[at], speed));
        Point to = from;
        to.t = weight * h;
        chain_.account(from, to, e);
        out[torque_Nm] += weight * chain_.torque(from.x) / steps;
        const motor::Vec3 i = chain_.leg_currents(from);
        for (std::size_t n = 0; n < 3; ++n) {
            out[square_u + n] += weight * i[n] * i[n] / steps;
            peak = std::max(peak, i[n] * i[n]);
        }
    };
    for (std::size_t k = 0; k < static_cast<std::size_t>(steps); k += 2)
        look(k, k, 1.0 / 3), look(k, k + 1, 4.0 / 3), look(k + 1, k + 2, 1.0 / 3);
    if (split_) {  // while the pulse lasts a short carries far more than its mean
        for (int upper = 1; upper < 7; ++upper) {
            chain_.row = &row_of(*compiled_, pattern(upper));
            for (const double i : chain_.leg_currents(chain_.point(0.0, spread(x[0], speed))))
                peak = std::max(peak, i * i);
        }
    }
    fill(out, e, h * steps, peak);
    if (sixth) spread_evenly(out);
    return out;
}

template <class Machine>
Turn Side<Machine>::live(double field_Hz, double volts, double speed) {
    drive::DriveSettings& d = electric_->works.drive;
    d.frequency = field_Hz;
    const bool chops = d.modulation != drive::Modulation::six_step_180;
    const double link = chops ? std::max(volts, nominal_V_) : volts;
    d.duty = d.index = volts / link;
    electric_->source.stiff_V = link;
    electric_->works.shaft.held_speed = speed;
    if (!plant_) plant_ = std::make_unique<Plant>(electric_);
    State s = plant_->start();
    s.slow.held = true;
    // A rotor's flux takes its time, and a broken cage beats with twice the slip; the currents of a magnet motor
    // have found their way within some of its electrical time constants.
    double wait = 0.0, mean = 1 / field_Hz;
    if constexpr (slips) {
        const double slip = std::abs(field_Hz - std::abs(speed) * machine_.pole_pairs / (2 * pi));
        wait = 4 * (machine_.Lm + machine_.Llr) / machine_.Rr;
        mean = std::max(2 * mean, 0.5 / std::max(slip, 0.5));
    } else {
        const motor::Sym2 L = compiled_->equations.inductance(0.0);
        const double ohm = std::max(-row_of(*compiled_, pattern(1)).maa, 1e-3);
        // Every sixth of a turn is like the one before, where the phases are alike, but for where the pulses lie in it:
        // from one to the next they shift, and with few of them that tells. The means are over shifts evenly spread,
        // for which the carrier moves by a third of a pulse in a sixth of a turn at most. At a frequency that holds
        // them in one place the live run does not stay.
        d.carrier = site_->works.drive.carrier;
        const double pulses = d.carrier / (6 * field_Hz);
        const int sixths = !alike_ ? 6 : pulses > 40.0 ? 1 : 3;
        const long about = std::lround(pulses * sixths);
        for (const long whole : {about, about + 1, about - 1, about + 2, about - 2})
            if (sixths > 1 && whole > 0 && std::gcd(whole, static_cast<long>(sixths)) == 1) {
                d.carrier = static_cast<double>(whole) * 6 * field_Hz / sixths;
                break;
            }
        mean *= sixths / 6.0;
        const double fades_s = std::max(L.aa, L.bb) / ohm, sixth_s = 1 / (6 * field_Hz);
        wait = std::max(6 * fades_s, alike_ ? std::min(1.5 * sixth_s, 12 * fades_s) : 3 * sixth_s);
    }
    plant_->advance(s, wait);
    Turn out{};
    motor::Vec3 square{};
    double turned = speed;
    const auto take = [&](Plant& plant) {
        plant.open_account(s);
        const double from = s.t;
        const Means m = plant.average(s, mean);
        out = {};
        fill(out, s.energy, s.t - from, 0.0);
        out[torque_Nm] = m.torque;
        turned = m.speed;
        for (std::size_t k = 0; k < 3; ++k) square[k] = m.current_rms[k] * m.current_rms[k];
    };
    take(*plant_);
    if constexpr (slips)
        if (machine_.cage_asymmetry != 0.0) {
            // The torque of a broken cage beats with twice the slip, and the shaft swings with it as far as its
            // inertia and its load let it. That moves the currents: it is let go of, on a load that asks for the
            // mean torque at this speed and grows as the pump's does.
            const double synchronous = sense_ * 2 * pi * field_Hz / machine_.pole_pairs, slip = synchronous - speed;
            const bool drives = out[torque_Nm] * speed > 0.0 && slip * speed > 0.0 &&
                                std::abs(slip) * machine_.pole_pairs / (2 * pi) < 0.7 * pull_out_;
            const bool fan = water_->pump == 1;
            double load = std::abs(out[torque_Nm]);
            for (int n = 0; drives && n < 2; ++n) {
                auto free = std::make_shared<site::Site>(*electric_);
                site::Shaft& shaft = free->works.shaft;
                shaft.held_speed = not_given;
                shaft.viscous = shaft.dry_friction = shaft.breakaway = shaft.load_torque = shaft.fan = 0.0;
                (fan ? shaft.fan : shaft.load_torque) = load / (fan ? speed * speed : 1.0);
                Plant swings(free);
                const Turn held_still = out;
                const motor::Vec3 square_still = square;
                State before = s;
                swings.adopt(s);
                swings.advance(s, s.t + wait);
                take(swings);
                const double slipped = (synchronous - turned) / slip;
                if (!(slipped > 0.5 && slipped < 2.0)) {  // it does not bear that load
                    out = held_still, square = square_still, s = before;
                    break;
                }
                if (std::abs(slipped - 1.0) < 0.005) break;
                load /= slipped;
            }
        }
    for (std::size_t k = 0; k < 3; ++k) out[square_u + k] = square[k];
    if (!slips && alike_) spread_evenly(out);
    // As of a block of 120 degrees: its height.
    for (std::size_t k = 0; k < 3; ++k) out[peak_square] = std::max(out[peak_square], 1.5 * out[square_u + k]);
    return out;
}

}  // namespace sunshaft::day::sides
