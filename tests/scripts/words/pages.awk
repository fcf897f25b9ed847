# From Markdown and TOML, "file:line TAB words": a paragraph, list item, table cell, heading, value or comment a line.
# `Code` is one word, blocks of it are none.
function flush() { if (words != "") print file ":" at "\t" words; words = "" }
function add(s) { if (words == "") at = FNR; words = words (words == "" ? "" : " ") s }
FNR == 1 { flush(); code = 0; file = FILENAME; toml = FILENAME ~ /toml$/ }
toml && /^#/ { sub(/^#+ */, ""); if (/[a-z]  +[a-z]/) flush(); add($0); if (/[a-z]  +[a-z]/) flush(); next }  # columns
toml {
    flush(); line = $0
    while (match(line, /"[^"]*"/)) { add(substr(line, RSTART + 1, RLENGTH - 2)); flush(); line = substr(line, RSTART + RLENGTH) }
    if (match(line, /# .*/)) { add(substr(line, RSTART + 2)); flush() }
    next
}
{ gsub(/`[^`]*`/, "Code"); gsub(/\]\([^)]*\)/, "]") }
/^```/ { code = !code; flush(); next }
code || /^    / || /^\|[-|]*$/ || /^[ \t]*$/ { flush(); next }
/^\|/ { flush(); n = split($0, cell, "|"); for (i = 2; i < n; ++i) { add(cell[i]); flush() } next }
/^(#|- |\*\*|[0-9]+\. |!\[)/ { flush() }
{ add($0) }
/^(#|!\[)/ { flush() }
END { flush() }
