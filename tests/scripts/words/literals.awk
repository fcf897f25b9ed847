# From what xgettext found, "file:line TAB words" a string: one line of the program's output a line here, {} as 0.
/^#: / { if (where == "") { split($2, at, " "); where = at[1] } next }
/^msgid / { words = ""; on = 1; sub(/^msgid /, "") }
/^msgstr/ { if (on && where != "") tell(); on = 0; where = ""; next }
on && /^"/ { s = $0; sub(/^"/, "", s); sub(/"$/, "", s); words = words s }
function tell(    lines, n, i) {
    gsub(/\\"/, "\"", words); gsub(/\\t/, " ", words); gsub(/\{[^{}]*\}/, "0", words)
    n = split(words, lines, /\\n/)
    for (i = 1; i <= n; ++i) if (lines[i] != "") print where "\t" lines[i]
}
