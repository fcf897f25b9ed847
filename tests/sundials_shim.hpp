// The one place that knows SUNDIALS version 6 (Debian 12) from version 7 (Debian 13).
#pragma once

#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>

#include <array>
#include <stdexcept>

namespace sunshaft::test {

inline SUNContext sundials_context() {
    SUNContext context = nullptr;
#if SUNDIALS_VERSION_MAJOR >= 7
    SUNContext_Create(SUN_COMM_NULL, &context);
#else
    SUNContext_Create(nullptr, &context);
#endif
    return context;
}

// CVODE, backward differences with a dense Jacobian by difference quotients, on a right-hand side with Odeint's
// signature.
template <class State, class System>
class Cvode {
  public:
    Cvode(const System& system, double relative, const State& absolute)
        : system_(system), context_(sundials_context()) {
        constexpr auto size = static_cast<sunindextype>(std::tuple_size_v<State>);
        y_ = N_VNew_Serial(size, context_);
        atol_ = N_VNew_Serial(size, context_);
        copy(absolute, atol_);
        memory_ = CVodeCreate(CV_BDF, context_);
        if (CVodeInit(memory_, &Cvode::call, 0.0, y_) < 0) throw std::runtime_error("CVodeInit");
        CVodeSVtolerances(memory_, relative, atol_);
        CVodeSetUserData(memory_, this);
        CVodeSetMaxNumSteps(memory_, 100000000);
        matrix_ = SUNDenseMatrix(size, size, context_);
        solver_ = SUNLinSol_Dense(y_, matrix_, context_);
        if (CVodeSetLinearSolver(memory_, solver_, matrix_) < 0) throw std::runtime_error("CVodeSetLinearSolver");
    }
    ~Cvode() {
        CVodeFree(&memory_);
        SUNLinSolFree(solver_);
        SUNMatDestroy(matrix_);
        N_VDestroy(y_);
        N_VDestroy(atol_);
        SUNContext_Free(&context_);
    }
    Cvode(const Cvode&) = delete;

    void restart(double t, const State& x, double stop) {
        copy(x, y_);
        CVodeReInit(memory_, t, y_);
        CVodeSetStopTime(memory_, stop);
    }
    // One internal step, at most to the stop time; returns the time reached.
    double step(double stop, State& x) {
        double t = 0.0;
        if (CVode(memory_, stop, y_, &t, CV_ONE_STEP) < 0) throw std::runtime_error("CVode");
        copy(y_, x);
        return t;
    }
    // Dense output inside the last step.
    void at(double t, State& x) {
        CVodeGetDky(memory_, t, 0, y_);
        copy(y_, x);
    }

  private:
    static int call(double t, N_Vector y, N_Vector d, void* self) {
        State x, rate;
        copy(y, x);
        static_cast<Cvode*>(self)->system_(x, rate, t);
        copy(rate, d);
        return 0;
    }
    static void copy(const State& x, N_Vector v) {
        double* to = N_VGetArrayPointer(v);
        for (std::size_t n = 0; n < x.size(); ++n) to[n] = x[n];
    }
    static void copy(N_Vector v, State& x) {
        const double* from = N_VGetArrayPointer(v);
        for (std::size_t n = 0; n < x.size(); ++n) x[n] = from[n];
    }
    const System& system_;
    SUNContext context_;
    N_Vector y_, atol_;
    SUNMatrix matrix_;
    SUNLinearSolver solver_;
    void* memory_;
};

}  // namespace sunshaft::test
