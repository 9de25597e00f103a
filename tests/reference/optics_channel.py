"""Recomputes optics_channel.json with Nédélec edge elements of order 3 on triangles (scikit-fem).

Planes of symmetry halve the section. Bent modes have complex coordinates beyond the radiation caustic,
above and below. The group index and the derivative by the core's index are
central differences on one mesh; the effective-index method is solved by bisection. The mode counts are left to the
table itself, except that the highest indices are those of the straight modes.

Run: pip install numpy scipy mpmath scikit-fem; python3 tests/reference/optics_channel.py [--all]

Without `--all` the bends of the strip and the rib are left out: their light goes down into the substrate or along the
film, and these meshes follow it only to 2 per cent of the loss.
"""

import sys

import numpy as np
import scipy.sparse.linalg as sla
from scipy.optimize import brentq
from skfem import Basis, BilinearForm, ElementTriN3, ElementTriP3, MeshTri

from comparison import Comparison

DB = 20 / np.log(10)
SLOPE = 1 + 1j
# Short elements at every interface, as shares of the first full one.
LAYERS = [0.2, 0.04, 0.008]
# Elements per wavelength in the core, straight and bent; the corners of a straight core of high contrast ask for more.
FINENESS, FINENESS_BENT = 5.0, 2.4


def slab(k0, d, n_a, n_core, n_b, magnetic):
    """Effective index of the lowest mode of a slab, None without one."""
    rho = (lambda n: (n_core / n) ** 2) if magnetic else (lambda n: 1.0)

    def phase(n_eff):
        k_t = np.sqrt(n_core**2 - n_eff**2)
        left, right = (np.arctan(rho(n) * np.sqrt(max(n_eff**2 - n**2, 0)) / k_t) for n in (n_a, n_b))
        return k0 * d * k_t - left - right

    low, high = max(n_a, n_b) + 1e-14, n_core - 1e-14
    return brentq(phase, low, high, xtol=1e-14) if phase(low) > 0 else None


class Section:
    """Interfaces and index of one case, lengths in 1/k0, z from the lower face of the core."""

    def __init__(self, i, **changed):
        i = {**i, **changed}
        self.k0 = 2 * np.pi / i["wavelength_um"]
        self.half = i["core_width_um"] / 2 * self.k0
        self.height = i["core_height_um"] * self.k0
        self.slab = i.get("slab_um", 0.0) * self.k0
        self.core, self.below, self.above, self.side = (i["n_" + key] for key in ("core", "below", "above", "side"))
        self.quasi_te = i.get("polarisation") == "quasi-TE"
        self.upright = self.below == self.above == self.side and not self.slab
        film = slab(1, self.slab, self.below, self.core, self.side, False) if self.slab else None
        self.escape = film or max(self.below, self.above, self.side)

    def index_squared(self, u, z):
        core = (z > 0) & (z < self.height) & ((abs(u) < self.half) | (z < self.slab))
        n = np.where(z < 0, self.below, np.where(z > self.height, self.above, self.side))
        return np.where(core, self.core, n) ** 2

    def levels(self):
        """Interfaces along z; from the mid plane upwards where above and below are alike."""
        return [self.height / 2, self.height] if self.upright else sorted({0.0, self.slab, self.height})

    def eim(self):
        """The effective-index method, vertical slab first."""
        middle = slab(1, self.height, self.below, self.core, self.above, not self.quasi_te)
        beside = slab(1, self.slab, self.below, self.core, self.side, not self.quasi_te) if self.slab else self.side
        return slab(1, 2 * self.half, beside, middle, beside, self.quasi_te)


def cuts(interfaces, longest, low, high, cap=np.inf):
    """Mesh lines: the interfaces with short elements at them, growing from there to the ends of the window."""
    lines = set(interfaces)
    for a, b in zip(interfaces[:-1], interfaces[1:]):
        count = max(int(np.ceil((b - a) / longest)), 2)
        step = (b - a) / count
        lines |= {a + step * k for k in range(1, count)}
        lines |= {x + sign * step * share for x, sign in ((a, 1), (b, -1)) for share in LAYERS}
    for edge, sign, margin in ((interfaces[0], -1, low), (interfaces[-1], 1, high)):
        if margin > 0:
            sizes, size = [], longest
            while sum(sizes) < margin:
                sizes.append(size)
                size = min(1.8 * size, cap)
            ends = np.cumsum(sizes) * margin / sum(sizes)
            lines |= {edge + sign * x for x in [*(share * ends[0] for share in LAYERS), *ends]}
    return np.array(sorted(lines))


def forms(section, h, stretch_u, stretch_z):
    """A and B of the eigenvalue problem; the stretches and h are functions of u or z."""

    def weights(w):
        u, z = w.x
        s_u, s_z, h_u = stretch_u(u), stretch_z(z), h(u)
        return s_z * h_u / s_u, s_u * h_u / s_z, s_u * s_z / h_u, section.index_squared(u, z)

    @BilinearForm(dtype=complex)
    def a(e, psi, f, chi, w):
        tau_u, tau_z, tau_s, n2 = weights(w)
        return e.curl * f.curl / tau_s - n2 * (tau_u * e.value[0] * f.value[0] + tau_z * e.value[1] * f.value[1])

    @BilinearForm(dtype=complex)
    def b(e, psi, f, chi, w):
        tau_u, tau_z, tau_s, n2 = weights(w)
        along_u = (psi.grad[0] - e.value[0]) * (chi.grad[0] - f.value[0]) / tau_z
        along_z = (psi.grad[1] - e.value[1]) * (chi.grad[1] - f.value[1]) / tau_u
        return along_u + along_z - n2 * tau_s * psi.value * chi.value

    return a, b


class Mode:
    """Eigenvalue nearest a guess on a mesh of mesh lines `u` and `z`."""

    def __init__(
        self, section, u, z, guess, free_left, free_low, h=np.ones_like, stretch_u=np.ones_like, stretch_z=np.ones_like
    ):
        mesh = MeshTri.init_tensor(u, z)
        basis = Basis(mesh, ElementTriN3() * ElementTriP3(), intorder=8)
        a, b = (form.assemble(basis).tocsc() for form in forms(section, h, stretch_u, stretch_z))
        held = mesh.facets_satisfying(
            lambda x: (abs(x[0] - u[-1]) < 1e-9)
            | ((abs(x[1] - z[0]) < 1e-9) & (not free_low))
            | (abs(x[1] - z[-1]) < 1e-9)
            | ((abs(x[0] - u[0]) < 1e-9) & (not free_left)),
            boundaries_only=True,
        )
        inner = basis.complement_dofs(basis.get_dofs(held))
        a, b = a[inner][:, inner], b[inner][:, inner]
        if abs(a.imag).max() + abs(b.imag).max() == 0:
            a, b = a.real, b.real
        x = np.random.default_rng(1).standard_normal(len(inner)).astype(a.dtype)
        value = -(guess**2)
        for step in range(30):
            if step in (0, 12):
                factors = sla.splu((a - value * (1 + 1e-7) * b).tocsc(), permc_spec="COLAMD")
            x = factors.solve(b @ x)
            x /= x[np.argmax(abs(x))]
            last, value = value, (x @ (a @ x)) / (x @ (b @ x))
            if abs(value - last) < 1e-13 * abs(value):
                break
        self.n_eff = np.sqrt(-value + 0j)
        whole = np.zeros(basis.N, dtype=a.dtype)
        whole[inner] = x
        e, _ = basis.interpolate(whole)
        core = section.index_squared(*basis.global_coordinates().value) > section.core**2 - 1e-9
        strength = [np.sum(core * abs(part) ** 2 * basis.dx) for part in e.value]
        self.share_te = strength[0] / sum(strength)


def straight(section, guess):
    longest = 2 * np.pi / FINENESS / section.core
    margin = 9 / np.sqrt(guess**2 - section.escape**2)
    u = cuts([0.0, section.half], longest, 0, margin)
    z = cuts(section.levels(), longest, 0 if section.upright else margin, margin)
    return Mode(section, u, z, guess + 2e-5, not section.quasi_te, section.upright and section.quasi_te)


def bent(section, radius, guess):
    longest = 2 * np.pi / FINENESS_BENT / section.core
    decay = np.sqrt(guess**2 - section.escape**2)
    caustic = max(radius * (guess / section.escape - 1), section.half + longest / 2)
    airy = (radius / (2 * section.escape**2)) ** (1 / 3)
    absorber = max(4 * np.pi, 6 * airy)
    vertical, vertical_absorber = (max(10 / decay, least * np.pi) for least in (3, 4))
    cap = max(2.5 / decay, longest)
    outer = cuts([-section.half, section.half], longest, max(9 / decay, 3 * np.pi), caustic - section.half, cap)
    beyond = np.linspace(caustic, caustic + absorber, int(np.ceil(absorber / max(1.5 * airy, longest))) + 1)[1:]
    near = cuts(section.levels(), longest, 0 if section.upright else vertical, vertical, cap)
    far = np.linspace(0, vertical_absorber, int(np.ceil(vertical_absorber / cap)) + 1)[1:]
    low = [] if section.upright else near[0] - far[::-1]
    z = np.concatenate([low, near, near[-1] + far])

    def path(u):
        return np.where(u > caustic, caustic + SLOPE * (u - caustic), u)

    return Mode(
        section,
        np.concatenate([outer, beyond]),
        z,
        guess,
        False,
        section.upright and section.quasi_te,
        h=lambda u: 1 + path(u) / radius,
        stretch_u=lambda u: np.where(u > caustic, SLOPE, 1),
        stretch_z=lambda z: np.where((z < near[0]) & (not section.upright) | (z > near[-1]), SLOPE, 1),
    )


def main():
    table = Comparison("optics_channel")
    for case in table.cases:
        i, expected = case["inputs"], case["expected"]
        if case["kind"] == "straight":
            section, n_eff = Section(i), expected["n_eff"]
            mode = straight(section, n_eff)
            table.value(case, "n_eff", mode.n_eff.real, max(2e-6, case["abs_tol"]["n_eff"]) / n_eff)
            pure = float((mode.share_te > 0.5) == section.quasi_te)
            table.value(case, "share of the polarisation above a half", pure, 0, 1.0)
            table.value(case, "n_eff_eim", section.eim(), 1e-9)

            def at(**changed):
                return straight(Section(i, **changed), n_eff).n_eff.real

            d = 1e-3
            near = [at(wavelength_um=i["wavelength_um"] * (1 + s * d)) for s in (1, -1)]
            table.value(case, "n_group", mode.n_eff.real - (near[0] - near[1]) / (2 * d), 2e-4)
            near = [at(n_core=i["n_core"] + s * d) for s in (1, -1)]
            table.value(case, "dneff_dncore", (near[0] - near[1]) / (2 * d), 2e-3)
        elif case["kind"] == "bent":
            section, n_eff = Section(i), expected["n_eff_re"]
            if "--all" not in sys.argv and section.escape > section.side:
                continue
            radius = i["radius_um"] * section.k0
            mode = bent(section, radius, n_eff)
            loss = DB * mode.n_eff.imag * radius * np.pi / 2
            coarse = section.escape > section.side
            table.value(case, "n_eff_re", mode.n_eff.real, 5e-5 if coarse else 1e-5)
            table.value(case, "loss_db_per_90deg", loss, 2e-2 if coarse else 2e-3)
            pure = float((mode.share_te > 0.5) == section.quasi_te)
            table.value(case, "share of the polarisation above a half", pure, 0, 1.0)
    table.finish()


if __name__ == "__main__":
    main()
