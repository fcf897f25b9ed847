# Functions of more than 60 lines, by the layout's indents: a head that ends in "{", its "}" at the same column.
# -v listed=FILE: those that may be longer, "file TAB function TAB lines TAB why". Prints what is too long, and what is
# listed and need not be.
BEGIN {
    FS = "\t"
    limit = 60
    while ((getline line < listed) > 0) {
        if (line ~ /^#/ || line == "") continue
        split(line, part, "\t")
        if (part[3] + 0 <= limit || part[4] == "") { print listed ": no length, or no reason: " line; bad = 1 }
        allowed[part[1] "\t" part[2]] = part[3]
    }
}
FNR == 1 { open = 0; head = "" }
{
    match($0, /^ */); column = RLENGTH
    if (open && column == at && $0 ~ /^ *\}[;,)]*$/) {
        open = 0
        lines = FNR - start + 1
        if (lines > limit) {
            key = FILENAME "\t" name
            if (!(key in allowed)) { print FILENAME ":" start ": " name " has " lines " lines, at most " limit; bad = 1 }
            else if (lines > allowed[key]) { print FILENAME ":" start ": " name " has " lines " lines, listed with " allowed[key]; bad = 1 }
            used[key] = 1
        }
    }
    # What a head has said so far: it may go over lines.
    if ($0 ~ /^ *$|^ *\/\/|[;}]$|:$/) head = ""
    else if (head == "") { head = $0; first = FNR; left = column }
    else head = head " " $0
    if ($0 ~ /\{$/) {
        if ((!open || left <= at) && head ~ /[A-Za-z_>~]\(/ && head !~ /^ *(if|for|while|switch|else|do|\}|return|namespace|class|struct|enum)[ (]/ && head !~ /=/ ) {
            open = 1; at = left; start = first
            name = head
            sub(/\(.*/, "", name)
            sub(/^.*[ *&]/, "", name)
        }
        head = ""
    }
}
END {
    for (key in allowed) if (!(key in used)) { split(key, part, "\t"); print listed ": need not be listed any more: " part[1] " " part[2]; bad = 1 }
    exit bad
}
