"""Brent's method of scipy on the general formula of OIML R 22 (1975): the peer of the bench
`strength`. Prints the seconds of one solve, then the strengths of all readings, % vol."""
import csv
import pathlib
import time

import numpy
from scipy.optimize import brentq

ROOT = pathlib.Path(__file__).resolve().parents[3]
TABLE = ROOT / "tests" / "reference" / "oiml_r22_coefficients.csv"
A, B, C = [0.0] * 12, [0.0] * 6, [[0.0] * 11 for _ in range(5)]
with open(TABLE, encoding="utf-8") as lines:
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        k, value = int(row["k"]) - 1, float(row["value"])
        if row["coefficient"] == "A":
            A[k] = value
        elif row["coefficient"] == "B":
            B[k] = value
        else:
            C[int(row["i"]) - 1][k] = value


def folded(t):
    """The formula at one temperature, lowest power of the mass fraction first."""
    d = t - 20.0
    c = list(A)
    c[0] += sum(b * d ** (k + 1) for k, b in enumerate(B))
    for i, of in enumerate(C):
        for k, value in enumerate(of):
            c[k + 1] += value * d ** (i + 1)
    return c


def density(c, p):
    total = 0.0
    for coefficient in reversed(c):
        total = total * p + coefficient
    return total


ETHANOL = sum(A)


def strength(rho, t):
    c = folded(t)
    p = brentq(lambda x: density(c, x) - rho, 0.0, 1.0, xtol=1e-14)
    return 100.0 * p * density(A, p) / ETHANOL


readings = []
for i in range(4096):
    a, b = (i * 2654435761) % 9973, (i * 40503) % 8191
    t = 40.0 * (b + 0.5) / 8191.0
    readings.append((density(folded(t), (a + 0.5) / 9973.0), t))
start = time.perf_counter()
found = [strength(rho, t) for rho, t in readings]
print((time.perf_counter() - start) / len(readings))
for figure in numpy.asarray(found):
    print(repr(float(figure)))
