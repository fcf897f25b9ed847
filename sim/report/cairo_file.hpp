// How Cairo writes into a file of ours.
#pragma once

#include <cairo.h>

#include <exception>

#include "files/fresh_file.hpp"

namespace sunshaft::report {

// `file` is a files::FreshFile. Cairo is C and carries no exceptions: the status says that writing failed.
inline cairo_status_t put(void* file, const unsigned char* data, unsigned int size) {
    try {
        static_cast<files::FreshFile*>(file)->write({reinterpret_cast<const char*>(data), size});
    } catch (const std::exception&) {
        return CAIRO_STATUS_WRITE_ERROR;
    }
    return CAIRO_STATUS_SUCCESS;
}

}  // namespace sunshaft::report
