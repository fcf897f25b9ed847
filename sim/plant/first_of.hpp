// Odeint's algebra over the first components of an array: the others are not stepped.
#pragma once

#include <cstddef>

namespace sunshaft::plant {

template <std::size_t size>
struct FirstOf {
    template <class A, class B, class C, class Op>
    static void for_each3(A& a, B& b, C& c, Op op) {
        for (std::size_t n = 0; n < size; ++n) op(a[n], b[n], c[n]);
    }
    template <class A, class B, class C, class D, class Op>
    static void for_each4(A& a, B& b, C& c, D& d, Op op) {
        for (std::size_t n = 0; n < size; ++n) op(a[n], b[n], c[n], d[n]);
    }
    template <class A, class B, class C, class D, class E, class Op>
    static void for_each5(A& a, B& b, C& c, D& d, E& e, Op op) {
        for (std::size_t n = 0; n < size; ++n) op(a[n], b[n], c[n], d[n], e[n]);
    }
    template <class A, class B, class C, class D, class E, class F, class Op>
    static void for_each6(A& a, B& b, C& c, D& d, E& e, F& f, Op op) {
        for (std::size_t n = 0; n < size; ++n) op(a[n], b[n], c[n], d[n], e[n], f[n]);
    }
    template <class A, class B, class C, class D, class E, class F, class G, class Op>
    static void for_each7(A& a, B& b, C& c, D& d, E& e, F& f, G& g, Op op) {
        for (std::size_t n = 0; n < size; ++n) op(a[n], b[n], c[n], d[n], e[n], f[n], g[n]);
    }
    template <class A, class B, class C, class D, class E, class F, class G, class H, class Op>
    static void for_each8(A& a, B& b, C& c, D& d, E& e, F& f, G& g, H& h, Op op) {
        for (std::size_t n = 0; n < size; ++n) op(a[n], b[n], c[n], d[n], e[n], f[n], g[n], h[n]);
    }
};

}  // namespace sunshaft::plant
