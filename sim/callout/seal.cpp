#include "callout/seal.hpp"

#include <fmt/format.h>
#include <sodium.h>

#include <toml++/toml.h>
#include <algorithm>
#include <array>
#include <filesystem>
#include <sstream>

#include "drive/control.hpp"
#include "files/input.hpp"
#include "site/keys.hpp"
#include "text/language.hpp"

namespace sunshaft::callout {
namespace {

constexpr const char* kind = "sunshaft call-out";
constexpr std::string_view label = "a call-out of sunshaft, first form";  // the key's source

void begin() {
    if (sodium_init() < 0) throw std::runtime_error(text::tr("the seal cannot be made: no source of random numbers"));
}

std::array<unsigned char, crypto_secretbox_KEYBYTES> key() {
    std::array<unsigned char, crypto_secretbox_KEYBYTES> k{};
    crypto_generichash(k.data(), k.size(), reinterpret_cast<const unsigned char*>(label.data()), label.size(), nullptr,
                       0);
    return k;
}

std::string base64(const std::string& bytes) {
    std::string out(sodium_base64_ENCODED_LEN(bytes.size(), sodium_base64_VARIANT_ORIGINAL), '\0');
    sodium_bin2base64(out.data(), out.size(), reinterpret_cast<const unsigned char*>(bytes.data()), bytes.size(),
                      sodium_base64_VARIANT_ORIGINAL);
    out.resize(out.find('\0'));
    return out;
}

std::optional<std::string> from_base64(const std::string& text) {
    std::string out(text.size(), '\0');
    std::size_t length = 0;
    if (sodium_base642bin(reinterpret_cast<unsigned char*>(out.data()), out.size(), text.data(), text.size(), nullptr,
                          &length, nullptr, sodium_base64_VARIANT_ORIGINAL) != 0)
        return std::nullopt;
    out.resize(length);
    return out;
}

// All plain texts are filled up to one length: how long the name of a fault is tells nothing.
std::string filled(std::string text) {
    constexpr std::size_t block = 2048;
    text.resize((text.size() / block + 1) * block, '\n');
    return text;
}

toml::table parsed(std::string_view text, const std::string& file) {
    if (const auto trouble = files::toml_trouble(text))
        throw site::BadInput(fmt::format("{}:{}:{}: {}", file, trouble->line, trouble->column, trouble->words));
    try {
        return toml::parse(text);
    } catch (const toml::parse_error& e) {
        throw site::BadInput(fmt::format("{}:{}:{}: {}", file, e.source().begin.line, e.source().begin.column,
                                         site::on_one_line(text::parser_says(e.description()), 120)));
    }
}

std::string text_of(const toml::table& t, const char* name, const std::string& file, bool needed) {
    const toml::node* node = t.get(name);
    if (!node && !needed) return "";
    if (const auto value = node ? node->value<std::string>() : std::nullopt) return *value;
    throw site::BadInput(text::say("{}:{}:{}: {}: {}, expected text", file, node ? node->source().begin.line : 1u,
                                   node ? node->source().begin.column : 1u, name,
                                   node ? text::tr("is no text") : text::tr("is missing")));
}

constexpr std::array<const char*, 3> waters{"none", "little", "usual"};

toml::table owner(const Complaint& c) {
    toml::array lit;
    for (std::size_t n = 0; const drive::Lamp& lamp : drive::lamps({}))
        if (c.signs.lamps >> n++ & 1U) lit.push_back(lamp.name);
    return toml::table{{"since", c.since},
                       {"water", waters[static_cast<std::size_t>(c.signs.water)]},
                       {"pump", c.signs.pumps},
                       {"lamps", std::move(lit)},
                       {"gives_up", c.signs.gives_up},
                       {"late", c.signs.late}};
}

// From the table `owner`, or the words under `said` as they stand.
Complaint owner_of(const toml::table& t, const std::string& file) {
    Complaint c;
    const toml::table* told = t.get_as<toml::table>("owner");
    if (!told) {
        c.own = text_of(t, "said", file, true);
        return c;
    }
    const auto wrong = [&](const char* name, const std::string& expected) {
        const toml::node* node = told->get(name);
        const toml::source_position at = (node ? node->source() : told->source()).begin;
        return site::BadInput(text::say("{}:{}:{}: owner.{}: expected {}", file, at.line, at.column, name, expected));
    };
    const auto since = (*told)["since"].value<std::int64_t>();
    if (!since || *since < 0 || *since >= complaint_days)
        throw wrong("since", text::say("0 to {}", complaint_days - 1));
    c.since = static_cast<unsigned>(*since);
    const auto water = std::ranges::find(waters, (*told)["water"].value_or(std::string_view()));
    if (water == waters.end()) throw wrong("water", "none, little, usual");
    c.signs.water = static_cast<Signs::Water>(water - waters.begin());
    c.signs.pumps = (*told)["pump"].value_or(true);
    c.signs.gives_up = (*told)["gives_up"].value_or(false);
    c.signs.late = (*told)["late"].value_or(false);
    const std::vector<drive::Lamp> lamps = drive::lamps({});
    if (const toml::array* lit = told->get_as<toml::array>("lamps"))
        for (const toml::node& name : *lit) {
            const auto lamp = std::ranges::find(lamps, name.value_or(std::string_view()), &drive::Lamp::name);
            if (lamp == lamps.end()) throw wrong("lamps", text::tr("names of lamps"));
            c.signs.lamps |= 1U << (lamp - lamps.begin());
        }
    return c;
}

}  // namespace

std::string sealed(const Callout& c) {
    begin();
    toml::table inner;
    inner.insert("fault", c.truth.fault);
    inner.insert("place", c.truth.place);
    if (c.second) inner.insert("second", toml::array{c.second->fault, c.second->place});
    toml::array faults;
    for (const site::Fault& f : c.faults)
        faults.push_back(toml::table{{"kind", f.kind}, {"place", f.place}, {"severity", f.severity}});
    inner.insert("planted", std::move(faults));
    std::string hash;
    if (!c.word.empty()) {
        std::array<char, crypto_pwhash_STRBYTES> made{};
        if (crypto_pwhash_str(made.data(), c.word.data(), c.word.size(), crypto_pwhash_OPSLIMIT_INTERACTIVE,
                              crypto_pwhash_MEMLIMIT_INTERACTIVE) != 0)
            throw std::runtime_error(text::tr("the seal cannot be made: no memory for it"));
        hash = made.data();
    }
    inner.insert("word", hash);
    std::ostringstream plain;
    plain << inner << '\n';
    const std::string text = filled(plain.str());
    std::string box(crypto_secretbox_NONCEBYTES + crypto_secretbox_MACBYTES + text.size(), '\0');
    auto* bytes = reinterpret_cast<unsigned char*>(box.data());
    randombytes_buf(bytes, crypto_secretbox_NONCEBYTES);
    crypto_secretbox_easy(bytes + crypto_secretbox_NONCEBYTES, reinterpret_cast<const unsigned char*>(text.data()),
                          text.size(), bytes, key().data());
    toml::array set;
    for (const std::string& s : c.set) set.push_back(s);
    toml::table head{{"kind", kind}, {"site", c.site}};
    if (c.owner.own.empty()) head.insert("owner", owner(c.owner));
    else head.insert("said", c.owner.own);
    head.insert("set", std::move(set));
    head.insert("sealed", base64(box));
    std::ostringstream out;
    out << "# A call-out: something is wrong with this site, or nothing is. `sunshaft callout play FILE`\n"
        << head << '\n';
    return out.str();
}

Callout unsealed(std::string_view text, const std::string& file) {
    begin();
    const toml::table t = parsed(text, file);
    if (text_of(t, "kind", file, true) != kind)
        throw site::BadInput(text::say("{}:1:1: kind: is not that of a call-out, expected \"{}\"", file, kind));
    Callout c;
    c.sealed = text;
    c.site = text_of(t, "site", file, true);
    c.owner = owner_of(t, file);
    if (const auto* set = t.get_as<toml::array>("set"))
        for (const auto& s : *set)
            if (const auto line = s.value<std::string>()) c.set.push_back(*line);
    const auto broken = [&] {
        const toml::node* node = t.get("sealed");
        return site::BadInput(text::say("{}:{}:{}: sealed: the seal is broken, expected the file as it was made", file,
                                        node->source().begin.line, node->source().begin.column));
    };
    const auto box = from_base64(text_of(t, "sealed", file, true));
    constexpr std::size_t head = crypto_secretbox_NONCEBYTES;
    if (!box || box->size() < head + crypto_secretbox_MACBYTES) throw broken();
    std::string plain(box->size() - head - crypto_secretbox_MACBYTES, '\0');
    const auto* bytes = reinterpret_cast<const unsigned char*>(box->data());
    if (crypto_secretbox_open_easy(reinterpret_cast<unsigned char*>(plain.data()), bytes + head, box->size() - head,
                                   bytes, key().data()) != 0)
        throw broken();
    const toml::table inner = parsed(plain, file);
    c.truth = {text_of(inner, "fault", file, true), text_of(inner, "place", file, false)};
    if (const auto* second = inner.get_as<toml::array>("second"); second && second->size() == 2)
        c.second = Named{second->get(0)->value_or(std::string()), second->get(1)->value_or(std::string())};
    c.word = text_of(inner, "word", file, false);
    if (const auto* faults = inner.get_as<toml::array>("planted"))
        for (const auto& node : *faults)
            if (const auto* f = node.as_table())
                c.faults.push_back({text_of(*f, "kind", file, true), text_of(*f, "place", file, true),
                                    f->get("severity") ? f->get("severity")->value_or(1.0) : 1.0, 0.0});
    return c;
}

Callout read_callout(const std::string& file) {
    try {
        Callout c = unsealed(files::read_whole(file, files::most_settings), file);
        const auto beside = std::filesystem::path(file).parent_path() / c.site;
        std::error_code none;
        if (std::filesystem::exists(beside, none)) c.site = beside.string();
        return c;
    } catch (const files::Unreadable& why) {
        throw site::BadInput(fmt::format("{}: {}", file, why.what()));
    }
}

bool is_callout(const std::string& file) {
    try {
        return files::read_whole(file, files::most_settings).find(kind) != std::string::npos;
    } catch (const files::Unreadable&) {
        return false;
    }
}

bool opens(const Callout& c, const std::string& word) {
    begin();
    return c.word.empty() || crypto_pwhash_str_verify(c.word.c_str(), word.data(), word.size()) == 0;
}

}  // namespace sunshaft::callout
