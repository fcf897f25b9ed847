#!/bin/sh
# Installs what is missing (Debian 12 and 13), builds, opens the bench on the demo site. Without a display it prints the
# demo's readings instead. Arguments go to the program: sh gui/run.sh scenarios/bench-rig.toml
# sh gui/run.sh --folder DIR makes one folder that runs anywhere, without a network or a compiler.
set -eu
from=$PWD
cd "$(dirname "$0")/.."
. ./gui/setting-up.sh
need_build_folder

# sh gui/run.sh --folder DIR: one folder with all the programs need but a display's own drivers, for a stick.
if [ "${1:-}" = --folder ]; then
    [ $# -eq 2 ] || { say "gui/run.sh --folder: expected the folder to be made"; exit 2; }
    case $2 in /*) folder=$2 ;; *) folder=$from/$2 ;; esac
    [ ! -e "$folder" ] || { say "$folder: is there already, expected a new folder"; exit 2; }
    need_packages $PACKAGES_CORE $PACKAGES_WINDOW
    build build/bench all -DSUNSHAFT_GUI=ON
    . ./gui/folder.sh
    make_folder build/bench "$folder"
    exit
fi

# A file named from where the command was given.
for argument in "$@"; do
    shift
    case $argument in
        -* | /*) ;;
        *) [ ! -f "$from/$argument" ] || argument=$from/$argument ;;
    esac
    set -- "$@" "$argument"
done

readings() {
    say "no window: $1. The site's readings instead:"
    shift
    build build/bench sunshaft -DSUNSHAFT_GUI="$with_window"
    site=hill-orchard
    for argument in "$@"; do
        case $argument in -*) ;; *) site=$argument && break ;; esac
    done
    exec build/bench/sim/sunshaft sheet "$site"
}

if [ -z "${DISPLAY:-}${WAYLAND_DISPLAY:-}" ]; then
    need_packages $PACKAGES_CORE
    with_window=OFF
    readings "there is no display" "$@"
fi
need_packages $PACKAGES_CORE $PACKAGES_WINDOW
with_window=ON
build build/bench sunshaft-bench -DSUNSHAFT_GUI=ON
status=0
build/bench/gui/sunshaft-bench "$@" || status=$?
[ $status -eq 3 ] || exit $status  # 3: it said why no window can be opened
readings "see above" "$@"
