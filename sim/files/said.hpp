// Sentences of this room in the language spoken. Catalogues are read through this room, so it cannot know the room of
// languages: that one hands its tr() over as soon as it speaks (text/language.cpp).
#pragma once

namespace sunshaft::files {

using Translate = const char* (*)(const char* english);

void speak_by(Translate tr);  // from here on; null: English
const char* said(const char* english);
// What the system says of an error (errno), as strerror() has it.
const char* reason(int error);

}  // namespace sunshaft::files
