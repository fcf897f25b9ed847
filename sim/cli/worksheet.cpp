// sunshaft worksheet: a lesson on paper.
#include <fmt/format.h>

#include <filesystem>
#include <memory>

#include "cli/verb.hpp"
#include "files/fresh_file.hpp"
#include "site/keys.hpp"
#include "teach/worksheet.hpp"
#include "text/language.hpp"

namespace sunshaft::cli {
namespace {

struct WorksheetOptions {
    std::string lesson, out, answers;
    teach::PlayOptions play;
};

int worksheet(const WorksheetOptions& o) {
    const auto pdf = [](const char* option, const std::string& file) {
        if (std::filesystem::path(file).extension() != ".pdf")
            throw site::BadInput(
                text::say("{}: {}: expected a name that ends in .pdf", option, site::on_one_line(file)));
    };
    pdf("--out", o.out);
    std::filesystem::path answers = o.answers;
    if (o.answers.empty()) {
        answers = o.out;
        answers.replace_filename(answers.stem().string() + "-answers.pdf");
    } else {
        pdf("--answers", o.answers);
    }
    if (answers == std::filesystem::path(o.out))
        throw site::BadInput(text::tr("--answers: is the worksheet's own file, expected another one"));
    const teach::Lesson lesson = teach::load_lesson(o.lesson);
    files::FreshFile pages(o.out), key(answers.string());
    const teach::Worksheet made = teach::worksheet(lesson, teach::load_beliefs(), o.play);
    pages.write(made.pages);
    key.write(made.answers);
    files::FreshFile::finish_pair(key, pages);
    fmt::print("{}\n",
               text::say("{}\nanswers: {}\nseed {}, check word: {}", o.out, answers.string(), o.play.seed, made.word));
    return 0;
}

}  // namespace

Run add_worksheet(CLI::App& app) {
    auto o = std::make_shared<WorksheetOptions>();
    app.add_option("lesson", o->lesson, text::tr("a lesson's name or file"))->type_name("LESSON")->required();
    app.add_option("--out", o->out, text::tr("two pages to print; a .pdf"))->type_name("FILE")->required();
    app.add_option("--answers", o->answers, text::tr("the answers; default: beside it, NAME-answers.pdf"))
        ->type_name("FILE");
    app.add_option("--seed", o->play.seed, text::tr("the values, as of `sunshaft lesson`"))->capture_default_str();
    app.add_option("--site", o->play.site, text::tr("on another site"))->type_name("SCENARIO");
    app.footer("Example: sunshaft worksheet one-wave-two-meters --seed 7 --out wave.pdf");
    return [o] { return worksheet(*o); };
}

}  // namespace sunshaft::cli
