# What has to be installed, by part; Debian 12 and 13. Sourced by gui/run.sh and tests/run.sh.
PACKAGES_CORE="g++ cmake ninja-build pkg-config libboost-dev libeigen3-dev libfmt-dev nlohmann-json3-dev libcli11-dev libtomlplusplus-dev libcairo2-dev"
PACKAGES_WINDOW="libsfml-dev libimgui-dev libgl-dev fonts-inter fonts-jetbrains-mono fonts-dseg"
PACKAGES_TESTS="catch2 libsundials-dev libopenmpi-dev libfftw3-dev xvfb xdotool x11-utils libgl1-mesa-dri"

# Installs what is missing; says so first. Needs root, or sudo, only then.
need_packages() {
    missing=
    for package in "$@"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q '^install ok' || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    echo "installing:$missing" >&2
    root=
    [ "$(id -u)" -eq 0 ] || root=sudo
    $root apt-get update -qq >&2
    # shellcheck disable=SC2086
    DEBIAN_FRONTEND=noninteractive $root apt-get install -y -qq --no-install-recommends $missing >&2
}
