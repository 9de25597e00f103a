"""Times a general-purpose rod solver on one buckled state, to set beside the Rust one.

The design arc-n1-wt5 of spatial_ribbon.json: two arcs, each a piece of one boundary-value problem for scipy's solve_bvp
(adaptive fourth-order collocation, finite-difference Jacobians), in quaternion, position, twist, curvature, moment and
force. Timed are the onset (plane states by solve_bvp, the linear problem in twist and out-of-plane rotation by
solve_ivp, its determinant by brentq) and the buckled state at a stretch of 0.2, entered at the onset and followed.
Errors against the table are printed with the times; --law rod or ribbon, --repeat N, --tolerance T.

Run: pip install numpy scipy mpmath; python3 tests/reference/rod_timing.py
"""

import argparse
import time

import numpy as np
from scipy.integrate import solve_bvp, solve_ivp
from scipy.optimize import brentq

from collocation import sigma
from comparison import Comparison
from rod import Rod, Section, turned

DESIGN, STRETCH = "arc-n1-wt5", 0.2
SEED = 0.1


class TwoArcs:
    """The ribbon as two arcs; everything over the pitch. Angles run from +90 to -90 degrees and back."""

    def __init__(self, section, tolerance):
        self.section, self.tolerance = section, tolerance
        self.rest, self.ds = np.array([-4.0, 4.0]), np.pi / 4
        self.tilt = np.pi / 2
        self.rod = Rod.__new__(Rod)
        self.rod.section = section

    def plane_rates(self, phi, moment, h, v, piece):
        """Rates of (phi, x, y, M) per contour length."""
        section, rest = self.section, self.rest[piece]
        axial = (h * np.cos(phi) + v * np.sin(phi) + rest * moment) / section.ea
        bent = rest * (1 + axial) + moment / sigma(rest * section.width / 2)
        turning = (1 + axial) * (h * np.sin(phi) - v * np.cos(phi))
        return bent, (1 + axial) * np.cos(phi), (1 + axial) * np.sin(phi), turning

    def plane(self, stretch, guess=None):
        """Plane state as solve_bvp's solution; states (phi, x, y, M) of both arcs, parameters (H, V)."""

        def rates(_, state, force):
            return np.vstack([self.plane_rates(state[k], state[k + 3], *force, k // 4) for k in (0, 4)]) * self.ds

        def ends(a, b, _):
            joint = b[:4] - a[4:]
            return np.concatenate([[a[0] - self.tilt, a[1], a[2]], joint, [b[4] - self.tilt, b[5] - 1 - stretch, b[6]]])

        if guess is None:
            t = np.linspace(0, 1, 11)
            angle = self.tilt * (1 - 2 * t)
            x, y = (1 - np.sin(angle)) / 4, np.cos(angle) / 4
            zero = 0 * t
            guess = t, np.vstack([angle, x, y, zero, -angle, 0.5 + x, -y, zero]), [1.0, 0.0]
        answer = solve_bvp(rates, ends, guess[0], guess[1], p=guess[2], tol=self.tolerance, max_nodes=20000)
        if not answer.success:
            raise RuntimeError(answer.message)
        return answer

    def linear(self, plane):
        """Fundamental solution of (alpha, beta, p_alpha, p_beta, constraint, v), dense, on both arcs."""
        section, (h, v) = self.section, plane.p

        def rates(t, flat, piece):
            field = flat.reshape(6, 3)
            alpha, beta, p_alpha, p_beta, constraint, _ = field
            phi, _, _, moment = plane.sol(t)[4 * piece : 4 * piece + 4]
            pull = h * np.cos(phi) + v * np.sin(phi)
            axial = (pull + self.rest[piece] * moment) / section.ea
            k = self.plane_rates(phi, moment, h, v, piece)[0]
            slope = (p_beta + moment * alpha) / section.bending - k * alpha
            bending = k * p_beta - moment * slope
            twist = p_alpha / (section.torsion + section.wagner * pull) + k * beta
            shear = -k * p_alpha - k * moment * beta + (1 + axial) * (pull * beta + constraint)
            out = np.array([twist, slope, bending, shear, 0 * beta, -(1 + axial) * beta])
            return out.ravel() * self.ds

        start = np.zeros((6, 3))
        start[[2, 3, 4], [0, 1, 2]] = 1
        pieces = []
        for piece in (0, 1):
            done = solve_ivp(
                rates, (0, 1), start.ravel(), args=(piece,), rtol=self.tolerance, atol=1e-9, dense_output=True
            )
            pieces.append(done.sol)
            start = done.y[:, -1].reshape(6, 3)
        return pieces, start[[0, 1, 5]]

    def onset(self, low, high):
        """First stretch at which the plane state may leave its plane, the state there and its mode."""
        guess = None

        def determinant(stretch):
            nonlocal guess
            plane = self.plane(stretch, guess)
            guess = plane.x, plane.y, plane.p
            return np.linalg.det(self.linear(plane)[1])

        stretch = brentq(determinant, low, high, xtol=1e-7)
        plane = self.plane(stretch, guess)
        pieces, closing = self.linear(plane)
        return stretch, plane, pieces, np.linalg.svd(closing)[2][-1]

    def seed(self, plane, pieces, null, t):
        """Plane state plus mode at the places t: thirteen states for each arc, then the stretch."""
        fields = [piece(t).reshape(6, 3, -1).transpose(0, 2, 1) @ null for piece in pieces]
        size = SEED / max(np.abs(field[:2]).max() for field in fields)
        rows = []
        for piece, field in enumerate(fields):
            phi, x, y, moment = plane.sol(t)[4 * piece : 4 * piece + 4]
            alpha, beta, p_alpha, p_beta, _, deflection = size * field
            q = np.array([np.cos(phi / 2), 0 * phi, 0 * phi, np.sin(phi / 2)])
            q = q + turned(q, alpha, beta, 0 * phi) / 2
            pull = plane.p[0] * np.cos(phi) + plane.p[1] * np.sin(phi)
            tau = p_alpha / (self.section.torsion + self.section.wagner * pull)
            kappa = (p_beta + moment * alpha) / self.section.bending
            one = np.ones_like(t)
            forces = [plane.p[0] * one, plane.p[1] * one, 0 * one]
            rows += [*(q / np.sqrt((q**2).sum(axis=0))), x, y, deflection, tau, kappa, moment, *forces]
        return np.array(rows)

    def space(self, t, guess, stretch=None, twist=None, start=None):
        """State at a stretch; or, the stretch being unknown (first guess `start`), with that twist at the clamp."""

        def rates(_, state, *_parameter):
            at = [(None, rest, self.ds) for rest in self.rest]
            return np.vstack([self.rod._rates(state[13 * k : 13 * k + 13], at[k]) for k in (0, 1)])

        def ends(a, b, *parameter):
            reach = 1 + (parameter[0][0] if parameter else stretch)
            half = self.tilt / 2
            clamp = a[:7] - np.array([np.cos(half), 0, 0, np.sin(half), 0, 0, 0])
            q = b[13:17]
            back = turned(q, 0, 0, -np.sin(half)) + np.cos(half) * q
            far = [back[1], back[2], back[3], b[17] - reach, b[18], b[19]]
            more = [a[7] - twist] if parameter else []
            return np.concatenate([clamp, b[:13] - a[13:], far, more])

        parameter = {} if start is None else {"p": [start]}
        answer = solve_bvp(rates, ends, t, guess, tol=self.tolerance, max_nodes=20000, **parameter)
        if not answer.success:
            raise RuntimeError(answer.message)
        return answer

    def buckled(self, onset, target):
        """Follows the branch from the onset to the target in a few steps."""
        stretch, plane, pieces, null = onset
        t = np.linspace(0, 1, 21)
        guess = self.seed(plane, pieces, null, t)
        answer = self.space(t, guess, twist=guess[7, 0], start=stretch)
        low = answer.p[0]
        for step in (0.2, 0.5, 1.0):
            answer = self.space(answer.x, answer.y, stretch=low + step * (target - low))
        return answer

    def energy(self, answer):
        """Energy of a buckled state in EI/P."""
        section, nodes, weights = self.section, *np.polynomial.legendre.leggauss(8)
        marks = answer.x
        t = (marks[:-1, None] + np.diff(marks)[:, None] * (nodes + 1) / 2).ravel()
        weight = (np.diff(marks)[:, None] * weights / 2).ravel()
        total = 0.0
        for piece, rest in enumerate(self.rest):
            state = answer.sol(t)[13 * piece : 13 * piece + 13]
            w, x, y, z = state[:4]
            tangent = [w * w + x * x - y * y - z * z, 2 * (x * y + w * z), 2 * (x * z - w * y)]
            pull = sum(force * direction for force, direction in zip(state[10:13], tangent))
            tau, kappa, moment = state[7:10]
            axial = (pull + rest * moment) / section.ea
            s = tau**2 + section.nu * kappa**2
            density = section.torsion * tau**2 + section.bending * kappa**2 + section.ea * axial**2
            density = density + moment**2 / sigma(rest * section.width / 2)
            density = density + section.stretching * s**2 / (1 + section.c * kappa**2)
            total += (density * weight).sum() * self.ds / 2
        return total


def main():
    options = argparse.ArgumentParser()
    options.add_argument("--law", choices=["rod", "ribbon"], default="ribbon")
    options.add_argument("--repeat", type=int, default=3)
    options.add_argument("--tolerance", type=float, default=1e-3)
    options = options.parse_args()
    table = Comparison("spatial_ribbon")
    design, state = table.case(DESIGN), table.case(f"{DESIGN} at {STRETCH}, {options.law}")
    times = []
    for _ in range(options.repeat):
        began = time.perf_counter()
        section = Section(design["inputs"], options.law)
        arcs = TwoArcs(section, options.tolerance)
        unit = (section.thickness / section.width) ** 2
        onset = arcs.onset(1.0 * unit, 2.0 * unit)
        between = time.perf_counter()
        answer = arcs.buckled(onset, STRETCH)
        times.append((between - began, time.perf_counter() - between))
    ribbon = options.law == "ribbon"
    listed = design["expected"]["ribbon_law_onset_stretch"] if ribbon else design["expected"]["onset_stretch"][0]
    table.value(design, "onset", onset[0], 5e-4, listed)
    table.value(state, "energy_un_um", section.energy * arcs.energy(answer), 1e-3)
    table.value(state, "force_un", section.force * answer.y[10, 0], 2e-3)
    first, second = (min(column) for column in zip(*times))
    print(f"onset {first:.3f} s, buckled state from it {second:.3f} s, both {first + second:.3f} s")
    settings = f"tolerance {options.tolerance:.0e}, {options.law} law"
    print(f"(best of {options.repeat}, {answer.x.size} mesh points an arc, {settings})")
    table.finish()


if __name__ == "__main__":
    main()
