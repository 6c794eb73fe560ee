"""Times the robust heat method of potpourri3d: `python reference_heat.py MESH.obj SOURCE EXACT.txt`.

Needs `pip install potpourri3d pygeodesic numpy` in an environment of its own;
the project itself needs none of them. MESH.obj is written by the example
`bench_geodesics -- --write FOLDER`. EXACT.txt holds one exact distance to a
line; where it is not there yet it is worked out by pygeodesic (the exact
distances on the mesh itself) and written. Compare with the example
`bench_geodesics -- MESH.obj SOURCE EXACT.txt`, which prints the same for ours.
"""

import os
import sys
import time

import numpy
import potpourri3d

ROUNDS = 9


def read_obj(path):
    lines = [line.split() for line in open(path, encoding="ascii")]
    vertices = numpy.array([words[1:4] for words in lines if words and words[0] == "v"], dtype=float)
    faces = numpy.array([words[1:4] for words in lines if words and words[0] == "f"], dtype=numpy.int64) - 1
    return vertices, faces


def exact_distances(path, vertices, faces, source):
    if os.path.exists(path):
        return numpy.loadtxt(path)
    import pygeodesic.geodesic

    start = time.perf_counter()
    algorithm = pygeodesic.geodesic.PyGeodesicAlgorithmExact(vertices, faces.astype(numpy.int32))
    exact, _ = algorithm.geodesicDistances(numpy.array([source], dtype=numpy.int32), None)
    print(f"pygeodesic, exact: {time.perf_counter() - start:.2f} s")
    numpy.savetxt(path, exact, fmt="%.9f")
    return exact


def main():
    mesh, source, exact_path = sys.argv[1], int(sys.argv[2]), sys.argv[3]
    vertices, faces = read_obj(mesh)
    exact = exact_distances(exact_path, vertices, faces, source)
    start = time.perf_counter()
    solver = potpourri3d.MeshHeatMethodDistanceSolver(vertices, faces, use_robust=True)
    found = solver.compute_distance(source)
    first = time.perf_counter() - start
    rounds = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        found = solver.compute_distance(source)
        rounds.append(time.perf_counter() - start)
    errors = numpy.abs(found - exact)
    print(
        f"potpourri3d's robust heat method, {len(vertices)} vertices: factor and first query {1e3 * first:.1f} ms, "
        f"each later query {1e3 * min(rounds):.2f} ms; error mean {errors.mean():.4f} worst {errors.max():.3f}"
    )


if __name__ == "__main__":
    main()
