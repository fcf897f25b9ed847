#include "report/fonts.hpp"

#include <fontconfig/fontconfig.h>

#include <filesystem>
#include <string>

#include "files/shipped.hpp"

namespace sunshaft::report {

void take_own_fonts() {
    static const bool once = [] {
        const std::string folder = files::shipped_data() + "/fonts";
        if (!std::filesystem::is_directory(folder)) return true;
        // A configuration of our own: the default one may be missing, which the library complains of on every run; so
        // it does of a folder, whose list it cannot keep, and takes files without a word.
        FcConfig* own = FcConfigCreate();
        for (const auto& font : std::filesystem::directory_iterator(folder))
            FcConfigAppFontAddFile(own, reinterpret_cast<const FcChar8*>(font.path().c_str()));
        FcConfigSetCurrent(own);
        FcConfigDestroy(own);  // the library holds it now
        return true;
    }();
    (void)once;
}

}  // namespace sunshaft::report
