# The English of a catalogue as it would be seen: of every entry that another language says otherwise, its longest piece
# between figures, if that is long enough to be no chance.
function text(line) { sub(/^[a-z]+ "/, "", line); sub(/"$/, "", line); gsub(/\\"/, "\"", line); return line }
/^msgid / { id = text($0) }
/^msgstr / {
    said = text($0)
    if (id == "" || id == said) next
    n = split(id, piece, /\{[^{}]*\}|\\n/)
    longest = ""
    for (i = 1; i <= n; ++i) if (length(piece[i]) > length(longest)) longest = piece[i]
    gsub(/^ +| +$/, "", longest)
    if (length(longest) >= 12 && longest ~ / / && index(said, longest) == 0) print longest
}
