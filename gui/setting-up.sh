# What has to be installed (Debian 12 and 13), how it is installed and built. Sourced by gui/run.sh and tests/run.sh, from
# the top of the tree. What the tools say goes to files in build/log; here stands one line a stage, and never ten seconds
# without one.
PACKAGES_CORE="g++ cmake ninja-build pkg-config libboost-dev libeigen3-dev libfmt-dev nlohmann-json3-dev libcli11-dev libtomlplusplus-dev libcairo2-dev libpango1.0-dev libtbb-dev libsodium-dev libsqlite3-dev fonts-inter fonts-jetbrains-mono"
PACKAGES_WINDOW="libsfml-dev libimgui-dev libgl-dev libx11-dev fonts-dseg"
PACKAGES_TESTS="catch2 libsundials-dev libopenmpi-dev libfftw3-dev xvfb xdotool x11-utils libgl1-mesa-dri gettext hunspell hunspell-en-gb hunspell-es"

logs=build/log

say() { echo "$*" >&2; }

# progress WORDS LOG COMMAND...: runs the command with its output in the log; tells every few seconds how far it is, which
# the function how_far prints from the log. Returns the command's status.
progress() {
    words=$1 log=$2
    shift 2
    start=$(date +%s)
    "$@" > "$log" 2>&1 < /dev/null &
    child=$!
    trap 'kill "$child" 2>/dev/null; exit 130' INT TERM HUP
    said=$start
    while kill -0 "$child" 2>/dev/null; do
        sleep 0.5
        now=$(date +%s)
        if [ -t 2 ]; then
            printf '\r%s: %s, %s s \033[K' "$words" "$(how_far "$log")" "$((now - start))" >&2
        elif [ $((now - said)) -ge 8 ]; then
            said=$now
            say "$words: $(how_far "$log"), $((now - start)) s"
        fi
    done
    [ ! -t 2 ] || printf '\r\033[K' >&2
    trap - INT TERM HUP
    wait "$child"
}

# The log folder is the first thing written: who may not write here learns it at once.
need_build_folder() {
    mkdir -p "$logs" 2>/dev/null && [ -w "$logs" ] && [ -w build ] && return 0
    say "$PWD/build: cannot be written by $(id -un). Copy the folder to a place of your own and run this there."
    exit 1
}

# Installs what is missing; says first what, how much and how long. Needs root, or sudo, only then.
need_packages() {
    missing=
    for package in "$@"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q '^install ok' || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    say "Missing packages:$missing"
    root=
    if [ "$(id -u)" -ne 0 ]; then
        root="sudo"
        command -v sudo > /dev/null && { sudo -n true 2>/dev/null || [ -t 0 ]; } || {
            say "Only root may install them, and there is no sudo to ask. Have this done as root, then run this again:"
            say "    apt-get update && apt-get install -y --no-install-recommends$missing"
            exit 1
        }
        sudo -v || exit 1  # asks for the password here, where it is seen
    fi
    say "They are installed now, with what they stand on: up to 900 MB on the disk, some minutes. All of it: $logs/packages.txt"
    how_far() { echo "$(grep -c '^\(Get\|Hit\|Ign\|Err\):' "$1") sources"; }
    progress "package lists" "$logs/packages.txt" $root apt-get update || no_packages
    grep -q '^\(Err\|W: Failed\)' "$logs/packages.txt" && no_packages
    # shellcheck disable=SC2086
    all=$(apt-get install -s --no-install-recommends $missing 2>/dev/null | grep -c '^Inst' || true)
    how_far() {
        echo "$(grep -c '^Get:' "$1") of $all fetched, $(grep -c '^Unpacking' "$1") unpacked, $(grep -c '^Setting up' "$1") ready"
    }
    # shellcheck disable=SC2086
    progress "packages" "$logs/packages.txt" $root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing ||
        no_packages
    say "packages: $all installed"
}

no_packages() {
    grep '^\(E:\|Err\|W: Failed\)' "$logs/packages.txt" | head -n 3 >&2 || true
    say "The packages could not be installed. Is there a network? The whole story: $logs/packages.txt"
    exit 1
}

# build FOLDER TARGET OPTIONS...: configures, builds; TARGET "all" for everything.
build() {
    folder=$1 target=$2
    shift 2
    # Made for another place (the tree was moved or copied): nothing in it fits any more.
    if [ -f "$folder/CMakeCache.txt" ]; then
        home=$(sed -n 's/^CMAKE_HOME_DIRECTORY:INTERNAL=//p' "$folder/CMakeCache.txt")
        [ "$home" -ef . ] || { say "$folder was built for $home: building anew"; rm -rf "$folder"; }
    fi
    how_far() { echo "looking at compiler and libraries"; }
    log="$logs/configure-$(basename "$folder").txt"
    progress "configuring" "$log" cmake -S . -B "$folder" -G Ninja "$@" ||
        { cat "$log" >&2; say "The build could not be configured (see above)."; exit 1; }
    if [ -t 2 ]; then
        cmake --build "$folder" --target "$target" >&2
    else
        log="$logs/build-$(basename "$folder").txt"
        how_far() { echo "$(sed -n 's/^\[\([0-9]*\)\/\([0-9]*\)\].*/\1 of \2 steps/p' "$1" | tail -n 1)"; }
        progress "building" "$log" cmake --build "$folder" --target "$target" ||
            { sed -n '/^FAILED/,$p' "$log" >&2; say "The build failed (see above; all of it: $log)."; exit 1; }
    fi
}
