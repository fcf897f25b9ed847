# Words no one in the trade says, and phrases that say nothing, in "file:line TAB words"; -v table=FILE: "pattern TAB better".
BEGIN {
    FS = "\t"
    while ((getline line < table) > 0) {
        if (line ~ /^#/ || line == "") continue
        tab = index(line, "\t")
        pattern[++n] = "(^|[^a-z])(" substr(line, 1, tab - 1) ")([^a-z]|$)"
        better[n] = substr(line, tab + 1)
    }
    if (n < 20) { print table ": only " n " rows"; exit 1 }
}
{
    s = tolower($2)
    for (i = 1; i <= n; ++i)
        if (match(s, pattern[i])) { print $1 ": \"" substr($2, RSTART, RLENGTH) "\": " better[i]; bad = 1 }
}
END { exit bad }
