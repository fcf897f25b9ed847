#!/bin/sh
# Installs what is missing (Debian 12 and 13), builds with warnings as errors, runs the tests.
#   sh tests/run.sh                 the fast tests
#   sh tests/run.sh --bench [--json]    speed of the solver and its error, side by side with other steppers
#   sh tests/run.sh --instruments [--json]    what a reading costs, and the instruments' own error
#   sh tests/run.sh --diagnosis [--part faults] [--way proposed] [--cases N] [--seed S] [--site NAME] [--only N] [--keep FOLDER]    how often suspects
#                                   are right, played from the complaint on (tests/diagnosis/main.cpp)
#   sh tests/run.sh --soak          the slow tests: every fault on every site, fuzzing, the window
#   sh tests/run.sh --sanitize      the fast tests under the address and undefined-behaviour sanitizers
#   sh tests/run.sh --tidy [--deep]  clang-tidy over all of sim/ and gui/, without a build; --deep: the static analyser, too (slow)
set -eu
cd "$(dirname "$0")/.."
. ./gui/setting-up.sh
unset LANGUAGE
export LC_ALL=C.UTF-8  # what the tests read is English
need_build_folder
need_packages $PACKAGES_CORE $PACKAGES_WINDOW $PACKAGES_TESTS

what=fast folder=build/tests options=-DSUNSHAFT_STRICT=ON
case "${1:-}" in
    --bench) what=solver ;;
    --instruments) what=instruments ;;
    --diagnosis) what=diagnosis ;;
    --soak) what=soak ;;
    --tidy) what=tidy folder=build/tidy options="-DCMAKE_DISABLE_PRECOMPILE_HEADERS=ON -DSUNSHAFT_TESTS=OFF" ;;
    --sanitize) what=fast folder=build/sanitize options="-DSUNSHAFT_SANITIZE=address,undefined -DSUNSHAFT_STRICT=OFF -DCMAKE_BUILD_TYPE=RelWithDebInfo" ;;  # GCC warns of what is not there
    "") ;;
    *) echo "tests/run.sh: $1: expected --bench, --instruments, --diagnosis, --soak, --sanitize or --tidy" >&2; exit 2 ;;
esac
[ $# -eq 0 ] || shift

# Files of a room are looked at together, as they are compiled: their headers are read once.
if [ $what = tidy ]; then
    command -v clang-tidy > /dev/null || { echo "clang-tidy is not installed: nothing is looked at"; exit 0; }
    checks=-clang-analyzer-*
    [ "${1:-}" != --deep ] || checks=
    # shellcheck disable=SC2086
    cmake -S . -B $folder -G Ninja $options > /dev/null
    sed -n 's/^ *"file": "\(.*\)",*$/\1/p' $folder/compile_commands.json | grep -v _headers.dir |
        xargs -P "$(nproc)" -n 1 clang-tidy -p $folder --quiet --checks="$checks" --warnings-as-errors='*' \
            --extra-arg=-Wno-unknown-warning-option --extra-arg=-Wno-sign-conversion 2> /dev/null ||
        { echo "clang-tidy has findings (see above)"; exit 1; }
    echo "clang-tidy has no findings"
    exit 0
fi
if [ $what = solver ] || [ $what = instruments ] || [ $what = diagnosis ]; then
    # shellcheck disable=SC2086
    build $folder sunshaft-bench-$what -DSUNSHAFT_TESTS=ON $options
    exec $folder/tests/sunshaft-bench-$what "$@"
fi
# shellcheck disable=SC2086
build $folder all -DSUNSHAFT_TESTS=ON $options
export LSAN_OPTIONS="suppressions=$PWD/tests/lsan.supp:print_suppressions=0"
if [ $what = soak ]; then
    exec ctest --test-dir $folder --output-on-failure -L soak
fi
exec ctest --test-dir $folder --output-on-failure -LE soak -j "$(nproc)"
