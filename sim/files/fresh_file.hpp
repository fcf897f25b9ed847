// A file written beside its place and moved there at the end: whole or not at all, whatever ends the program
// meanwhile.
//
// Until then it has no name where the file system allows that, else one of its own that nobody else uses: two
// writers of one file do not mix, the last to finish stands. A file that was there keeps its mode (and its
// owner, where that is allowed). Only plain files are replaced: a symbolic link, a device, a pipe or a folder
// in its place is refused, and so is a file that may not be written.
#pragma once

#include <cstdio>
#include <string>
#include <string_view>

namespace sunshaft::files {

class FreshFile {
  public:
    // Throws std::invalid_argument in one line when the file cannot be made.
    explicit FreshFile(const std::string& path);
    ~FreshFile();
    FreshFile(const FreshFile&) = delete;
    FreshFile& operator=(const FreshFile&) = delete;
    // Both throw std::runtime_error in one line when the disk does not take it.
    void write(std::string_view data);
    void finish();

    // Two files that belong together, of which a reader opens `head` first. Whenever the program is killed
    // there stand both old ones, both new ones, or no head: never the head of one pair with the body of
    // another.
    static void finish_pair(FreshFile& body, FreshFile& head);

  private:
    void seal();      // all of it on the disk
    void put_down();  // in its place
    [[noreturn]] void fail(const char* what) const;

    std::string path_, folder_;
    std::string temporary_;  // empty: it has no name yet
    std::FILE* file_ = nullptr;
};

}  // namespace sunshaft::files
