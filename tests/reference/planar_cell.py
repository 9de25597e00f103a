"""Recomputes cases of planar_cell.json by global collocation.

The listed values come from a Galerkin form and from shooting. Here the quarter is a boundary-value problem in
(phi, x, y) with the force as a parameter, solved by scipy's fourth-order collocation with residual control, on
smooth pieces joined end to end; the shapes are rebuilt from their definitions.

Run: pip install numpy scipy mpmath; python3 tests/reference/planar_cell.py
"""

import numpy as np
from scipy.integrate import quad, solve_bvp
from scipy.optimize import brentq
from scipy.special import ellipe, j0, struve

from comparison import Comparison


def sigma(u):
    """Bending integral of a rectangle over its straight value, u = kappa0 w / 2."""
    series = 1 + 3 * u**2 / 5 + 3 * u**4 / 7 + u**6 / 3 + 3 * u**8 / 11
    safe = np.where(abs(u) < 0.05, 0.5, u)
    return np.where(abs(u) < 0.05, series, 3 * (np.arctanh(safe) / safe - 1) / safe**2)


class Shape:
    """Pieces (phi0(t), kappa0(t), ds/dt) with t in 0..1, lengths over the pitch."""

    def __init__(self, inputs):
        a = inputs["amplitude_um"] / inputs["pitch_um"]
        family = inputs["family"]
        if family == "sine":
            slope = 2 * np.pi * a

            def ds(t):
                return 0.25 * np.sqrt(1 + (slope * np.cos(np.pi * t / 2)) ** 2)

            self.pieces = [
                (
                    lambda t: np.arctan(slope * np.cos(np.pi * t / 2)),
                    lambda t: -2 * np.pi * slope * np.sin(np.pi * t / 2) / (4 * ds(t)) ** 3,
                    ds,
                )
            ]
            # Quarter of the arc length of y = a sin 2 pi x by the complete elliptic integral.
            self.length = np.sqrt(1 + slope**2) * ellipe(slope**2 / (1 + slope**2)) / (2 * np.pi)
        elif family == "sine-generated":
            tilt = brentq(lambda t: struve(0, t) / (4 * j0(t)) - a, 1e-6, 2.4)
            q = 1 / (4 * j0(tilt))
            self.length = q
            self.pieces = [
                (
                    lambda t: tilt * np.cos(np.pi * t / 2),
                    lambda t: -tilt * np.pi / (2 * q) * np.sin(np.pi * t / 2),
                    lambda t: q + 0 * t,
                )
            ]
        else:
            self.pieces = self.rounded(family, inputs, a)
            self.length = sum(quad(ds, 0, 1)[0] for _, _, ds in self.pieces)

    @staticmethod
    def rounded(family, inputs, a):
        """Arm or ramp (where there is one), then an arc of constant curvature."""
        if family == "arc":
            radius, arm, tilt = (1 / 16 + a * a) / (2 * a), 0.0, 2 * np.arctan(4 * a)
        elif family == "arc-and-arm" and "tilt_deg" in inputs:
            tilt = np.radians(inputs["tilt_deg"])
            along = [[np.cos(tilt), np.sin(tilt)], [np.sin(tilt), 1 - np.cos(tilt)]]
            arm, radius = np.linalg.solve(along, [0.25, a])
        elif family == "arc-and-arm":
            radius = inputs["radius_um"] / inputs["pitch_um"]
            arm = np.sqrt(1 / 16 + a * a - 2 * a * radius)
            tilt = np.arctan2(a - radius, 0.25) + np.arcsin(radius / np.hypot(0.25, a - radius))
        else:
            return Shape.clothoid(inputs["plateau_share"], a)
        arc = (lambda t: tilt * (1 - t), lambda t: -1 / radius + 0 * t, lambda t: radius * tilt + 0 * t)
        if arm < 1e-12:
            return [arc]
        return [(lambda t: tilt + 0 * t, lambda t: 0 * t, lambda t: arm + 0 * t), arc]

    @staticmethod
    def clothoid(share, a):
        """Curvature rises linearly over 1 - share of the quarter, then stays."""
        ramp = 1 - share

        def angle(f, tilt):
            k = 2 * tilt / (1 + share)
            fall = k * f * f / (2 * ramp) if f < ramp else k * (f - ramp / 2)
            return tilt - fall

        def ratio(tilt):
            points = [ramp] if 0 < ramp < 1 else None
            x = quad(lambda f: np.cos(angle(f, tilt)), 0, 1, points=points, epsabs=1e-13)[0]
            y = quad(lambda f: np.sin(angle(f, tilt)), 0, 1, points=points, epsabs=1e-13)[0]
            return y / (4 * x) - a, x

        greatest = brentq(lambda t: ratio(t)[1], 1.0, 3.1)
        tilt = brentq(lambda t: ratio(t)[0], 1e-6, greatest - 1e-6, xtol=1e-14)
        q = 1 / (4 * ratio(tilt)[1])
        k = 2 * tilt / (q * (1 + share))
        pieces = []
        if ramp > 0:
            length = ramp * q
            pieces.append((lambda t: tilt - k * length * t * t / 2, lambda t: -k * t, lambda t: length + 0 * t))
        if share > 0:
            left = tilt - k * ramp * q / 2
            pieces.append((lambda t: left * (1 - t), lambda t: -k + 0 * t, lambda t: share * q + 0 * t))
        return pieces


def solve(shape, eta, stretch):
    """Force F P^2/EI, inner-edge crest strain and crest height of the stretched quarter."""
    ea = 12 / eta**2
    count = len(shape.pieces)

    def rates(t, state, parameter):
        force = parameter[0]
        out = np.empty_like(state)
        for i, (_, curvature, ds) in enumerate(shape.pieces):
            phi, _, y = state[3 * i : 3 * i + 3]
            k0 = curvature(t)
            moment = force * y
            axial = (force * np.cos(phi) + k0 * moment) / ea
            out[3 * i] = (k0 * (1 + axial) + moment / sigma(k0 * eta / 2)) * ds(t)
            out[3 * i + 1] = (1 + axial) * np.cos(phi) * ds(t)
            out[3 * i + 2] = (1 + axial) * np.sin(phi) * ds(t)
        return out

    def ends(a, b, _):
        residual = [a[1], a[2], b[3 * count - 3], b[3 * count - 2] - (1 + stretch) / 4]
        for i in range(count - 1):
            residual += list(b[3 * i : 3 * i + 3] - a[3 * i + 3 : 3 * i + 6])
        return np.array(residual)

    def span(alpha):
        return sum(quad(lambda t, p=p, d=d: np.cos(alpha * p(t)) * d(t), 0, 1)[0] for p, _, d in shape.pieces)

    target = (1 + stretch) / 4
    alpha = brentq(lambda s: span(s) - target, 1e-3, 1.6) if target < span(0.02) else 0.02
    t = np.linspace(0, 1, 201)
    guess = np.empty((3 * count, t.size))
    x = y = 0.0
    for i, (angle, _, ds) in enumerate(shape.pieces):
        phi = alpha * angle(t)
        step = np.diff(t)
        for row, rate in ((1, np.cos(phi) * ds(t)), (2, np.sin(phi) * ds(t))):
            start = x if row == 1 else y
            guess[3 * i + row] = start + np.concatenate([[0], np.cumsum((rate[1:] + rate[:-1]) / 2 * step)])
        guess[3 * i] = phi
        x, y = guess[3 * i + 1][-1], guess[3 * i + 2][-1]
    crest_curvature = shape.pieces[-1][1](1.0)
    force = (alpha - 1) * crest_curvature / y
    answer = solve_bvp(rates, ends, t, guess, p=[force], tol=1e-9, max_nodes=200000)
    if not answer.success:
        raise RuntimeError(answer.message)
    force, height = answer.p[0], answer.y[3 * count - 1][-1]
    k0 = float(crest_curvature)
    moment = force * height
    axial = (force + k0 * moment) / ea
    chi = moment / float(sigma(np.float64(k0 * eta / 2)))
    y_in = -eta / 2
    return force, axial - y_in * chi / (1 - y_in * k0), height


def linear(shape, eta, stretch):
    """Force and crest strain of small-stretch theory by quadrature of the compliance."""
    ea = 12 / eta**2
    compliance, y = 0.0, 0.0
    for angle, curvature, ds in shape.pieces:
        start = y

        def height(t, angle=angle, ds=ds, start=start):
            return start + quad(lambda v: np.sin(angle(v)) * ds(v), 0, t, epsabs=1e-13)[0]

        nodes, weights = np.polynomial.legendre.leggauss(40)
        for node, weight in zip((nodes + 1) / 2, weights / 2):
            h, k0, phi = height(node), float(curvature(node)), float(angle(node))
            density = h * h / float(sigma(np.float64(k0 * eta / 2))) + (np.cos(phi) + k0 * h) ** 2 / ea
            compliance += weight * density * float(ds(node))
        y = height(1.0)
    force = stretch / 4 / compliance
    k = abs(float(shape.pieces[-1][1](1.0)))
    bending = y * eta / 2 / (float(sigma(np.float64(k * eta / 2))) * (1 - k * eta / 2))
    return force, force * ((1 - y * k) / ea + bending)


def main():
    table = Comparison("planar_cell")
    names = [4, 5, 6, 7, 13, 14, 15, 16, 18, 21, 23, 24, 29, 31, 32, 33, 35, 37, 38, 40, 42]
    for number in names:
        case = table.case(f"cell-{number:02}")
        inputs = case["inputs"]
        pitch, eta = inputs["pitch_um"], inputs["width_um"] / inputs["pitch_um"]
        shape = Shape(inputs)
        table.value(case, "contour_length_um", 4 * shape.length * pitch, 1e-8)
        force, strain, height = solve(shape, eta, inputs["stretch"])
        table.value(case, "end_force_ei_per_p2", force, 1e-6)
        table.value(case, "peak_strain", strain, 1e-6)
        table.value(case, "stretched_amplitude_um", height * pitch, 1e-6)
        force, strain = linear(shape, eta, inputs["stretch"])
        table.value(case, "linear_end_force_ei_per_p2", force, 1e-7)
        table.value(case, "linear_peak_strain", strain, 1e-7)
    table.finish()


if __name__ == "__main__":
    main()
