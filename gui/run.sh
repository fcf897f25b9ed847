#!/bin/sh
# Installs what is missing (Debian 12 and 13), builds, opens the bench on the demo site. Without a display it prints the
# demo's readings instead. Arguments go to the program: sh gui/run.sh scenarios/bench-rig.toml
set -eu
cd "$(dirname "$0")/.."
. ./gui/packages.sh
need_packages $PACKAGES_CORE $PACKAGES_WINDOW

cmake -S . -B build/bench -G Ninja > "${TMPDIR:-/tmp}/sunshaft-configure.log" 2>&1 ||
    { cat "${TMPDIR:-/tmp}/sunshaft-configure.log"; exit 1; }
if [ -n "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
    cmake --build build/bench --target sunshaft-bench >&2
    [ $# -gt 0 ] || set -- hill-orchard
    exec build/bench/gui/sunshaft-bench "$@"
fi
echo "no display: the demo's readings instead of the window" >&2
cmake --build build/bench --target sunshaft >&2
[ $# -gt 0 ] || set -- hill-orchard
exec build/bench/sim/sunshaft sheet "$@"
