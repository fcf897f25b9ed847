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

// Runs on for some seconds: means over them, and of the speed.
template <class Machine>
std::pair<Turn, double> Side<Machine>::means(Plant& plant, State& s, double seconds) {
    plant.open_account(s);
    const double from = s.t;
    const Means m = plant.average(s, seconds);
    Turn out{};
    fill(out, s.energy, s.t - from, 0.0);
    out[torque_Nm] = m.torque;
    for (std::size_t k = 0; k < 3; ++k) {
        out[square_u + k] = m.current_rms[k] * m.current_rms[k];
        // As of a block of 120 degrees: its height.
        out[peak_square] = std::max(out[peak_square], 1.5 * out[square_u + k]);
    }
    return {out, m.speed};
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
    if constexpr (!slips)
        if (alike_ && six_step(d.modulation)) return one_part(field_Hz, speed);
    State s = plant_->start();
    s.slow.held = true;
    if constexpr (slips) return slipping(s, field_Hz, speed);
    else return led(s, field_Hz);
}

template <class Machine>
Turn Side<Machine>::slipping(State& s, double field_Hz, double speed) {
    // A rotor's flux takes its time, and a broken cage beats with twice the slip.
    const double standing = std::abs(field_Hz - std::abs(speed) * machine_.pole_pairs / (2 * pi)),
                 wait = 4 * (machine_.Lm + machine_.Llr) / machine_.Rr,
                 seconds = std::max(2 / field_Hz, 0.5 / std::max(standing, 0.5));
    plant_->advance(s, wait);
    auto [out, turned] = means(*plant_, s, seconds);
    if (machine_.cage_asymmetry == 0.0) return out;
    // The torque of a broken cage beats with twice the slip, and the shaft swings with it as far as its inertia and its
    // load let it. That moves the currents: it is let go of, on a load that asks for the mean torque at this speed and
    // grows as the pump's does.
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
        State swinging = s;
        swings.adopt(swinging);
        swings.advance(swinging, swinging.t + wait);
        const auto [swung, mean_speed] = means(swings, swinging, seconds);
        const double slipped = (synchronous - mean_speed) / slip;
        if (!(slipped > 0.5 && slipped < 2.0)) break;  // it does not bear that load
        out = swung, s = swinging;
        if (std::abs(slipped - 1.0) < 0.005) break;
        load /= slipped;
    }
    return out;
}

// A drive takes some milliseconds before it switches.
template <class Machine>
const State& Side<Machine>::running() {
    if (runs_) return *runs_;
    runs_ = plant_->start();
    runs_->slow.held = true;
    for (int n = 0; n < 100 && !runs_->command.running; ++n) plant_->advance(*runs_, runs_->t + 1e-3);
    plant_->advance(*runs_, runs_->window.end);
    return *runs_;
}

inline motor::Vec2 turned(const motor::Vec2& i, double angle) {
    const double c = std::cos(angle), s = std::sin(angle);
    return {c * i[0] - s * i[1], s * i[0] + c * i[1]};
}

// Six steps on lines alike. Each sixth of a turn begins with a new pulse, and the upper switch alone is chopped: every
// third of a turn is like the one before, turned on by 120 degrees, once the currents of its beginning have found their
// values. A little of a guess is left after it, and what the next leaves of that tells where it ends (A. C. Aitken,
// Proc. Roy. Soc. Edinburgh 46 (1926) 289). The last pulse of a sixth is cut off, by a share that comes and goes with
// the speed: taken is a half.
template <class Machine>
Turn Side<Machine>::one_part(double field_Hz, double speed) {
    drive::DriveSettings& d = electric_->works.drive;
    State s = running();
    d.carrier = site_->works.drive.carrier;
    const double sixth_s = 1 / (6 * field_Hz), pulses = std::floor(d.carrier * sixth_s), fades = fades_s(),
                 lead_s = 6 * fades;
    if (pulses >= 1.0) d.carrier = (pulses + 0.5) / sixth_s;
    // With many pulses sixths are alike, too.
    const int sixths = pulses > 80.0 && lead_s < sixth_s ? 1 : 2;
    const double part_s = sixths * sixth_s;
    double lead = part_s;
    if (lead_s < part_s) {  // the pulse at its end is cut off by a half, too
        const double whole = sixth_s * std::floor(lead_s / sixth_s);
        lead = whole + (std::floor((lead_s - whole) * d.carrier) + 0.5) / d.carrier;
    }
    // Where the gates change (drive/modulator.cpp), as the rotor's angle.
    const double edge =
        (d.modulation == drive::Modulation::six_step_180 ? 0.0 : pi / 6) - sense_ * d.commutation_offset;
    // The currents, turned back by so many parts.
    const double step = sense_ * sixths * pi / 3;
    const auto put = [&](const motor::Vec2& i, int n) {
        const motor::Vec2 now = turned(i, n * step);
        s.x[i_alpha] = now[0], s.x[i_beta] = now[1];
    };
    const auto size = [](const motor::Vec2& x) { return std::hypot(x[0], x[1]); };
    s.x[v_cap] = electric_->source.stiff_V;
    s.x[plant::speed] = speed;
    s.x[theta] = edge - speed * machine_.pole_pairs * lead;
    motor::Vec2 i = begins_with_, change{};
    put(i, -1);
    const double leaves = std::exp(-part_s / fades);  // a part, of what was amiss
    double until = s.t + lead;
    bool onward = false;  // moved by what was foreseen
    for (int n = 0; n < 24; ++n, until += part_s) {
        plant_->open_account(s);
        plant_->advance(s, until);
        const motor::Vec2 from = std::exchange(i, turned({s.x[i_alpha], s.x[i_beta]}, -n * step)), before = change;
        change = {i[0] - from[0], i[1] - from[1]};
        if (lead < part_s || leaves * size(change) < 5e-4 * size(i) + 1e-6 * nominal_V_) break;
        const double left = (change[0] * before[0] + change[1] * before[1]) / std::pow(size(before), 2);
        if (std::exchange(onward, !onward && left > 0.0 && left < 0.9) || !onward) continue;
        i = {i[0] + left / (1.0 - left) * change[0], i[1] + left / (1.0 - left) * change[1]};
        put(i, n);
    }
    begins_with_ = i;
    // A part that ended as it began, as all do where the current dies away within a pulse, is the one asked for.
    if (lead < part_s || size(change) > 1e-9 * size(i)) {
        plant_->open_account(s);
        plant_->advance(s, s.t + part_s);
    }
    const Energies& e = s.energy;
    Turn out{};
    fill(out, e, part_s, 0.0);
    out[torque_Nm] = e[in_bearing] / (speed * part_s);  // what holds the shaft
    for (std::size_t k = 0; k < 3; ++k) out[square_u + k] = (line_square(e, k) + e[square_beside_u + k]) / part_s;
    spread_evenly(out);
    out[peak_square] = 1.5 * out[square_u];
    return out;
}

// Of a motor that leads, otherwise: the currents have found their way within some of its electrical time constants.
// From one turn to the next the pulses shift, and with few of them that tells: the means are over shifts evenly spread,
// for which the carrier moves by a third of a pulse in a sixth of a turn at most.
template <class Machine>
Turn Side<Machine>::led(State& s, double field_Hz) {
    drive::DriveSettings& d = electric_->works.drive;
    d.carrier = site_->works.drive.carrier;
    const double sixth_s = 1 / (6 * field_Hz), pulses = d.carrier * sixth_s, fades = fades_s();
    const int sixths = !alike_ ? 6 : pulses > 40.0 ? 1 : 3;
    const long about = std::lround(pulses * sixths);
    for (const long whole : {about, about + 1, about - 1, about + 2, about - 2})
        if (sixths > 1 && whole > 0 && std::gcd(whole, static_cast<long>(sixths)) == 1) {
            d.carrier = static_cast<double>(whole) * 6 * field_Hz / sixths;
            break;
        }
    plant_->advance(s, std::max(6 * fades, alike_ ? std::min(1.5 * sixth_s, 12 * fades) : 3 * sixth_s));
    Turn out = means(*plant_, s, sixths * sixth_s).first;
    if (alike_) spread_evenly(out);
    return out;
}

}  // namespace sunshaft::day::sides
