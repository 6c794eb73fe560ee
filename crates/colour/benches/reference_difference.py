"""Times CIEDE2000 of colour-science in numpy: `python reference_difference.py [PAIRS]`.

Needs `pip install colour-science numpy` in an environment of its own; the
project itself needs neither. Compare with the example `bench_difference`.
"""

import sys
import time

import numpy
from colour.difference import delta_E_CIE2000

count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000_000
random = numpy.random.default_rng(1)
first, second = (random.uniform([0, -100, -100], [100, 100, 100], (count, 3)) for _ in range(2))
best = float("inf")
for turn in range(1, 6):
    start = time.perf_counter()
    found = delta_E_CIE2000(first, second)
    seconds = time.perf_counter() - start
    best = min(best, seconds)
    print(f"colour-science, round {turn}: {count} pairs in {seconds:.3f} s, mean {found.mean():.6f}")
print(f"colour-science, best round: {best:.3f} s")
