#!/bin/sh
# A room of sim/ includes only what its line in sim/CMakeLists.txt says it knows, and what those know; and of each that
# the line names it includes something.
#   rooms_test.sh ROOT
set -eu
cd "$1/sim"
grep -H '^#include "' ./*/*.?pp | awk -F '[/:"]' '
    BEGIN {
        while ((getline line < "CMakeLists.txt") > 0) {
            if (line !~ /^room\(/) continue
            gsub(/room\(|\)/, "", line)
            n = split(line, words, " ")
            rooms[words[1]] = words[1]
            take = 0
            for (i = 2; i <= n; ++i) {
                if (words[i] == "KNOWS") take = 1
                else if (words[i] == "LIBS") take = 0
                else if (take) {
                    rooms[words[1]] = rooms[words[1]] " " rooms[words[i]]
                    named[words[1] " " words[i]] = 1
                }
            }
        }
        rooms["cli"] = "cli"
        for (r in rooms) rooms["cli"] = rooms["cli"] " " r
    }
    {   # ./room/file.cpp:#include "other/file.hpp"
        for (i = 1; i <= NF; ++i) if ($i ~ /#include/) other = $(i + 1)
        ++looked
        delete named[$2 " " other]
        if (!(other in rooms)) next
        if (!index(" " rooms[$2] " ", " " other " ")) { print $0 ": " $2 " does not know " other; bad = 1 }
    }
    END {
        for (n in named) { split(n, pair, " "); print pair[1] " knows " pair[2] ", and includes nothing of it"; bad = 1 }
        if (looked < 100) { print "only " looked " includes looked at"; bad = 1 }
        exit bad
    }'
