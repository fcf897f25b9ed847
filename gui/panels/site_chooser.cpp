// The sites to choose from, over the bench: a press opens one at once, in place of the one that is open.
#include <algorithm>

#include "model/desk.hpp"
#include "model/sites.hpp"
#include "panels/panels.hpp"
#include "panels/small_site.hpp"
#include "shell/widgets.hpp"
#include "text/figure.hpp"
#include "text/language.hpp"

namespace sunshaft::panels {
namespace {

using namespace shell;

constexpr view::Size kPicture{128.0, 92.0};

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
        const double wide = std::min(680.0, x.box.w - 40.0);
        double high = 60.0 + 40.0;
        for (const auto* list : {&shipped_, &recent_})
            for (const auto& site : *list) high += row_height(measure, site, wide, p);
        if (!recent_.empty()) high += 28.0;
        // Below the cautions (the first of what is kept clear), which are never covered.
        const double under = x.ask.clear.empty() ? 64.0 : std::max(64.0, x.ask.clear.front().bottom() + 8.0);
        const Box box{std::round(0.5 * (x.box.w - wide)), under, wide, std::min(high + 16.0, x.box.h - under - 16.0)};
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
            for (const auto& site : shipped_) y = row(x, list.canvas(), {box.x, y, box.w, 0}, site, p);
            if (!recent_.empty()) {
                Canvas head = list.canvas();
                paint::title(head, {box.x + 16, y + 18}, text::tr("Opened before"), p.ink_soft);
                y += 28;
                for (const auto& site : recent_) y = row(x, list.canvas(), {box.x, y, box.w, 0}, site, p);
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
    // Where its words begin: beside its drawing, if it has one.
    static double indent(const view::SiteEntry& site) { return site.drawing ? 24.0 + kPicture.w + 16.0 : 24.0; }
    static double row_height(const Canvas& c, const view::SiteEntry& site, double wide, const view::Palette& p) {
        const double words = 34.0 + c.paragraph_height(wide - indent(site) - 24.0, line_of(site), small(p));
        return site.drawing ? std::max(words, kPicture.h + 12.0) : words;
    }
    static const std::string& line_of(const view::SiteEntry& site) { return site.line.empty() ? site.file : site.line; }

    double row(PanelContext& x, Canvas c, Box line, const view::SiteEntry& site, const view::Palette& p) {
        line.h = row_height(c, site, line.w, p);
        const bool open_now = x.desk->snapshot()->site->scenario.file == site.file;
        const std::string stem = site.file.substr(site.file.rfind('/') + 1);
        const Box touched = line.inset(8, 1);
        const Touch t = touch(x, "site " + stem.substr(0, stem.rfind('.')), touched);
        if (open_now || t.hovered) c.fill(touched, open_now ? p.accent_tint : p.band);
        if (t.focused) focus_mark(x, touched);
        const double left = line.x + indent(site);
        if (site.drawing) picture(x, c, {line.x + 24, line.y + 6, kPicture.w, kPicture.h}, site, p);
        c.text({left, line.y + 19}, site.name, {.colour = p.ink, .face = Face::strong});
        if (open_now)
            c.text({line.right() - 24, line.y + 19}, text::tr("open"), {.colour = p.accent, .align = Align::right});
        c.paragraph({left, line.y + 25}, line.right() - 24 - left, line_of(site), small(p));
        if (t.clicked) open_now ? void(x.window.choosing_site = false) : open(x, site.file);
        return line.y + line.h;
    }

    // Small, with the depth of the pump, which the torn band hides.
    static void picture(PanelContext& x, Canvas& c, const Box& box, const view::SiteEntry& site,
                        const view::Palette& p) {
        paint_small_site(c, *site.drawing, box, p);
        x.target("drawing of " + site.name, box);
        if (site.pump_depth_m > 0.0)
            c.text({box.right() - 5, box.bottom() - 6},
                   text::say("pump at {}", text::quantity(site.pump_depth_m, "m", 3)),
                   {.colour = p.ink, .size = 12, .align = Align::right, .halo = p.strata[1]});
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
