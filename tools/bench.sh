#!/usr/bin/env bash
# Prints the numbers that the engines reach on this machine. Outside data is
# named by the environment: LAYOUTS (a folder of layout instances), PEOPLE (a
# folder of survey tables), PHOTOS (a folder of photographs with cases.json;
# without it photographs are made afresh by the generator, from SEED), REAL_PHOTOS (a
# folder of camera pictures with cases.json; without it those of the tests), SCALPS (a
# folder of tables of tools/scalp_of_scan.py; without it those of the tests), EVENTS
# (events of the generated book, 20,000 without it; 2000000 for the design's size),
# SALON (the generated salon's size, 0.05 without it; 1 for 10,000 clients, 120,000
# visits and 2 million events of pieces: the size that the bars are set for),
# REFERENCE_PYTHON (a python with colour-science, potpourri3d and pygeodesic, to
# time the libraries that ours are held against).
set -uo pipefail
example() { echo "== $1 $2"; cargo run --locked --release -q -p "$1" --example "$2" -- "${@:3}"; }
example colour bench_difference
if [ -n "${REFERENCE_PYTHON:-}" ]; then
  "$REFERENCE_PYTHON" crates/colour/benches/reference_difference.py
else
  echo "== reference libraries left out: name in REFERENCE_PYTHON a python that has: pip install numpy colour-science potpourri3d pygeodesic"
fi
example craft bench_matching
photos=${PHOTOS:-target/photos-made}
[ -n "${PHOTOS:-}" ] || example photo make_photos "$photos" "${SEED:-71}"
example photo bench_photos "$photos"
example photo bench_real_photos ${REAL_PHOTOS:+"$REAL_PHOTOS"}
example photo bench_real_folds ${REAL_PHOTOS:+"$REAL_PHOTOS"}
example photo bench_find --quick ${REAL_PHOTOS:+"$REAL_PHOTOS"}
example photo bench_bad_photos
example photo bench_small_charts
example photo bench_framing "$photos" ${REAL_PHOTOS:+"$REAL_PHOTOS"}
example photo bench_same_phone "$photos" ${REAL_PHOTOS:+"$REAL_PHOTOS"}
example head bench_head ${PEOPLE:+"$PEOPLE"}
example head bench_scans ${SCALPS:+"$SCALPS"/*.txt}
example head bench_measuring
if [ -n "${REFERENCE_PYTHON:-}" ]; then
  meshes=target/meshes-made
  example head bench_geodesics --write "$meshes"
  for mesh in sphere head; do
    "$REFERENCE_PYTHON" crates/head/benches/reference_heat.py "$meshes/$mesh.obj" 17 "$meshes/$mesh.txt"
    example head bench_geodesics "$meshes/$mesh.obj" 17 "$meshes/$mesh.txt"
  done
fi
example craft bench_coverage
example craft bench_placement
example craft bench_judge
[ -n "${LAYOUTS:-}" ] && example craft bench_layout "$LAYOUTS"
example craft bench_wear
example store bench_book ${EVENTS:+"$EVENTS"}
example desk bench_salon ${SALON:+"$SALON"}
example salon bench_buy
example salon bench_panel
example salon bench_plan casebook/ring.json casebook/stock.json casebook/*/client.toml
exit 0
