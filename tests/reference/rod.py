"""Kirchhoff rod of a whole ribbon in space: onset of buckling and buckled states by collocation of the strong form.

Used by spatial_ribbon.py. Lengths are in units of the pitch P, stiffness in units of EI = E t w^3/12. A state is
(q, r, tau, kappa_n, M, F): quaternion of the section frame (t, n, b), position, twist, curvature about n, in-plane
moment and the constant force.
"""

import numpy as np

from collocation import MATRIX, POINTS, STAGES, WEIGHTS, Answer, Planar, sigma, solve


class Section:
    """Stiffness of one case under `law` (rod or ribbon)."""

    def __init__(self, inputs, law):
        pitch, self.nu = inputs["pitch_um"], inputs["poisson"]
        ei = inputs["bending_in_plane_un_um2"]
        self.width, self.thickness = inputs["width_um"] / pitch, inputs["thickness_um"] / pitch
        self.ea = inputs["axial_stiffness_un"] * pitch**2 / ei
        self.torsion = inputs["torsion_un_um2"] / ei
        self.bending = inputs["bending_out_of_plane_un_um2"] / ei
        self.pitch, self.law, self.force, self.energy = pitch, law, ei / pitch**2, ei / pitch
        self.stretching, self.c, self.wagner = 0.0, 0.0, 0.0
        if law == "ribbon":
            self.bending /= inputs["plate_factor"]
            self.c = (1 - self.nu**2) * self.width**4 / (60 * self.thickness**2)
            plate = inputs["modulus_mpa"] * inputs["thickness_um"] ** 3 / (12 * (1 - self.nu**2))
            self.stretching = plate * inputs["width_um"] / ei * self.c
            self.wagner = self.width**2 / 12

    def moments(self, tau, kappa, pull):
        """Moments about t and n and their derivatives by (tau, kappa)."""
        a, c, nu = self.stretching, self.c, self.nu
        s, h = tau**2 + nu * kappa**2, 1 + c * kappa**2
        about_t = (self.torsion + pull * self.wagner) * tau + 2 * a * s * tau / h
        about_n = self.bending * kappa + a * (2 * nu * s * kappa / h - c * kappa * s**2 / h**2)
        tt = self.torsion + pull * self.wagner + a * (2 * s + 4 * tau**2) / h
        tk = 4 * a * kappa * tau * (nu / h - c * s / h**2)
        kk = 2 * nu * s / h + 4 * nu**2 * kappa**2 / h - 8 * nu * c * s * kappa**2 / h**2
        kk = kk - c * s**2 / h**2 + 4 * c**2 * kappa**2 * s**2 / h**3
        return about_t, about_n, tt, tk, self.bending + a * kk


def frame(q):
    """Columns t, n, b of the rotation."""
    w, x, y, z = q
    t = np.array([w * w + x * x - y * y - z * z, 2 * (x * y + w * z), 2 * (x * z - w * y)])
    n = np.array([2 * (x * y - w * z), w * w - x * x + y * y - z * z, 2 * (y * z + w * x)])
    b = np.array([2 * (x * z + w * y), 2 * (y * z - w * x), w * w - x * x - y * y + z * z])
    return t, n, b


def turned(q, a, b, c):
    """q times the quaternion (0, a, b, c)."""
    w, x, y, z = q
    return np.array(
        [-x * a - y * b - z * c, w * a + y * c - z * b, w * b + z * a - x * c, w * c + x * b - y * a]
    )


class Rod:
    """Whole ribbon with crossing ends and its section."""

    def __init__(self, ribbon, section):
        self.ribbon, self.section = ribbon, section
        self.planar = Planar(ribbon, section.width)
        self.span = ribbon.x[-1]

    # -- plane state and its onset ------------------------------------------------------------------------------

    def across(self, planar):
        """Matrix of every element that takes (alpha, beta, p_alpha, p_beta, constraint, v) from its start to its end."""
        section = self.section
        _, rest, ds = self.ribbon.stages
        phi, _, _, moment, h, v = planar.stages
        pull = h * np.cos(phi) + v * np.sin(phi)
        axial = (pull + rest * moment) / section.ea
        k = rest * (1 + axial) + moment / sigma(rest * section.width / 2)
        torsion = section.torsion + pull * section.wagner
        a = np.zeros((self.ribbon.count, STAGES, 6, 6))
        a[:, :, 0, 1], a[:, :, 0, 2] = k, 1 / torsion
        a[:, :, 1, 0] = moment / section.bending - k
        a[:, :, 1, 3] = 1 / section.bending
        a[:, :, 2, 3] = k
        a[:, :, 2] -= moment[..., None] * a[:, :, 1]
        a[:, :, 3, 1] = -k * moment + (1 + axial) * pull
        a[:, :, 3, 2], a[:, :, 3, 4] = -k, 1 + axial
        a[:, :, 5, 1] = -(1 + axial)
        a *= ds[..., None, None]
        count = self.ribbon.count
        big = np.eye(STAGES * 6) - np.einsum("ij,eiab->eiajb", MATRIX, a).reshape(count, STAGES * 6, STAGES * 6)
        inner = np.linalg.solve(big, a.reshape(count, STAGES * 6, 6)).reshape(count, STAGES, 6, 6)
        return np.eye(6) + np.einsum("i,eiab->eab", WEIGHTS, inner)

    def linear(self, planar):
        """Fundamental matrices of the same at the nodes."""
        matrices = [np.eye(6)]
        for step in self.across(planar):
            matrices.append(step @ matrices[-1])
        return np.array(matrices)

    def unstable_modes(self, planar):
        """Number of ways out of the plane that lower the energy: conjugate points between the ends.

        A place is one where the part before it, clamped there, has a neutral mode; elements have to be short against
        the distance of two such places.
        """
        field, before, count = np.eye(6)[:, 2:5], 0.0, 0
        steps = self.across(planar)
        for k, step in enumerate(steps[:-1]):
            field = step @ field
            sign = np.sign(np.linalg.det(field[[0, 1, 5]]))
            count += k > 0 and sign * before < 0
            before = sign
            # The same solutions in a better basis of the same orientation.
            field, mixing = np.linalg.qr(field)
            if np.linalg.det(mixing) < 0:
                field[:, 0] *= -1
        return count

    def determinant(self, planar):
        """Vanishes where a deflection out of the plane costs nothing: clamped ends, v back at zero."""
        return np.linalg.det(self.linear(planar)[-1][np.ix_([0, 1, 5], [2, 3, 4])])

    def onsets(self, count, most):
        """First stretches (and states and modes) at which the plane state loses its stability."""
        found, unit = [], (self.section.thickness / self.section.width) ** 2
        step, e = 0.04 * unit, 0.5 * unit
        state = self.planar.solve(e)
        value = self.determinant(state)
        while len(found) < count and e + step <= most:
            ahead = self.planar.solve(e + step, state)
            after = self.determinant(ahead)
            if value * after < 0:
                # Regula falsi with halved ends.
                low, high, f_low, f_high = e, e + step, value, after
                for _ in range(40):
                    middle = (low * f_high - high * f_low) / (f_high - f_low)
                    there = self.planar.solve(middle, state)
                    f = self.determinant(there)
                    if f * f_high < 0:
                        low, f_low = high, f_high
                    else:
                        f_low *= 0.5
                    done = abs(high - middle) < 1e-10
                    high, f_high = middle, f
                    if done:
                        break
                found.append((high, there, *self.mode(there)))
            e, state, value = e + step, ahead, after
        return found

    def mode(self, planar):
        """Deflection at the nodes, largest rotation 1, and its symmetry."""
        matrices = self.linear(planar)
        _, _, last = np.linalg.svd(matrices[-1][np.ix_([0, 1, 5], [2, 3, 4])])
        field = matrices[:, :, 2:5] @ last[-1]
        field = (field / np.abs(field[:, :2]).max()).T
        v = field[5]
        return field, "even" if v @ v[::-1] > 0 else "odd"

    # -- buckled states -----------------------------------------------------------------------------------------

    def _rates(self, state, at=None):
        section = self.section
        _, rest, ds = self.ribbon.stages if at is None else at
        q, tau, kappa, moment, force = state[:4], state[7], state[8], state[9], state[10:13]
        t, n, b = frame(q)
        pull, f_n, f_b = (sum(force[i] * axis[i] for i in range(3)) for axis in (t, n, b))
        axial = (pull + rest * moment) / section.ea
        k_z = rest * (1 + axial) + moment / sigma(rest * section.width / 2)
        axial = axial - section.wagner * tau**2 / 2
        about_t, about_n, tt, tk, kk = section.moments(tau, kappa, pull)
        slope_t = k_z * about_n - kappa * moment
        slope_n = tau * moment - k_z * about_t + (1 + axial) * f_b
        slope_z = kappa * about_t - tau * about_n - (1 + axial) * f_n
        slope_t = slope_t - section.wagner * tau * (k_z * f_n - kappa * f_b)
        below = tt * kk - tk * tk
        out = np.zeros_like(state)
        out[:4] = turned(q, tau, kappa, k_z) / 2
        out[4:7] = (1 + axial) * t
        out[7] = (kk * slope_t - tk * slope_n) / below
        out[8] = (tt * slope_n - tk * slope_t) / below
        out[9] = slope_z
        return out * ds

    def _ends(self, a, b, reach):
        half = self.ribbon.phi[[0, -1]] / 2
        zero = 0 * half[0]
        back = turned(b[:4], zero, zero, -np.sin(half[1])) + np.cos(half[1]) * b[:4]
        left = [a[0] - np.cos(half[0]), a[1], a[2], a[3] - np.sin(half[0]), a[4], a[5], a[6]]
        right = [back[1], back[2], back[3], b[4] - reach * self.span, b[5] - self.ribbon.y[-1], b[6]]
        return left + right

    LIMIT = [0.25] * 4 + [np.inf] * 9

    def seeded(self, planar, field, size):
        """Nodes of the plane state with the mode added; `size` is its largest rotation."""
        phi, x, y, moment, h, v = planar.nodes
        alpha, beta, p_alpha, p_beta, _, deflection = size * field
        q = np.array([np.cos(phi / 2), 0 * phi, 0 * phi, np.sin(phi / 2)])
        q = q + turned(q, alpha, beta, 0 * phi) / 2
        q /= np.sqrt((q**2).sum(axis=0))
        pull = h * np.cos(phi) + v * np.sin(phi)
        tau = p_alpha / (self.section.torsion + self.section.wagner * pull)
        kappa = (p_beta + moment * alpha) / self.section.bending
        return np.array([*q, x, y, deflection, tau, kappa, moment, h, v, 0 * x])

    def switch(self, onset, size):
        """State on the branch that leaves the plane at `onset`, and its stretch.

        The stretch is unknown; twist or curvature at the left clamp is held at that of the mode instead.
        """
        stretch, planar, field, _ = onset
        guess = self.seeded(planar, field, size)
        held = 7 if abs(guess[7, 0]) > 0.3 * abs(guess[8, 0]) else 8
        goal = guess[held, 0]
        guess = np.vstack([guess, np.full(guess.shape[1], stretch)])

        def rates(state):
            return np.concatenate([self._rates(state[:13]), 0 * state[13:]])

        def ends(a, b):
            return np.array(self._ends(a, b, 1 + b[13]) + [a[held] - goal])

        answer = solve(rates, ends, guess, self.LIMIT + [np.inf])
        return float(answer.nodes[13, 0]), Answer(answer.nodes[:13], answer.slopes[:13])

    def held(self, stretch, guess):
        """State at a stretch, from a neighbouring one."""
        return solve(self._rates, lambda a, b: np.array(self._ends(a, b, 1 + stretch)), guess, self.LIMIT)

    def follow(self, stretch, state, target, longest=0.03):
        """Follows a branch to the target, each guess on the line through the two states before.

        Steps start small against the stretch: the branch turns sharply near the onset.
        """
        before, step = None, min(longest, 0.2 * stretch)
        while target - stretch > 1e-12:
            ahead = target if target - stretch <= step * 1.001 else stretch + step
            guess = state
            if before is not None:
                share = (ahead - stretch) / (stretch - before[0])
                guess = Answer(
                    state.nodes + share * (state.nodes - before[1].nodes),
                    state.slopes + share * (state.slopes - before[1].slopes),
                )
            try:
                after = self.held(ahead, guess)
            except (RuntimeError, np.linalg.LinAlgError):
                step /= 2
                if step < 1e-4:
                    raise
                continue
            before, state, stretch = (stretch, state), after, ahead
            step = min(longest, 1.5 * step)
        return state

    # -- what a state says --------------------------------------------------------------------------------------

    def report(self, state, samples=33):
        """The quantities of the table, in um, uN and 1/um."""
        section, nu = self.section, self.section.nu
        pitch = section.pitch

        def fields(points, at):
            force = points[10:13]
            t = frame(points[:4])[0]
            pull = (force * t).sum(axis=0)
            rest = at[1]
            tau, kappa, moment = points[7:10]
            axial = (pull + rest * moment) / section.ea
            stiff = sigma(rest * section.width / 2)
            s, h = tau**2 + nu * kappa**2, 1 + section.c * kappa**2
            g = s / h if section.law == "ribbon" else 0 * s
            return tau, kappa, moment, axial, moment / stiff, stiff, g, s, h

        at = self.ribbon.stages
        tau, kappa, moment, axial, chi, stiff, _, s, h = fields(state.stages, at)
        parts = {
            "energy_twist_un_um": section.torsion * tau**2 / 2,
            "energy_bend_out_un_um": section.bending * kappa**2 / 2,
            "energy_bend_in_un_um": moment**2 / stiff / 2,
            "energy_stretch_un_um": section.ea * axial**2 / 2,
            "energy_ribbon_term_un_um": section.stretching * s**2 / h / 2,
        }
        out = {key: section.energy * np.einsum("i,ei->", WEIGHTS, part * at[2]) for key, part in parts.items()}
        out["energy_un_um"] = sum(out.values())
        out["force_un"] = section.force * state.nodes[10, 0]
        shares = np.linspace(0, 1, samples)
        points = np.stack([state.at(share) for share in shares], axis=2)
        at = self.ribbon.at(shares)
        tau, kappa, moment, axial, chi, _, g, _, _ = fields(points, at)
        out["peak_height_um"] = pitch * np.abs(points[6]).max()
        w, thick, rest = section.width, section.thickness, at[1]
        odd = np.arange(1, 80, 2)
        slim = odd * np.pi * w / (2 * thick)
        long_face = thick * tau * (1 - 8 / np.pi**2 * (1 / (odd**2 * np.cosh(np.minimum(slim, 300)))).sum())
        short_edge = thick * tau * 8 / np.pi**2 * ((-1.0) ** ((odd - 1) // 2) * np.tanh(slim) / odd**2).sum()

        def principal(along, across, shear):
            return (along + across) / 2 + np.sqrt(((along - across) / 2) ** 2 + shear**2 / 4)

        corners, faces, edges, upper = [], [], [], []
        middle = axial - w**2 * g / 24
        curl = -nu * kappa + section.c * kappa * g
        for z in (thick / 2, -thick / 2):
            for y in (w / 2, -w / 2):
                corner = axial + (-y * chi + z * kappa + w**2 * g / 12) / (1 - y * rest)
                corners.append(corner)
                upper.append(principal(corner, -nu * corner, long_face))
            faces.append(principal(middle + z * kappa, -nu * middle + z * curl, long_face))
        for y in (w / 2, -w / 2):
            edge = axial + (-y * chi + w**2 * g / 12) / (1 - y * rest)
            edges.append(principal(edge, -nu * edge, short_edge))
        corners = np.array(corners)
        out["corner_axial_strain"] = corners.max()
        out["long_face_principal_strain"] = np.max(faces)
        out["short_edge_principal_strain"] = np.max(edges)
        out["peak_tensile_strain"] = max(corners.max(), np.max(faces), np.max(edges))
        out["peak_tensile_strain_upper"] = np.max(upper)
        out["peak_compressive_strain"] = corners.min()
        out["max_twist_per_um"] = np.abs(tau).max() / pitch
        out["max_curvature_out_per_um"] = np.abs(kappa).max() / pitch
        out["max_curvature_change_in_per_um"] = np.abs(chi + rest * axial).max() / pitch
        out["beta"] = w**2 * np.abs(kappa).max() / thick
        return out
