#!/bin/sh
# Which tests would not notice a fault: breaks the pure floors, one place at a time, and
# runs their tests on each. On demand, for hours; docs/mutants.md lists what survived and why.
#
#   tools/mutants.sh                 floors 0 to 3
#   tools/mutants.sh measure         one crate
#   tools/mutants.sh colour -f lab   one crate's files of that name
set -eu
cd "$(dirname "$0")/.."

command -v cargo-mutants >/dev/null || {
    echo "cargo-mutants is missing: cargo install cargo-mutants --locked" >&2
    exit 1
}

case "${1:-}" in
    ""|-*) crates="measure colour head reading craft salon" ;;
    *) crates=$1; shift ;;
esac
for crate in $crates; do
    echo "== $crate"
    # 2 is "some survived": the next crate is tried all the same.
    nice -n 15 cargo mutants --package "$crate" --output "target/mutants/$crate" "$@" || [ $? -eq 2 ]
    cat "target/mutants/$crate/mutants.out/missed.txt"
done
