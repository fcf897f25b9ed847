// Waves recorded elsewhere, read from a file: CSV or COMTRADE.
//
// Whatever is wrong throws site::BadInput in one line: file:line:column (COMTRADE's binary data: file: sample),
// what was found, what was expected. Names and units come out as plain text (files/text.hpp), figures finite
// and up to 1e30.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "trace/trace.hpp"

namespace sunshaft::report {

struct Measured {
    trace::Recording recording;      // straight lines between samples; a value that is missing in the file is NaN
    std::vector<std::string> units;  // "V", "A" ...; empty where the file does not say
};

// By the ending: .csv, .txt or .cfg.
Measured read_measured(const std::string& path);

// First column time in seconds, rising; the same time twice is a jump (as `sunshaft run` writes). Fields part
// at a comma, a semicolon or a tab; with a semicolon or a tab a decimal comma is understood. The first line
// with as many fields as the figures have names the columns; other lines before the figures (an instrument's
// preamble, up to 64) are passed over.
Measured read_csv(const std::string& path);
Measured parse_csv(std::string_view text, const std::string& name_for_messages);

// IEEE C37.111-1991, -1999 and -2013 (IEC 60255-24), configuration `path` with its data beside it in .dat:
// ASCII, BINARY, BINARY32, FLOAT32. Analog channels alone, as primary values; kV, mV, kA, mA become V and A.
// Layout as public readers have it; the tests check the data record that those readers' own tests hold. The data must
// be what the configuration says: so many samples and no more, numbered one after the other, their time stamps
// not falling, and most of their values within the range stated for the channel.
Measured read_comtrade(const std::string& path);
Measured parse_comtrade(std::string_view configuration, const std::string& its_name, std::string_view data,
                        const std::string& data_name);

}  // namespace sunshaft::report
