#!/usr/bin/env bash
# Prints the numbers that the engines reach on this machine. Outside data is
# named by the environment: LAYOUTS (a folder of layout instances), PEOPLE
# (survey tables), PHOTOS (a folder of photographs with cases.json).
set -uo pipefail
example() { echo "== $1 $2"; cargo run --locked --release -q -p "$1" --example "$2" -- "${@:3}"; }
example colour bench_difference
example craft bench_matching
example craft bench_coverage
example craft bench_placement
example salon bench_buy
[ -n "${LAYOUTS:-}" ] && example craft bench_layout "$LAYOUTS"
example head bench_measuring
[ -n "${PEOPLE:-}" ] && example head bench_people $PEOPLE
[ -n "${PHOTOS:-}" ] && example photo bench_photos "$PHOTOS"
exit 0
