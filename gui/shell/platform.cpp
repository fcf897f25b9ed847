#include "shell/platform.hpp"

#include <backends/imgui_impl_opengl2.h>
#include <fmt/format.h>
#include <imgui.h>
#include <SFML/OpenGL.hpp>
#include <SFML/Window/Clipboard.hpp>

#include <algorithm>
#include <cfloat>
#include <clocale>
#include <cstdlib>
#include <memory>
#include <set>
#include <stdexcept>
#include <vector>

#include "report/picture.hpp"
#include "shell/imgui_shim.hpp"

namespace sunshaft::shell {

namespace {

constexpr double kDoubleClick = 0.4;  // s

void put_clipboard(void*, const char* text) {
    const std::string utf8 = text;
    sf::Clipboard::setString(sf::String::fromUtf8(utf8.begin(), utf8.end()));
}

const char* get_clipboard(void* user) {
    auto& kept = *static_cast<std::string*>(user);  // ImGui wants the text to outlive the call
    const auto utf8 = sf::Clipboard::getString().toUtf8();
    kept.assign(reinterpret_cast<const char*>(utf8.c_str()), utf8.size());
    return kept.c_str();
}

}  // namespace

Platform::Platform(const Wish& wish) {
    std::setlocale(LC_CTYPE, "");  // or the keyboard could type ASCII only
    sf::ContextSettings context;
    // No multisampling: shapes smooth their own edges, and a software rasteriser takes 2.5 times as long with
    // it.
    context.antialiasingLevel = 0;
    context.depthBits = 0;
    context.stencilBits = 0;
    window_.create(sf::VideoMode(static_cast<unsigned>(wish.width_px), static_cast<unsigned>(wish.height_px)),
                   wish.title, sf::Style::Default, context);
    if (!window_.isOpen()) throw std::runtime_error("no window could be opened");
    const sf::VideoMode desktop = sf::VideoMode::getDesktopMode();
    const auto seat = [](int wished, unsigned screen, int size) {
        const int most = std::max(0, static_cast<int>(screen) - size);
        return wished >= 0 ? std::min(wished, most) : most / 2;
    };
    // Also when there is no wish: SFML 2.5 takes the desktop's width for its height when it centres a window.
    window_.setPosition(
        {seat(wish.x_px, desktop.width, wish.width_px), seat(wish.y_px, desktop.height, wish.height_px)});
    window_.setKeyRepeatEnabled(true);
    if (!window_.setActive(true)) throw std::runtime_error("the window has no drawing context (OpenGL)");

    IMGUI_CHECKVERSION();
    ImGui::CreateContext();
    ImGuiIO& io = ImGui::GetIO();
    io.IniFilename = nullptr;  // what is remembered is kept by ourselves
    io.LogFilename = nullptr;
    io.ConfigInputTextCursorBlink = false;  // nothing blinks unless the real thing would
    io.BackendFlags |= ImGuiBackendFlags_HasMouseCursors | ImGuiBackendFlags_RendererHasVtxOffset;  // see submit()
    io.SetClipboardTextFn = put_clipboard;
    io.GetClipboardTextFn = get_clipboard;
    io.ClipboardUserData = &clipboard_;
    shim::map_keys(io);
    ImGui_ImplOpenGL2_Init();
}

Platform::~Platform() {
    window_.setActive(true);
    ImGui_ImplOpenGL2_Shutdown();
    ImGui::DestroyContext();
}

bool Platform::gather(Input& input, double scale) {
    sf::Event event{};
    while (window_.pollEvent(event)) queue_.push_back(event);

    input.pressed = {};
    input.released = {};
    input.double_click = false;
    input.wheel = 0.0;
    input.keys.clear();
    const view::Point before = input.mouse;
    bool any = false;
    std::set<sf::Keyboard::Key> keys_down;
    bool button_seen = false;
    // ImGui hears a shortcut only in a field that had the keyboard for a whole frame.
    const bool fresh = shim::typing() && !input.typing;
    while (!queue_.empty()) {
        const sf::Event next = queue_.front();
        const bool button = next.type == sf::Event::MouseButtonPressed || next.type == sf::Event::MouseButtonReleased;
        // A press or release belongs where it was made, and to a frame of its own.
        if (button_seen && (button || next.type == sf::Event::MouseMoved)) break;
        if (next.type == sf::Event::KeyPressed && (button_seen || (fresh && next.key.control))) break;
        if (next.type == sf::Event::KeyReleased && keys_down.contains(next.key.code)) break;
        button_seen = button_seen || button;
        // Letters that are only typed need not wait: ImGui gets them as text.
        if (next.type == sf::Event::KeyPressed && shim::imgui_key(next.key.code) != ImGuiKey_COUNT &&
            (next.key.control || next.key.code > sf::Keyboard::Z))
            keys_down.insert(next.key.code);
        queue_.pop_front();
        handle(next, input, scale);
        any = true;
    }
    if (input.mouse != before) last_move_ = now();
    input.moved = input.mouse - before;
    input.still_for = now() - last_move_;
    input.now = now();
    input.typing = shim::typing();
    return any;
}

void Platform::handle(const sf::Event& event, Input& input, double scale) {
    ImGuiIO& io = ImGui::GetIO();
    const auto move = [&](int x, int y) {
        shim::mouse_at(io, static_cast<float>(x), static_cast<float>(y));
        input.mouse = {x / scale, y / scale};
    };
    switch (event.type) {
        case sf::Event::Closed: closing_ = true; break;
        case sf::Event::LostFocus: lose_focus(input); break;
        case sf::Event::GainedFocus:
            focused_ = true;
            shim::focus(io, true);
            break;
        case sf::Event::MouseMoved: move(event.mouseMove.x, event.mouseMove.y); break;
        case sf::Event::MouseLeft:
            if (!input.down[left_button]) {
                shim::mouse_at(io, -FLT_MAX, -FLT_MAX);
                input.mouse = {-1e6, -1e6};
            }
            break;
        case sf::Event::MouseButtonPressed:
        case sf::Event::MouseButtonReleased:
            if (const int button = shim::imgui_button(event.mouseButton.button); button >= 0) {
                const bool down = event.type == sf::Event::MouseButtonPressed;
                move(event.mouseButton.x, event.mouseButton.y);
                shim::mouse_button(io, button, down);
                take_button(static_cast<std::size_t>(button), down, input);
            }
            break;
        case sf::Event::MouseWheelScrolled: {
            move(event.mouseWheelScroll.x, event.mouseWheelScroll.y);
            const bool along = event.mouseWheelScroll.wheel == sf::Mouse::VerticalWheel;
            const float turns = event.mouseWheelScroll.delta;
            shim::wheel(io, along ? 0.0F : turns, along ? turns : 0.0F);
            if (along) input.wheel += static_cast<double>(turns);
            break;
        }
        case sf::Event::KeyPressed:
        case sf::Event::KeyReleased: {
            const bool down = event.type == sf::Event::KeyPressed;
            input.ctrl = event.key.control;
            input.shift = event.key.shift;
            input.alt = event.key.alt;
            shim::modifiers(io, input.ctrl, input.shift, input.alt);
            shim::key(io, event.key.code, down);
            if (down) input.keys.push_back({event.key.code, input.ctrl, input.shift, input.alt});
            break;
        }
        case sf::Event::TextEntered:
            // With Ctrl held it is a shortcut, not text (Alt with it is how some keyboards reach letters).
            if (event.text.unicode >= 32 && event.text.unicode != 127 && (!input.ctrl || input.alt))
                io.AddInputCharacter(event.text.unicode);
            break;
        default: break;
    }
}

// Keys that are down when another window takes over are let go there.
void Platform::lose_focus(Input& input) {
    ImGuiIO& io = ImGui::GetIO();
    focused_ = false;
    shim::focus(io, false);
    for (int k = 0; k < sf::Keyboard::KeyCount; ++k) shim::key(io, static_cast<sf::Keyboard::Key>(k), false);
    shim::modifiers(io, false, false, false);
    input.ctrl = input.shift = input.alt = false;
}

void Platform::take_button(std::size_t which, bool down, Input& input) {
    input.down[which] = down;
    (down ? input.pressed : input.released)[which] = true;
    if (!down || which != left_button) return;
    input.double_click = now() - last_click_ < kDoubleClick && view::distance(input.mouse, last_click_at_) < 5.0;
    last_click_ = input.double_click ? -1.0 : now();
    last_click_at_ = input.mouse;
}

void Platform::fonts_changed() {
    if (!window_.setActive(true)) return;
    ImGui_ImplOpenGL2_DestroyFontsTexture();  // made again by the next begin_frame
    ImGui_ImplOpenGL2_CreateFontsTexture();
    ImGui::GetIO().Fonts->ClearTexData();
}

void Platform::begin_frame(double dt) {
    ImGuiIO& io = ImGui::GetIO();
    const auto size = window_.getSize();
    io.DisplaySize = {static_cast<float>(size.x), static_cast<float>(size.y)};
    io.DeltaTime = static_cast<float>(std::max(dt, 1e-4));
    ImGui_ImplOpenGL2_NewFrame();
    ImGui::NewFrame();
}

namespace {

/// A draw list of more than 65 535 corners comes in runs of commands, each with its own first corner. The
/// OpenGL2 backend knows nothing of that offset, so each run becomes a draw list of its own.
void split(const ImDrawList& list, std::vector<std::unique_ptr<ImDrawList>>& parts) {
    for (int i = 0; i < list.CmdBuffer.Size;) {
        const unsigned first = list.CmdBuffer[i].VtxOffset;
        auto part = std::make_unique<ImDrawList>(ImGui::GetDrawListSharedData());
        int last = i;
        while (last < list.CmdBuffer.Size && list.CmdBuffer[last].VtxOffset == first) ++last;
        const unsigned end =
            last < list.CmdBuffer.Size ? list.CmdBuffer[last].VtxOffset : static_cast<unsigned>(list.VtxBuffer.Size);
        part->VtxBuffer.resize(static_cast<int>(end - first));
        std::copy_n(list.VtxBuffer.Data + first, end - first, part->VtxBuffer.Data);
        part->IdxBuffer = list.IdxBuffer;  // commands keep their IdxOffset into it
        for (; i < last; ++i) {
            part->CmdBuffer.push_back(list.CmdBuffer[i]);
            part->CmdBuffer.back().VtxOffset = 0;
        }
        parts.push_back(std::move(part));
    }
}

}  // namespace

std::vector<const void*> Platform::layers() {
    const ImDrawData* data = ImGui::GetDrawData();
    std::vector<const void*> lists;
    for (int i = 0; i < data->CmdListsCount; ++i) lists.push_back(data->CmdLists[i]);
    return lists;
}

std::map<std::string, std::vector<float>> Platform::corners() {
    const ImDrawData* data = ImGui::GetDrawData();
    std::map<std::string, std::vector<float>> lists;
    for (int i = 0; i < data->CmdListsCount; ++i) {
        const ImDrawList& list = *data->CmdLists[i];
        auto& at = lists[list._OwnerName ? list._OwnerName : ""];
        for (const ImDrawVert& v : list.VtxBuffer) at.insert(at.end(), {v.pos.x, v.pos.y});
    }
    return lists;
}

int Platform::submit(unsigned clear_rgb) {
    ImGui::Render();
    ImDrawData* data = ImGui::GetDrawData();
    int longest = 0;
    std::vector<ImDrawList*> lists;
    std::vector<std::unique_ptr<ImDrawList>> parts;
    for (int i = 0; i < data->CmdListsCount; ++i) {
        ImDrawList* list = data->CmdLists[i];
        longest = std::max(longest, list->VtxBuffer.Size);
        if (list->VtxBuffer.Size < 0xFFFF) {
            lists.push_back(list);
            continue;
        }
        const std::size_t before = parts.size();
        split(*list, parts);
        for (std::size_t k = before; k < parts.size(); ++k) lists.push_back(parts[k].get());
    }
    const auto channel = [clear_rgb](int shift) { return static_cast<float>((clear_rgb >> shift) & 255U) / 255.0F; };
    const auto size = window_.getSize();
    glViewport(0, 0, static_cast<GLsizei>(size.x), static_cast<GLsizei>(size.y));
    glClearColor(channel(16), channel(8), channel(0), 1.0F);
    glClear(GL_COLOR_BUFFER_BIT);
    ImDrawData whole = shim::with_lists(*data, lists);
    ImGui_ImplOpenGL2_RenderDrawData(&whole);
    set_cursor();
    return longest;
}

void Platform::set_cursor() {
    const int wanted = ImGui::GetMouseCursor();
    if (wanted == cursor_ || ImGui::GetIO().MouseDrawCursor) return;
    cursor_ = wanted;
    sf::Cursor::Type type = sf::Cursor::Arrow;
    switch (wanted) {
        case ImGuiMouseCursor_TextInput: type = sf::Cursor::Text; break;
        case ImGuiMouseCursor_ResizeNS: type = sf::Cursor::SizeVertical; break;
        case ImGuiMouseCursor_ResizeEW: type = sf::Cursor::SizeHorizontal; break;
        case ImGuiMouseCursor_ResizeAll: type = sf::Cursor::SizeAll; break;
        case ImGuiMouseCursor_Hand: type = sf::Cursor::Hand; break;
        default: break;
    }
    sf::Cursor& cursor = cursors_[type];
    if (cursor.loadFromSystem(type)) window_.setMouseCursor(cursor);
}

sf::Image Platform::pixels() const {
    const auto size = window_.getSize();
    const std::size_t row = static_cast<std::size_t>(size.x) * 4;
    std::vector<sf::Uint8> bottom_up(row * size.y);
    glPixelStorei(GL_PACK_ALIGNMENT, 1);
    glReadPixels(0, 0, static_cast<GLsizei>(size.x), static_cast<GLsizei>(size.y), GL_RGBA, GL_UNSIGNED_BYTE,
                 bottom_up.data());
    for (std::size_t i = 3; i < bottom_up.size(); i += 4) bottom_up[i] = 255;
    sf::Image image;
    image.create(size.x, size.y, bottom_up.data());
    image.flipVertically();
    return image;
}

bool save_png(const sf::Image& image, const std::filesystem::path& file) {
    std::error_code error;
    if (file.has_parent_path()) std::filesystem::create_directories(file.parent_path(), error);
    const auto size = image.getSize();
    try {
        report::write_png(file.string(), static_cast<int>(size.x), static_cast<int>(size.y),
                          {image.getPixelsPtr(), std::size_t{4} * size.x * size.y});
        return true;
    } catch (const std::exception&) {
        return false;
    }
}

}  // namespace sunshaft::shell
