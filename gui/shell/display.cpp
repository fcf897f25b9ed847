#include "shell/display.hpp"

#include <GL/glx.h>
#include <X11/Xlib.h>
#include <fmt/format.h>

#include <cstdlib>
#include <memory>

#include "files/text.hpp"

namespace sunshaft::shell {

std::string why_no_window() {
    const char* name = std::getenv("DISPLAY");
    if (!name || !*name) return "there is no display";
    const std::string shown = files::one_line(name, 80);
    std::unique_ptr<Display, int (*)(Display*)> display(XOpenDisplay(nullptr), &XCloseDisplay);
    if (!display) return fmt::format("the display {} cannot be reached", shown);
    int plain[] = {GLX_RGBA, GLX_DOUBLEBUFFER, None};
    int error = 0, event = 0;
    if (!glXQueryExtension(display.get(), &error, &event))
        return fmt::format("the display {} has no OpenGL (GLX)", shown);
    const std::unique_ptr<XVisualInfo, int (*)(void*)> visual(
        glXChooseVisual(display.get(), DefaultScreen(display.get()), plain), &XFree);
    if (!visual) return fmt::format("the display {} has no picture that OpenGL can draw in", shown);
    // Left open: a server without a window manager starts anew once its last client is gone, and the window would come
    // in the middle of that.
    (void)display.release();
    return "";
}

}  // namespace sunshaft::shell
