# Sentences of more than 20 words (-v most=N: of more), in "file:line TAB words"; -v listed=FILE holds the exceptions, "beginning TAB reason".
# What is one identifier, a command to be typed, or a plot's pieces is no sentence.
BEGIN {
    if (!most) most = 20
    FS = "\t"
    while ((getline line < listed) > 0) {
        if (line ~ /^#/ || line == "") continue
        split(line, part, "\t")
        if (part[2] == "") { print listed ": no reason: " line; bad = 1 }
        allowed[part[1]] = part[2]
    }
}
$2 !~ /[a-z,] [a-z(]/ || $2 ~ /^(Example:)? *sunshaft(-bench)? / || $2 ~ /^ *\$ / { next }
{
    s = $2
    gsub(/[.!?]["')*]* /, "&\001", s)
    n = split(s, sentence, "\001")
    for (i = 1; i <= n; ++i) {
        words = split(sentence[i], word, " ")
        if (words <= most) continue
        sub(/^ +/, "", sentence[i])
        known = 0
        for (start in allowed) if (index(sentence[i], start) == 1) { used[start] = known = 1 }
        if (!known) { print $1 ": " words " words, at most " most ": " sentence[i]; bad = 1 }
    }
}
END {
    for (start in allowed) if (!(start in used)) { print listed ": no such long sentence any more: " start; bad = 1 }
    exit bad
}
