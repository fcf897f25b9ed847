# Of "file:line TAB words" what is to be spelt: text, labels, and the words of a name; without what is written for the machine.
$2 ~ /^[a-z]+([-_.][a-z]+)+$/ { gsub(/[-_.]/, " ", $2); print; next }
$2 !~ /[A-Za-z,] [a-z(]/ && $2 !~ /^[A-Z][a-z]+[a-z ]*$/ { next }
{
    gsub(/[^ ]*[@_=&<>][^ ]*/, " ", $2)                 # keys, faults with their place, markup
    gsub(/(^|[ ("'`])--?[a-z][-a-z]*/, " ", $2)         # options
    gsub(/[A-Za-z0-9]+[.\/][A-Za-z0-9_.\/]+/, " ", $2)  # points, files, m3/h
    gsub(/'s([^a-z]|$)/, " ", $2)
    gsub(/[A-Za-z]*[0-9][A-Za-z0-9]*/, " ", $2)         # figures and what hangs on them
    print
}
