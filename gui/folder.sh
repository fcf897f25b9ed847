# make_folder BUILD DIR: programs, sites, meters, fonts, and the libraries that a bare system lacks, in one folder that
# starts from wherever it is put. Sourced by gui/run.sh.

# The C library and the graphics driver's side belong to the machine. What a driver itself needs (an X client's
# libraries, the C++ library, a few small ones) must be as new as the driver is: the window takes the machine's. The
# command line, which may stand where there is no display, brings its own.
of_the_machine='/(ld-linux[^/]*|lib(c|m|dl|pthread|rt|resolv)|libGL[^/]*|libOpenGL|libEGL|libdrm)\.so'
of_a_driver='/lib(X11|Xext|Xau|Xdmcp|xcb|bsd|md|stdc\+\+|gcc_s|z|expat|ffi)\.so'

make_folder() {
    half=$(mktemp -d "$(dirname "$2")/.sunshaft-XXXXXX")
    trap 'rm -rf "$half"' EXIT
    cmake --install "$1" --prefix "$half" --strip > "$logs/folder.txt" 2>&1 || { cat "$logs/folder.txt" >&2; exit 1; }
    mkdir -p "$half/lib/sunshaft/x" "$half/share/sunshaft/fonts"
    ldd "$half/bin/sunshaft" "$half/bin/sunshaft-bench" | sed -n 's/.* => \(\/[^ ]*\) .*/\1/p' | sort -u |
        grep -Ev "$of_the_machine" | while read -r library; do
            if echo "$library" | grep -Eq "$of_a_driver"; then cp -L "$library" "$half/lib/sunshaft/x/"
            else cp -L "$library" "$half/lib/sunshaft/"; fi
        done
    for font in opentype/inter/Inter-Regular.otf opentype/inter/Inter-SemiBold.otf \
        truetype/jetbrains-mono/JetBrainsMono-Regular.ttf truetype/jetbrains-mono/JetBrainsMono-SemiBold.ttf \
        truetype/dseg/DSEG7Classic-Regular.ttf; do
        [ ! -f "/usr/share/fonts/$font" ] || cp "/usr/share/fonts/$font" "$half/share/sunshaft/fonts/"
    done
    chmod 755 "$half"
    mv "$half" "$2"
    trap - EXIT
    say "$2: $(du -sh "$2" | cut -f1). Window: bin/sunshaft-bench, command line: bin/sunshaft sheet hill-orchard"
}
