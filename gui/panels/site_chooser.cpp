// The sites to choose from, over the bench: a press opens one at once, in place of the one that is open.
#include <algorithm>

#include "model/desk.hpp"
#include "model/sites.hpp"
#include "panels/panels.hpp"
#include "shell/widgets.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

class SiteChooser : public Panel {
  public:
    Place place() const override { return Place::popup; }
    const char* title() const override { return text::id("Sites"); }
    void draw(PanelContext&) override {}

    void draw_over(PanelContext& x) override {
        if (!x.desk || !x.window.choosing_site) {
            known_ = false;
            return;
        }
        if (!known_) shipped_ = view::shipped_sites(), recent_ = view::recent_sites(), known_ = true;
        const view::Palette& p = x.palette();
        const Canvas measure = x.overlay();
        const double wide = std::min(620.0, x.box.w - 40.0), text = wide - 48.0;
        double high = 60.0 + 40.0;
        for (const auto* list : {&shipped_, &recent_})
            for (const auto& site : *list) high += row_height(measure, site, text, p);
        if (!recent_.empty()) high += 28.0;
        const Box box{std::round(0.5 * (x.box.w - wide)), 64.0, wide, std::min(high + 16.0, x.box.h - 80.0)};
        const Popup card(x, "sites", box);
        Canvas c = x.canvas();
        paint::sheet(c, box, p.sheet, p.accent);
        paint::title(c, {box.x + 16, box.y + 25}, text::tr(title()), p.ink_soft);
        bool close =
            button(x, "close sites", {box.right() - 72, box.y + 9, 60, 24}, text::tr("Close"), {.plain = true});
        Box rest = box;
        rest.cut_top(40);
        Box foot = rest.cut_bottom(48);
        {
            Child list = x.child("list", rest, true);
            double y = rest.y - list.scrolled();
            const double top = y;
            for (const auto& site : shipped_) y = row(x, list.canvas(), {box.x, y, box.w, 0}, site, text, p);
            if (!recent_.empty()) {
                Canvas head = list.canvas();
                paint::title(head, {box.x + 16, y + 18}, text::tr("Opened before"), p.ink_soft);
                y += 28;
                for (const auto& site : recent_) y = row(x, list.canvas(), {box.x, y, box.w, 0}, site, text, p);
            }
            list.content_height(y - top);
        }
        c.rule({foot.x, foot.y}, {foot.right(), foot.y}, p.rule);
        Box field = foot.inset(16, 9);
        const Box key = field.cut_right(96);
        field.cut_right(8);
        search_field(x, "site file", field, file_, text::tr("Path of a site's own file, for example ~/barn.toml"));
        const bool enter = x.input.take(Key::Enter);
        if (button(x, "open file", key, text::tr("Open file"), {.off = file_.empty()}) || (enter && !file_.empty()))
            open(x, file_);
        if (!x.input.typing && x.input.take(Key::Escape)) close = true;
        if (close) x.window.choosing_site = false;
    }

  private:
    static paint::TextLook small(const view::Palette& p) { return {.colour = p.ink_soft, .size = 12}; }
    static double row_height(const Canvas& c, const view::SiteEntry& site, double text, const view::Palette& p) {
        return 34.0 + c.paragraph_height(text, site.line.empty() ? site.file : site.line, small(p));
    }

    double row(PanelContext& x, Canvas c, Box line, const view::SiteEntry& site, double text, const view::Palette& p) {
        line.h = row_height(c, site, text, p);
        const bool open_now = x.desk->snapshot()->site->scenario.file == site.file;
        const std::string stem = site.file.substr(site.file.rfind('/') + 1);
        const Box touched = line.inset(8, 1);
        const Touch t = touch(x, "site " + stem.substr(0, stem.rfind('.')), touched);
        if (open_now || t.hovered) c.fill(touched, open_now ? p.accent_tint : p.band);
        if (t.focused) focus_mark(x, touched);
        c.text({line.x + 24, line.y + 19}, site.name, {.colour = p.ink, .face = Face::strong});
        if (open_now)
            c.text({line.right() - 24, line.y + 19}, text::tr("open"), {.colour = p.accent, .align = Align::right});
        c.paragraph({line.x + 24, line.y + 25}, text, site.line.empty() ? site.file : site.line, small(p));
        if (t.clicked) open_now ? void(x.window.choosing_site = false) : open(x, site.file);
        return line.y + line.h;
    }

    static void open(PanelContext& x, const std::string& file) {
        x.ask.open_site = file;
        x.window.choosing_site = false;
    }

    bool known_ = false;
    std::vector<view::SiteEntry> shipped_, recent_;
    std::string file_;
};

}  // namespace

std::unique_ptr<shell::Panel> site_chooser() { return std::make_unique<SiteChooser>(); }

}  // namespace sunshaft::panels
