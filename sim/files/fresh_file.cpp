#include "files/fresh_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <random>
#include <stdexcept>
#include <utility>

#include "files/said.hpp"
#include "files/text.hpp"

namespace sunshaft::files {
namespace {

constexpr int tries = 100;  // for a name that is still free

// In the way of a plain file at this path; null when nothing is.
const char* in_the_way(const std::string& path, struct stat& there) {
    if (::lstat(path.c_str(), &there) != 0) return nullptr;
    if (S_ISLNK(there.st_mode)) return said("is a symbolic link");
    if (S_ISDIR(there.st_mode)) return said("is a folder");
    if (S_ISFIFO(there.st_mode)) return said("is a pipe");
    if (!S_ISREG(there.st_mode)) return said("is a device");
    // Another that writes it may have taken it away since: then nothing is in the way.
    if (::access(path.c_str(), W_OK) != 0 && errno != ENOENT) return said("is write-protected");
    return nullptr;
}

std::string own_name(const std::string& folder) {
    std::random_device dice;
    return fmt::format("{}/.sunshaft-{:08x}{:08x}", folder, dice(), dice());
}

class Held {
  public:
    // Other writers of pairs in this folder wait. A file system without locks does without.
    explicit Held(const std::string& folder) : folder_(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC)) {
        if (folder_ >= 0) ::flock(folder_, LOCK_EX);
    }
    ~Held() {
        if (folder_ >= 0) ::close(folder_);
    }
    Held(const Held&) = delete;
    Held& operator=(const Held&) = delete;

  private:
    int folder_;
};

}  // namespace

FreshFile::FreshFile(const std::string& path) : path_(path) {
    const auto refuse = [&](std::string_view what) {
        throw std::invalid_argument(
            fmt::format(fmt::runtime(said("{}: {}, expected a plain file or a new name in a folder that exists")),
                        one_line(path), what));
    };
    const std::filesystem::path name(path);
    if (!name.has_filename()) refuse(said("is a folder"));
    folder_ = name.has_parent_path() ? name.parent_path().string() : ".";
    struct stat there {};
    const char* obstacle = in_the_way(path, there);
    if (obstacle) refuse(obstacle);
    const bool old = there.st_mode != 0;
    const mode_t mode = old ? there.st_mode & 0777 : 0666;
    // What replaces a private file is private from its first byte on.
    int fd = ::open(folder_.c_str(), O_TMPFILE | O_WRONLY | O_CLOEXEC, old ? mode & 0600 : mode);
    for (int n = 0; fd < 0 && n < tries; ++n) {
        temporary_ = own_name(folder_);
        fd = ::open(temporary_.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, old ? mode & 0600 : mode);
        if (fd < 0 && errno != EEXIST) break;
    }
    if (fd < 0) temporary_.clear(), refuse(fmt::format(fmt::runtime(said("cannot be written ({})")), reason(errno)));
    if (old) {
        // Before the mode, which a change of owner may cut down; only root may give a file away.
        if (::fchown(fd, there.st_uid, there.st_gid) != 0) errno = 0;
        ::fchmod(fd, mode);
    }
    file_ = ::fdopen(fd, "wb");
    if (!file_) {
        ::close(fd);
        refuse(said("cannot be written (no memory)"));
    }
}

FreshFile::~FreshFile() {
    if (file_) std::fclose(file_);
    if (!temporary_.empty()) ::unlink(temporary_.c_str());
}

void FreshFile::fail(const char* what) const {
    throw std::runtime_error(fmt::format("{}: {} ({})", one_line(path_), what, reason(errno)));
}

void FreshFile::write(std::string_view data) {
    if (std::fwrite(data.data(), 1, data.size(), file_) != data.size()) fail(said("writing failed"));
}

void FreshFile::seal() {
    if (std::fflush(file_) != 0) fail(said("writing failed"));
    // Some file systems have no fsync: EINVAL says so and is no failure to write.
    if (::fsync(::fileno(file_)) != 0 && errno != EINVAL && errno != EROFS) fail(said("writing failed"));
    if (temporary_.empty()) {
        const std::string unnamed = fmt::format("/proc/self/fd/{}", ::fileno(file_));
        for (int n = 0; n < tries && temporary_.empty(); ++n) {
            const std::string name = own_name(folder_);
            if (::linkat(AT_FDCWD, unnamed.c_str(), AT_FDCWD, name.c_str(), AT_SYMLINK_FOLLOW) == 0) temporary_ = name;
            else if (errno != EEXIST) break;
        }
        if (temporary_.empty()) fail(said("cannot be put in place"));
    }
    if (std::fclose(std::exchange(file_, nullptr)) != 0) fail(said("writing failed"));
}

void FreshFile::put_down() {
    struct stat there {};
    if (const char* obstacle = in_the_way(path_, there))
        throw std::runtime_error(
            fmt::format(fmt::runtime(said("{}: cannot be put in place: it {} by now")), one_line(path_), obstacle));
    if (::rename(temporary_.c_str(), path_.c_str()) != 0) fail(said("cannot be put in place"));
    temporary_.clear();
    if (const int folder = ::open(folder_.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC); folder >= 0) {
        ::fsync(folder);  // so that the name outlives a power cut too
        ::close(folder);
    }
}

void FreshFile::finish() {
    seal();
    put_down();
}

void FreshFile::finish_pair(FreshFile& body, FreshFile& head) {
    body.seal();
    head.seal();
    const Held held(head.folder_);
    if (::unlink(head.path_.c_str()) != 0 && errno != ENOENT) head.fail(said("cannot be put in place"));
    body.put_down();
    head.put_down();
}

}  // namespace sunshaft::files
