#!/bin/sh
# Three hundred readings as JSON, one file each, to be compared before and after a redesign with diff -r.
#   golden.sh PROGRAM FOLDER
set -eu
program=$1 folder=$2
mkdir -p "$folder"
places="--red@drive.u@--black@drive.v@--mode@acv@--meter@average
--red@drive.u@--black@drive.v@--mode@acv@--meter@true-rms
--red@drive.v@--black@drive.w@--mode@dcv
--red@drive.w@--black@drive.u@--mode@hz
--around@u
--around@uvw
--around@v@--mode@inrush
--red@dc+@--black@dc-@--mode@dcv
--red@dc-@--black@earth@--mode@dcv@--meter@true-rms
--red@lead.u@--black@lead.v@--mode@ohm@--do@open@isolator@--do@pull@pump@--anyway
--red@lead.w@--black@earth@--mode@insulation@--do@open@isolator@--do@pull@pump@--anyway
--red@flow"
faults="healthy high-resistance-splice@v=2.4 lost-phase@splice.u=1 cable-earth-leakage@w=1000 dragging-bearing@motor"
for site in bench-rig hill-orchard river-meadow stone-fold terrace-pwm; do
    for fault in $faults; do
        n=0
        for place in $places; do
            n=$((n + 1))
            # open@isolator and its like keep their own sign
            words=$(echo "$place" | sed 's/open@isolator/open%isolator/g; s/pull@pump/pull%pump/g; s/@/ /g; s/%/@/g')
            [ "$site" != bench-rig ] || words=$(echo "$words" | sed 's/--do open@isolator//')
            [ "$fault" = healthy ] || words="$words --fault $fault"
            # shellcheck disable=SC2086
            "$program" read "$site" $words --json > "$folder/$site $fault $n.json" 2>&1 || true
        done
    done
done
ls "$folder" | wc -l
