#pragma once
// The work on each site, kept while it goes on: one file a site in a folder of its own, the newest few of them.
// Whatever ends the program, what was done up to a moment before is there the next time. A file that cannot be taken up
// is put aside under another name, never thrown away.
#include <filesystem>
#include <optional>
#include <string>

namespace sunshaft::view {

/// What a scenario's file is called in a session: the bare name of a shipped site, so that it is found wherever the
/// program stands, else the whole path.
std::string session_site(const std::string& scenario_file);

class SessionStore {
  public:
    /// An empty folder keeps nothing.
    explicit SessionStore(std::filesystem::path folder) : folder_(std::move(folder)) {}

    /// The site worked on last; empty when there is none. One that is not there any more is passed over and told in
    /// `trouble`.
    std::string last_site(std::string& trouble) const;
    /// The work on this site, as Desk::session() wrote it; nothing when there is none. From now on keep() is about it.
    std::optional<std::string> open(const std::string& scenario_file);
    /// What open() returned is no session. Puts it aside and returns the sentence that says so.
    std::string set_aside(const std::string& why);
    /// Writes it unless that is what was written last. False when it cannot be kept.
    bool keep(const std::string& session);
    const std::filesystem::path& file() const { return file_; }

  private:
    void thin_out() const;

    std::filesystem::path folder_, file_;
    std::string kept_;
};

}  // namespace sunshaft::view
