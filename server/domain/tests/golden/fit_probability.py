"""Makes fit_probability.csv: the probability of 1,000 random fits, by SciPy.

Run:  python fit_probability.py > fit_probability.csv
Needs NumPy and SciPy. The seed is fixed, so the rows are always the same.

The definition, independent of the Rust code: the clearance is hole less shaft. A measured part is
several sizes at once (its readings), all shifted by one gauge error, normal with standard deviation
U / 2; an unmeasured or bounded part is one size, uniform over its range, with the gauge's error if
it has one. The fit holds if the tightest and the loosest place are both inside the window. The two
uniform sizes are integrated over the density of their sum (a trapezoid), the normal error by its
distribution function from the nearer tail.
"""

import csv
import sys

import numpy as np
from scipy.integrate import quad
from scipy.special import ndtr

SEED = 2026
ROWS = 1000
NOMINAL = 30_000_000


def normal_between(low, high):
    if low > high:
        return 0.0
    if low > 0:
        return ndtr(-low) - ndtr(-high)
    if high < 0:
        return ndtr(high) - ndtr(low)
    return 1.0 - ndtr(low) - ndtr(-high)


def trapezoid(t, a, b):
    """Density at t of the sum of two uniforms of half widths a >= b > 0."""
    return max(0.0, min(a, t + b) - max(-a, t - b)) / (4 * a * b)


def overlap(low, high, a, b):
    """The share of the uniform parts' sum that lies between low and high (no gauge error)."""
    low, high = max(low, -a - b), min(high, a + b)
    if low > high:
        return 0.0
    if a == 0:
        return 1.0
    if b == 0:
        return (high - low) / (2 * a)
    corners = [c for c in (-(a - b), a - b) if low < c < high]
    ends = [low, *corners, high]
    # The density is linear between its corners: the mean of the ends is exact.
    return sum(
        (trapezoid(x, a, b) + trapezoid(y, a, b)) / 2 * (y - x) for x, y in zip(ends, ends[1:])
    )


def probability(sigma, a, b, low, high):
    """P(low <= normal + uniform + uniform <= high)."""
    if low > high:
        return 0.0
    a, b = max(a, b), min(a, b)
    if sigma == 0:
        return overlap(low, high, a, b)
    if a == 0:
        return normal_between(low / sigma, high / sigma)

    def inside(t):
        density = 1 / (2 * a) if b == 0 else trapezoid(t, a, b)
        return density * normal_between((low - t) / sigma, (high - t) / sigma)

    marks = {-a - b, a + b, -(a - b), a - b}
    for edge in (low, high):
        marks |= {edge + k * sigma for k in (-12, -8, -6, -4, -2, 0, 2, 4, 6, 8, 12)}
    ends = sorted(t for t in marks if -a - b <= t <= a + b)
    pieces = [
        quad(inside, x, y, epsabs=0, epsrel=1e-13, limit=200)[0]
        for x, y in zip(ends, ends[1:])
        if y > x
    ]
    return float(np.sum(sorted(pieces)))


def part(rng):
    low = NOMINAL + int(rng.integers(-20_000, 20_000))
    kind = rng.choice(["measured", "toleranced", "bound"], p=[0.5, 0.35, 0.15])
    width = int(rng.choice([0, rng.integers(1, 40), rng.integers(40, 25_000)], p=[0.15, 0.15, 0.7]))
    if kind == "measured":
        width //= 4
    uncertainty = 0 if kind == "toleranced" else int(rng.integers(0, 9_000))
    if kind == "measured" and rng.random() < 0.04:
        uncertainty = 0
    if kind == "measured":
        uncertainty = max(uncertainty, 1)  # no reading is exact
    return kind, low, low + width, uncertainty


def main():
    rng = np.random.default_rng(SEED)
    out = csv.writer(sys.stdout, lineterminator="\n")
    side = ["kind", "low_nm", "high_nm", "u_nm"]
    out.writerow(
        [f"hole_{c}" for c in side]
        + [f"shaft_{c}" for c in side]
        + ["window_min_nm", "window_max_nm", "probability"]
    )
    for _ in range(ROWS):
        hole, shaft = part(rng), part(rng)
        middle = (hole[1] + hole[2] - shaft[1] - shaft[2]) // 2
        window_min = middle + int(rng.integers(-30_000, 12_000))
        window_max = window_min + int(rng.integers(0, 45_000))
        form = sum(p[2] - p[1] for p in (hole, shaft) if p[0] == "measured")
        half_widths = [(p[2] - p[1]) / 2 if p[0] != "measured" else 0.0 for p in (hole, shaft)]
        sigma = float(np.hypot(hole[3], shaft[3])) / 2
        centre = (hole[1] + hole[2] - shaft[1] - shaft[2]) / 2
        # The tightest place is half the form below the centre, the loosest half above.
        p = probability(
            sigma, *half_widths, window_min + form / 2 - centre, window_max - form / 2 - centre
        )
        out.writerow([*hole, *shaft, window_min, window_max, repr(float(p))])


if __name__ == "__main__":
    main()
