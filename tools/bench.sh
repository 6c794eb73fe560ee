#!/usr/bin/env bash
# Prints the numbers that the engines reach on this machine. Outside data is
# named by the environment: LAYOUTS (a folder of layout instances), PEOPLE (a
# folder of survey tables), PHOTOS (a folder of photographs with cases.json;
# without it photographs are made afresh by the generator, from SEED), SCALPS (a
# folder of tables of tools/scalp_of_scan.py; without it those of the tests),
# HEAT_PYTHON (a python with potpourri3d, to time its robust heat method).
set -uo pipefail
example() { echo "== $1 $2"; cargo run --locked --release -q -p "$1" --example "$2" -- "${@:3}"; }
example colour bench_difference
example craft bench_matching
photos=${PHOTOS:-target/photos-made}
[ -n "${PHOTOS:-}" ] || example photo make_photos "$photos" "${SEED:-71}"
example photo bench_photos "$photos"
example photo bench_bad_photos
example head bench_head ${PEOPLE:+"$PEOPLE"}
example head bench_scans ${SCALPS:+"$SCALPS"/*.txt}
example head bench_measuring
if [ -n "${HEAT_PYTHON:-}" ]; then
  meshes=target/meshes-made
  example head bench_geodesics --write "$meshes"
  for mesh in sphere head; do
    "$HEAT_PYTHON" crates/head/benches/reference_heat.py "$meshes/$mesh.obj" 17 "$meshes/$mesh.txt"
    example head bench_geodesics "$meshes/$mesh.obj" 17 "$meshes/$mesh.txt"
  done
else
  echo "== robust heat method left out: name in HEAT_PYTHON a python that has: pip install potpourri3d pygeodesic numpy"
fi
example craft bench_coverage
example craft bench_placement
example craft bench_judge
[ -n "${LAYOUTS:-}" ] && example craft bench_layout "$LAYOUTS"
example craft bench_wear
example salon bench_buy
example salon bench_plan casebook/ring.json casebook/stock.json casebook/*/client.toml
exit 0
