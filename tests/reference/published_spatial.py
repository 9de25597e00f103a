"""Recomputes published_spatial.json: Bessel functions, determinants of constant coefficients and collocation.

Run: pip install numpy scipy mpmath; python3 tests/reference/published_spatial.py
"""

import mpmath as mp
import numpy as np
from scipy.linalg import expm
from scipy.optimize import brentq

from collocation import Ribbon, solve
from comparison import Comparison
from planar_cell import Shape
from rod import Rod, Section, frame, turned


def first_zero(order, guess):
    """Zero of the Bessel function of that order near the guess."""
    return float(mp.findroot(lambda x: mp.besselj(order, x), guess))


def uniform(moment, in_plane, torsion, length=1.0):
    """Fundamental matrix of (alpha, beta, p_alpha, p_beta) under a uniform moment, out-of-plane stiffness 1."""
    k = moment / in_plane
    a = np.zeros((4, 4))
    a[0, 1], a[0, 2] = k, 1 / torsion
    a[1, 0], a[1, 3] = moment - k, 1.0
    a[2, 3] = k
    a[2] -= moment * a[1]
    a[3, 1], a[3, 2] = -k * moment, -k
    return expm(a * length)


def first_sign_change(function, start, stop, steps=400):
    """First zero of the function above `start`."""
    marks = np.linspace(start, stop, steps)
    values = [function(x) for x in marks]
    for low, high, before, after in zip(marks, marks[1:], values, values[1:]):
        if before * after < 0:
            return brentq(function, low, high, xtol=1e-14)
    raise RuntimeError("no zero")


def forked(moment, in_plane, torsion):
    """Vanishes where ends without twist and without moment about n allow a deflection."""
    return np.linalg.det(uniform(moment, in_plane, torsion)[np.ix_([0, 3], [1, 2])])


def ring(torsion):
    """Least twist angle at which a perturbation of two waves around the ring is in equilibrium; EI = R = 1.

    Linear equations for rotation, moment and force in a frame that turns with the tangent but not with the twist.
    """

    def cross(v):
        return np.array([[0, -v[2], v[1]], [v[2], 0, -v[0]], [-v[1], v[0], 0]])

    kappa, law = np.array([0.0, 0.0, 1.0]), np.diag([1 / torsion, 1.0, 1.0])

    def singular(twisting):
        moment, force = np.array([twisting, 0.0, 1.0]), np.array([0.0, 0.0, twisting])
        a = np.zeros((9, 9))
        a[:3, :3], a[:3, 3:6] = -cross(kappa), law
        a[3:6, 3:6] = -cross(kappa) + cross(moment) @ law
        a[3:6, 6:] = -cross([1.0, 0.0, 0.0])
        a[6:, 3:6], a[6:, 6:] = cross(force) @ law, -cross(kappa)
        # The determinant is real or imaginary up to rounding.
        value = np.linalg.det(a - 2j * np.eye(9))
        return value.real + value.imag

    return 2 * np.pi * first_sign_change(singular, 0.5, 3.0) / torsion


class PlainRod:
    """Rod of stiffness (EA, GJ, EI, EI) and constant rest curvature about b; state (q, r, moment in the frame, F)."""

    def __init__(self, stiffness, rest, length, elements):
        self.stiffness, self.rest, self.ds = stiffness, rest, length / elements

    def rates(self, state):
        axial_stiffness, torsion, bending = self.stiffness
        q, m, force = state[:4], state[7:10], state[10:13]
        t, n, b = frame(q)
        f = [sum(force[i] * axis[i] for i in range(3)) for axis in (t, n, b)]
        axial = (f[0] + self.rest * m[2]) / axial_stiffness
        k = [m[0] / torsion, m[1] / bending, m[2] / bending + self.rest * (1 + axial)]
        out = np.zeros_like(state)
        out[:4] = turned(q, *k) / 2
        out[4:7] = (1 + axial) * t
        out[7] = k[2] * m[1] - k[1] * m[2]
        out[8] = k[0] * m[2] - k[2] * m[0] + (1 + axial) * f[2]
        out[9] = k[1] * m[0] - k[0] * m[1] - (1 + axial) * f[1]
        return out * self.ds


def bend(inputs, elements=12, steps=6):
    """Tip of the curved cantilever: towards the centre, along the start tangent, along the load."""
    turn, radius = np.radians(inputs["turn_deg"]), inputs["radius"]
    stiffness = inputs["axial_stiffness"], inputs["torsion_stiffness"], inputs["bending_stiffness"]
    rod = PlainRod(stiffness, 1 / radius, radius * turn, elements)
    angle = np.linspace(0, turn, elements + 1)
    zero = np.zeros_like(angle)
    q = [np.cos(angle / 2), zero, zero, np.sin(angle / 2)]
    answer = np.array([*q, radius * np.sin(angle), radius * (1 - np.cos(angle)), *[zero] * 7])
    for step in range(1, steps + 1):
        load = inputs["load"] * step / steps

        def ends(a, b, load=load):
            clamp = [a[0] - 1, a[1], a[2], a[3], a[4], a[5], a[6]]
            return np.array(clamp + [b[7], b[8], b[9], b[10], b[11], b[12] - load])

        answer = solve(rod.rates, ends, answer, [0.3] * 4 + [np.inf] * 9)
    x, y, z = answer.nodes[4:7, -1]
    return {"towards_centre": y, "along_start_tangent": x, "along_load": z}


def helix(inputs, elements=48):
    """Axial force in a straight rod whose clamps hold it as a helix; found from the shape alone."""
    radius, pitch_angle = inputs["radius"], inputs["pitch_angle_rad"]
    length = 2 * np.pi * inputs["turns"] * radius / np.cos(pitch_angle)
    s = np.linspace(0, length, elements + 1)
    around = s * np.cos(pitch_angle) / radius
    place = np.array([radius * np.cos(around), radius * np.sin(around), s * np.sin(pitch_angle)])
    t = np.array([-np.sin(around), np.cos(around), 0 * s]) * np.cos(pitch_angle)
    t[2] = np.sin(pitch_angle)
    inward = np.array([-np.cos(around), -np.sin(around), 0 * s])
    spin = (inputs["twist_per_length"] - np.sin(pitch_angle) * np.cos(pitch_angle) / radius) * s
    n = np.cos(spin) * inward + np.sin(spin) * np.cross(t.T, inward.T).T
    b = np.cross(t.T, n.T).T
    q = np.empty((4, s.size))
    for i in range(s.size):
        # Quaternion by the largest eigenvector of the frame's symmetric form.
        m = np.array([t[:, i], n[:, i], b[:, i]]).T
        form = np.zeros((4, 4))
        form[0, 0] = np.trace(m)
        form[0, 1:] = form[1:, 0] = [m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]]
        form[1:, 1:] = m + m.T - np.trace(m) * np.eye(3)
        q[:, i] = np.linalg.eigh(form)[1][:, -1]
        if i and q[:, i] @ q[:, i - 1] < 0:
            q[:, i] *= -1
    rod = PlainRod((1e9, inputs["torsion_stiffness"], inputs["bending_stiffness"]), 0.0, length, elements)
    goal = q[:, -1]

    def ends(first, last):
        turn = [goal[0] * last[k] - goal[k] * last[0] for k in (1, 2, 3)]
        turn[0] -= goal[2] * last[3] - goal[3] * last[2]
        turn[1] -= goal[3] * last[1] - goal[1] * last[3]
        turn[2] -= goal[1] * last[2] - goal[2] * last[1]
        return np.concatenate([first[:4] - q[:, 0], first[4:7] - place[:, 0], turn, last[4:7] - place[:, -1]])

    zero = np.zeros_like(s)
    twisting = inputs["torsion_stiffness"] * inputs["twist_per_length"] + zero
    answer = solve(rod.rates, ends, np.array([*q, *place, twisting, *[zero] * 5]), [0.2] * 4 + [np.inf] * 9)
    return answer.nodes[12, 0]


def frame_moment(inputs):
    """Moment at which the right-angle frame leaves its plane: one leg, symmetric about the corner."""
    width, thick = inputs["width_mm"], inputs["thickness_mm"]
    modulus = inputs["modulus_n_per_mm2"]
    bending = modulus * width * thick**3 / 12
    torsion = modulus / (2 * (1 + inputs["poisson"])) * width * thick**3 / 3
    in_plane = (width / thick) ** 2

    def singular(moment):
        across = uniform(moment, in_plane, torsion / bending)[:, 2:]
        # The corner turns about the line between the supports alone, at 45 degrees to the leg. What balances there is
        # symmetric in the rotations: moments M beta/2 and M alpha/2 on top of those conjugate to alpha and beta.
        held = across[0] - across[1]
        free = across[2] + across[3] + moment * (across[0] + across[1]) / 2
        return held[0] * free[1] - held[1] * free[0]

    return first_sign_change(singular, 0.3, 4.0) * bending / inputs["leg_mm"]


def main():
    table = Comparison("published_spatial")
    for case in table.cases:
        inputs, kind = case["inputs"], case["kind"]
        if kind in ("cantilever", "mid-span-load"):
            # Twist obeys alpha'' + (load s)^2 alpha = 0 with s from the tip, or (load s/2)^2 from the support.
            load = 2 * first_zero(-0.25, 2.0) if kind == "cantilever" else 16 * first_zero(-0.75, 1.06)
            got = {"critical_load_l2_over_sqrt_ei_gj": load}
        elif kind == "uniform-moment":
            in_plane = inputs["in_plane_over_out_of_plane_stiffness"]
            torsion = inputs["torsion_over_out_of_plane_stiffness"]
            moment = first_sign_change(lambda m: forked(m, in_plane, torsion), 1.0, 5.0)
            got = {"critical_moment_l_over_sqrt_ei_gj": moment / np.sqrt(torsion)}
        elif kind == "twisted-ring":
            got = {"critical_twist_rad": ring(inputs["torsion_over_bending_stiffness"])}
        elif kind == "spatial-cantilever":
            got = bend(inputs)
        elif kind == "helix":
            got = {"axial_force": helix(inputs)}
        elif kind == "frame":
            got = {"critical_moment_n_mm": frame_moment(inputs)}
        else:
            width, thick, nu = inputs["width_um"], inputs["thickness_um"], inputs["poisson"]
            odd = np.arange(1, 40, 2)
            loss = 192 * thick / (np.pi**5 * width) * (np.tanh(odd * np.pi * width / (2 * thick)) / odd**5).sum()
            section = {
                **inputs,
                "modulus_mpa": 1.0,
                "axial_stiffness_un": width * thick,
                "bending_in_plane_un_um2": width**3 * thick / 12,
                "bending_out_of_plane_un_um2": width * thick**3 / 12,
                "torsion_un_um2": width * thick**3 / 3 * (1 - loss) / (2 * (1 + nu)),
            }
            rod = Rod(Ribbon(Shape(inputs), inputs["periods"], elements=6), Section(section, "rod"))
            first, second = rod.onsets(2, 0.1)
            unit = (width / thick) ** 2
            got = {"first_onset_w2_over_t2": first[0] * unit, "second_onset_w2_over_t2": second[0] * unit}
            wrong = float(first[3] != case["expected"]["first_mode"])
            table.value(case, f"first mode is not {case['expected']['first_mode']}", wrong, 0, 0.0)
        for key, value in got.items():
            allowed = case["rel_tol"].get(key, case["rel_tol"].get("default"))
            table.value(case, key, value, allowed)
            if key in case.get("computed", {}):
                table.value(case, key + " (computed)", value, 5e-5, case["computed"][key])
    table.finish()


if __name__ == "__main__":
    main()
