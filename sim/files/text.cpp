#include "files/text.hpp"

#include <cstdint>

namespace sunshaft::files {
namespace {

struct Letter {
    std::uint32_t code;
    std::size_t bytes;
    bool utf8;
};

// The letter at the start of the text; a byte that begins none is one of Latin-1.
Letter first_letter(std::string_view s) {
    const auto byte = [&](std::size_t n) { return static_cast<unsigned char>(s[n]); };
    const unsigned char lead = byte(0);
    const std::size_t length = lead < 0x80                   ? 1
                               : lead >= 0xC2 && lead < 0xE0 ? 2
                               : lead >= 0xE0 && lead < 0xF0 ? 3
                               : lead >= 0xF0 && lead < 0xF5 ? 4
                                                             : 0;
    if (length == 1) return {lead, 1, true};
    if (length == 0 || length > s.size()) return {lead, 1, false};
    std::uint32_t code = lead & (0xFFu >> (length + 1));
    for (std::size_t n = 1; n < length; ++n) {
        if ((byte(n) & 0xC0) != 0x80) return {lead, 1, false};
        code = code << 6 | (byte(n) & 0x3F);
    }
    constexpr std::uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000};
    if (code < least[length] || code > 0x10FFFF || (code >= 0xD800 && code < 0xE000)) return {lead, 1, false};
    return {code, length, true};
}

bool steers(std::uint32_t c) {
    return c < 0x20 || (c >= 0x7F && c < 0xA0) || c == 0x61C || c == 0x200E || c == 0x200F ||
           (c >= 0x2028 && c <= 0x202E) || (c >= 0x2066 && c <= 0x2069) || c == 0xFEFF;
}

}  // namespace

std::string plain_text(std::string_view text) {
    std::string out;
    out.reserve(text.size());
    while (!text.empty()) {
        const Letter letter = first_letter(text);
        if (steers(letter.code)) {
            out += ' ';
        } else if (letter.utf8) {
            out += text.substr(0, letter.bytes);
        } else {
            out += static_cast<char>(0xC0 | letter.code >> 6);
            out += static_cast<char>(0x80 | (letter.code & 0x3F));
        }
        text.remove_prefix(letter.bytes);
    }
    return out;
}

bool is_plain(std::string_view text) { return plain_text(text) == text; }

std::string one_line(std::string_view text, std::size_t longest) {
    const bool cut = text.size() > longest;
    std::string out = plain_text(text.substr(0, longest + 4));  // a letter more, so that none is cut in two
    if (!cut && out.size() <= longest) return out;
    std::size_t end = std::min(longest, out.size());
    while (end > 0 && end < out.size() && (static_cast<unsigned char>(out[end]) & 0xC0) == 0x80) --end;
    return out.substr(0, end) + "...";
}

}  // namespace sunshaft::files
