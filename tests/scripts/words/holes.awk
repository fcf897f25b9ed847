# From a catalogue without line breaks: entries whose translation has other holes for figures than the English has (they
# may stand in another order, by number), or another SI unit in front of what counts from it.
function holes(s,    list, n, hole, i, j, t) {
    n = 0
    while (match(s, /\{[^{}]*\}/)) {
        hole = substr(s, RSTART + 1, RLENGTH - 2)
        s = substr(s, RSTART + RLENGTH)
        if (match(hole, /^[0-9]+/)) list[substr(hole, 1, RLENGTH)] = substr(hole, RLENGTH + 1)
        else list[n] = hole
        ++n
    }
    t = ""
    for (i = 0; i < n; ++i) t = t "{" list[i] "}"
    return n " " t
}
function text(line) { sub(/^[a-z]+ "/, "", line); sub(/"$/, "", line); return line }
/^#\. / { unit = /an SI unit stays in front/ }
/^msgid "./ { id = text($0) }
/^msgid ""/ { id = "" }
/^msgstr / {
    said = text($0)
    if (id != "" && holes(id) != holes(said)) { print "other figures: " id " -> " said; bad = 1 }
    split(id, a, " "); split(said, b, " ")
    if (unit && a[1] ~ /^(ohm|N|degC|mm|m|A|s)$/ && a[1] != b[1]) { print "the unit is not in front: " id " -> " said; bad = 1 }
    unit = 0
}
END { exit bad }
