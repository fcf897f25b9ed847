#include "classroom/book.hpp"

#include <fmt/format.h>
#include <sqlite3.h>
#include <sys/vfs.h>

#include <algorithm>
#include <array>
#include <chrono>
#include <filesystem>
#include <map>
#include <set>

#include "text/language.hpp"

namespace sunshaft::classroom {
namespace {

using callout::Attempt;

constexpr int patience_ms = 10000;  // another merge may be at it

// File systems other hosts write, too (statfs(2); the numbers of <linux/magic.h>).
bool on_a_network(const std::string& file) {
    struct statfs where {};
    const auto folder = std::filesystem::path(file).parent_path();
    if (::statfs(folder.empty() ? "." : folder.c_str(), &where) != 0) return false;
    constexpr std::array<unsigned, 5> shared{0x6969, 0xff534d42, 0xfe534d42, 0x517b, 0x5346414f};
    return std::ranges::find(shared, static_cast<unsigned>(where.f_type)) != shared.end();
}

constexpr const char* tables = R"(
create table if not exists learner (number integer primary key, name text not null unique);
create table if not exists journal (id text primary key, number integer not null, parent text, differs_from integer);
create table if not exists entry (
  journal text not null, n integer not null, at text not null, kind text not null, body text not null,
  sum text not null, primary key (journal, n)) without rowid;
create table if not exists overruled (
  journal text not null, attempt integer not null, who text not null, rule text not null, points real not null,
  reason text not null, by text not null, at text not null);
)";

// What went wrong last.
std::string trouble(sqlite3* db) {
    const int code = sqlite3_errcode(db) & 0xff;
    switch (code) {
        case SQLITE_FULL: return text::tr("the disk is full");
        case SQLITE_PERM:
        case SQLITE_AUTH:
        case SQLITE_READONLY:
        case SQLITE_CANTOPEN: return text::tr("nothing can be written there");
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB: return text::tr("it is damaged, or no book");
        case SQLITE_BUSY:
        case SQLITE_LOCKED: return text::tr("another program has it open");
        case SQLITE_IOERR: return text::tr("the disk makes a mistake");
        default: return text::say("error {} of SQLite", code);
    }
}

}  // namespace

struct Book::Own {
    std::string file;
    sqlite3* db = nullptr;

    ~Own() { sqlite3_close(db); }

    [[noreturn]] void fail() const { throw std::runtime_error(fmt::format("{}: {}", file, trouble(db))); }
    void run(const char* sql) const {
        if (sqlite3_exec(db, sql, nullptr, nullptr, nullptr) != SQLITE_OK) fail();
    }

    // One statement; its parameters are bound in order, and every row is handed on.
    class Statement {
      public:
        Statement(const Own& own, const char* sql) : own_(own) {
            if (sqlite3_prepare_v2(own.db, sql, -1, &s_, nullptr) != SQLITE_OK) own.fail();
        }
        ~Statement() { sqlite3_finalize(s_); }
        Statement(const Statement&) = delete;
        Statement& operator=(const Statement&) = delete;
        template <class... Values>
        Statement& with(const Values&... values) {
            sqlite3_reset(s_);
            int n = 0;
            (bind(++n, values), ...);
            return *this;
        }
        bool next() {
            const int now = sqlite3_step(s_);
            if (now != SQLITE_ROW && now != SQLITE_DONE) own_.fail();
            return now == SQLITE_ROW;
        }
        void done() {
            while (next()) {
            }
        }
        std::string text(int column) const {
            const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(s_, column));
            return bytes ? std::string(bytes, static_cast<std::size_t>(sqlite3_column_bytes(s_, column))) : "";
        }
        long whole(int column) const { return static_cast<long>(sqlite3_column_int64(s_, column)); }
        double number(int column) const { return sqlite3_column_double(s_, column); }

      private:
        void bind(int n, const std::string& v) {
            if (sqlite3_bind_text(s_, n, v.data(), static_cast<int>(v.size()), SQLITE_TRANSIENT) != SQLITE_OK)
                own_.fail();
        }
        void bind(int n, long v) {
            if (sqlite3_bind_int64(s_, n, v) != SQLITE_OK) own_.fail();
        }
        void bind(int n, double v) {
            if (sqlite3_bind_double(s_, n, v) != SQLITE_OK) own_.fail();
        }
        const Own& own_;
        sqlite3_stmt* s_ = nullptr;
    };

    void new_journal(const std::string& id, const std::string& parent, long differs_from) const {
        Statement(*this, "insert or ignore into journal select ?1, count(*) + 1, ?2, ?3 from journal")
            .with(id, parent, differs_from)
            .done();
    }
    void learners(const nlohmann::json& who) const {
        if (!who.is_array()) return;
        Statement s(*this, "insert or ignore into learner select count(*) + 1, ?1 from learner");
        for (const auto& name : who)
            if (name.is_string()) s.with(name.get<std::string>()).done();
    }

    // Entries from `first` on as those of journal `id`; where they differ from what stands there, of one beside it.
    void place(const std::string& id, const std::vector<journal::Entry>& entries, std::size_t first, Merged& m) const {
        std::map<long, std::string> there;
        Statement known(*this, "select n, sum from entry where journal = ?1");
        for (known.with(id); known.next();) there[known.whole(0)] = known.text(1);
        Statement put(*this, "insert into entry values (?1, ?2, ?3, ?4, ?5, ?6)");
        for (std::size_t k = first; k < entries.size(); ++k) {
            const journal::Entry& e = entries[k];
            const auto old = there.find(e.n);
            if (old == there.end()) {
                put.with(id, e.n, e.at, e.kind, e.what.dump(), e.sum).done();
                if (e.kind == "start") learners(e.what.value("who", nlohmann::json()));
                if (e.kind == "lesson") learners(nlohmann::json::array({e.what.value("who", "")}));
                ++m.taken;
            } else if (old->second == e.sum) {
                ++m.known;
            } else {
                const std::string beside = fmt::format("{}+{}", id, e.sum.substr(0, 8));
                m.beside = true;
                new_journal(beside, id, e.n);
                return place(beside, entries, k, m);
            }
        }
    }

    Merged merge(const std::string& from) const {
        Merged m;
        m.file = from;
        try {
            const journal::Contents c = journal::read(from);
            m.id = c.id;
            m.spoilt = c.spoilt;
            if (c.entries.empty()) {
                m.trouble = text::tr("nothing in it counts");
                return m;
            }
            run("begin immediate");
            try {
                new_journal(c.id, "", 0);
                place(c.id, c.entries, 0, m);
                run("commit");
            } catch (...) {
                sqlite3_exec(db, "rollback", nullptr, nullptr, nullptr);
                throw;
            }
        } catch (const std::exception& e) {
            m.trouble = e.what();
        }
        return m;
    }

    // All entries of a journal that stands beside another: what both have in common first.
    std::vector<journal::Entry> entries(const std::string& id) const {
        std::vector<journal::Entry> list;
        Statement where(*this, "select parent, differs_from from journal where id = ?1");
        if (where.with(id).next() && !where.text(0).empty()) {
            list = entries(where.text(0));
            std::erase_if(list, [&](const journal::Entry& e) { return e.n >= where.whole(1); });
        }
        Statement s(*this, "select n, at, kind, body from entry where journal = ?1 order by n");
        for (s.with(id); s.next();)
            list.push_back({s.whole(0), s.text(1), s.text(2), nlohmann::json::parse(s.text(3), nullptr, false), ""});
        return list;
    }
};

Book::Book(const std::string& file) : own_(std::make_unique<Own>()) {
    own_->file = file;
    if (on_a_network(file))
        throw std::invalid_argument(
            text::say("{}: lies on a network, expected a disk of this machine: only one host may write it", file));
    if (sqlite3_open_v2(file.c_str(), &own_->db, SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, nullptr) != SQLITE_OK)
        throw std::invalid_argument(text::say("{}: cannot be opened: {}", file, trouble(own_->db)));
    sqlite3_busy_timeout(own_->db, patience_ms);
    try {
        own_->run("pragma journal_mode = wal; pragma synchronous = full; begin immediate;");
        own_->run(tables);
        own_->run("commit");
    } catch (const std::runtime_error& e) {
        throw std::invalid_argument(e.what());
    }
}

Book::~Book() = default;

std::vector<Merged> Book::merge(const std::string& path) {
    namespace fs = std::filesystem;
    std::vector<std::string> files;
    std::error_code error;
    if (fs::is_directory(path, error)) {
        constexpr auto pass_over = fs::directory_options::skip_permission_denied;
        for (const auto& entry : fs::recursive_directory_iterator(path, pass_over, error))
            if (entry.path().extension() == ".journal" && entry.is_regular_file(error))
                files.push_back(entry.path().string());
        std::ranges::sort(files);
    } else {
        files.push_back(path);
    }
    std::vector<Merged> all;
    for (const std::string& file : files) all.push_back(own_->merge(file));
    return all;
}

std::vector<Attempt> Book::attempts() const {
    std::vector<std::pair<std::string, long>> journals;
    Own::Statement s(*own_, "select id, differs_from from journal order by number");
    while (s.next()) journals.emplace_back(s.text(0), s.whole(1));
    std::vector<Attempt> all;
    for (const auto& [id, differs_from] : journals) {
        journal::Contents c{id, own_->entries(id), 0};
        const long last = c.entries.empty() ? 0 : c.entries.back().n;
        for (Attempt& a : callout::attempts(c)) {
            // What both have in common is told once.
            const long ends = a.deeds.empty() ? a.n : a.deeds.back().n;
            if (differs_from == 0 || a.n >= differs_from || ends >= differs_from || (!a.over() && last >= differs_from))
                all.push_back(std::move(a));
        }
    }
    return all;
}

std::vector<LessonDone> Book::lessons() const {
    std::vector<std::pair<std::string, long>> journals;
    Own::Statement s(*own_, "select id, differs_from from journal order by number");
    while (s.next()) journals.emplace_back(s.text(0), s.whole(1));
    std::vector<LessonDone> all;
    for (const auto& [id, differs_from] : journals)
        for (LessonDone& d : lessons_done({id, own_->entries(id), 0}))
            if (d.n >= differs_from) all.push_back(std::move(d));  // what both have in common is told once
    return all;
}

long Book::number_of(const std::string& who) const {
    Own::Statement s(*own_, "select number from learner where name = ?1");
    return s.with(who).next() ? s.whole(0) : 0;
}

void Book::overrule(const Overruled& w) {
    if (w.reason.empty())
        throw std::invalid_argument(text::tr("overrule: no reason, expected one: it stands beside the line"));
    for (const Attempt& a : attempts()) {
        if (a.journal != w.journal || a.n != w.attempt) continue;
        for (const callout::Marked& m : a.marked) {
            if (m.who != w.who) continue;
            for (const callout::Marked::Line& l : m.lines) {
                if (l.rule != w.rule) continue;
                if (!(w.points >= 0.0 && w.points <= l.of))
                    throw std::invalid_argument(
                        text::say("overrule: {} points, {} gives 0 to {}", w.points, l.rule, l.of));
                const auto now = std::chrono::system_clock::now().time_since_epoch();
                const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(now).count();
                Own::Statement(*own_, "insert into overruled values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)")
                    .with(w.journal, w.attempt, w.who, w.rule, w.points, w.reason, w.by, journal::time_text(seconds))
                    .done();
                return;
            }
        }
    }
    throw std::invalid_argument(text::say("overrule: no line {} of {} in attempt {}:{}", w.rule,
                                          w.who.empty() ? text::tr("the learner") : w.who, w.journal, w.attempt));
}

std::vector<Overruled> Book::overruled() const {
    std::vector<Overruled> all;
    Own::Statement s(*own_, "select journal, attempt, who, rule, points, reason, by, at from overruled order by rowid");
    while (s.next())
        all.push_back({s.text(0), s.whole(1), s.text(2), s.text(3), s.text(5), s.text(6), s.text(7), s.number(4)});
    return all;
}

}  // namespace sunshaft::classroom
