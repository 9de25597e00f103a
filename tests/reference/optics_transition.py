"""Recomputes the tight cases of optics_transition.json with Bessel and Hankel functions of complex order.

The listed fields come from integrating the field equation. Here they are written with mpmath's Bessel functions on
Gauss points, and the straight mode with cosines and exponentials. The cases of low contrast have orders in the
thousands and are left to the table itself.

Run: pip install numpy scipy mpmath; python3 tests/reference/optics_transition.py
"""

import mpmath as mp
import numpy as np

from bent_slab import BentSlab, loss_per_90deg, straight_index
from comparison import Comparison

NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)


class Straight:
    """The straight fundamental mode."""

    def __init__(self, i):
        self.k0 = 2 * mp.pi / mp.mpf(i["wavelength_um"])
        self.half = mp.mpf(i["core_width_um"]) / 2
        self.n_eff = straight_index(
            i["wavelength_um"], mp.mpf(i["core_width_um"]), mp.mpf(i["n_clad"]), mp.mpf(i["n_core"]), i["polarisation"]
        )
        self.across = self.k0 * mp.sqrt(mp.mpf(i["n_core"]) ** 2 - self.n_eff**2)
        self.decay = self.k0 * mp.sqrt(self.n_eff**2 - mp.mpf(i["n_clad"]) ** 2)
        self.q = (mp.mpf(i["n_clad"]) ** 2, mp.mpf(i["n_core"]) ** 2) if i["polarisation"] == "TM" else (1, 1)

    def at(self, y):
        """Field and partner at y."""
        if abs(y) <= self.half:
            f = mp.cos(self.across * y)
            return f, f * self.n_eff / self.q[1]
        f = mp.cos(self.across * self.half) * mp.exp(-self.decay * (abs(y) - self.half))
        return f, f * self.n_eff / self.q[0]


class Bent:
    """A bend to the left (inner side at +y); `mirrored()` bends to the right."""

    def __init__(self, i, radius, n_eff):
        n_clad, n_core = i["n_clad"], i["n_core"]
        self.slab = BentSlab(
            i["wavelength_um"], i["core_width_um"], radius, n_clad, n_core, n_clad, i["polarisation"]
        )
        # A weak imaginary part to start from; the secant method finds its own.
        self.nu = self.slab.solve(mp.mpc(n_eff * self.slab.k0 * radius, mp.mpf("1e-8")))
        self.n_eff = mp.re(self.slab.index(self.nu))
        self.field = self.slab.field(self.nu)
        self.scale = self.field(self.slab.radius)[0]
        self.caustic = self.slab.radius * (self.n_eff / self.slab.n[2] - 1)
        self.cache = {}
        self.sign = -1

    def mirrored(self):
        """The same bend to the other side, sharing what has been evaluated."""
        other = object.__new__(Bent)
        other.__dict__ = dict(self.__dict__)
        other.sign = -self.sign
        return other

    def outward(self, u):
        """Field and partner at the outward offset u."""
        key = round(float(u), 12)
        if key not in self.cache:
            f, region = self.field(self.slab.radius + u)
            f = f / self.scale
            self.cache[key] = f, f * self.n_eff / ((1 + u / self.slab.radius) * self.slab.q[region])
        return self.cache[key]

    def at(self, y):
        return self.outward(self.sign * y)


def breaks(i, straight, reach):
    """Panels that are symmetric about the core, so that mirrored bends share their points."""
    half = float(straight.half)
    far = float(reach)
    edges = list(half + (far - half) * np.linspace(0, 1, 4))
    return sorted({-e for e in edges} | {0.0} | set(edges))


def joint(first, second, panels):
    """Loss in dB."""
    cross = one = other = mp.mpf(0)
    for low, high in zip(panels, panels[1:]):
        middle, half = (low + high) / 2, (high - low) / 2
        for node, weight in zip(NODES, WEIGHTS):
            y = mp.mpf(middle + half * node)
            (f1, h1), (f2, h2) = first.at(y), second.at(y)
            w = mp.mpf(weight * half)
            cross += w * (f1 * h2 + f2 * h1) / 2
            one += w * f1 * h1
            other += w * f2 * h2
    return -10 * mp.log10(abs(cross * cross / (one * other)))


def main():
    mp.mp.dps = 24
    table = Comparison("optics_transition")
    for name in ("contrast 0.536", "contrast 0.536 TM", "core in air"):
        case = table.case(name)
        i = case["inputs"]
        straight = Straight(i)
        bent = Bent(i, i["radius_um"], straight.n_eff)
        wide = Bent(i, 2 * i["radius_um"], straight.n_eff)
        table.value(case, "bend_loss_db_per_90deg", float(loss_per_90deg(bent.nu)), 1e-5)
        # Far enough out for the tail to have died, and not beyond the caustic.
        reach = min(bent.caustic, straight.half + 16 / straight.decay)
        panels = breaks(i, straight, reach)
        tolerance = case["rel_tol"]["loss_straight_to_bent_db"]
        table.value(case, "loss_straight_to_bent_db", float(joint(straight, bent, panels)), tolerance)
        table.value(
            case, "loss_bent_to_opposite_bent_db", float(joint(bent, bent.mirrored(), panels)), tolerance
        )
        table.value(case, "loss_twice_radius_to_radius_same_side_db", float(joint(wide, bent, panels)), tolerance)
        moment = norm = mp.mpf(0)
        square = whole = mp.mpf(0)
        for low, high in zip(panels, panels[1:]):
            for node, weight in zip(NODES, WEIGHTS):
                u = mp.mpf((low + high) / 2 + (high - low) / 2 * node)
                f, h = bent.outward(u)
                density = weight * (high - low) * abs(f * h)
                moment, norm = moment + u * density, norm + density
                f, h = straight.at(u)
                density = weight * (high - low) * f * h
                square, whole = square + u * u * density, whole + density
        table.value(case, "mode_centroid_shift_um", float(moment / norm), 0.002)
        table.value(case, "rms_half_width_um", float(mp.sqrt(square / whole)), 1e-5)
        weak_radius = i["weak_radius_um"]
        weak = Bent(i, weak_radius, straight.n_eff)
        t = joint(straight, weak, panels) * mp.log(10) / 10 * mp.mpf(weak_radius) ** 2
        table.value(case, "t_coefficient_um2", float(t), 0.003)
    table.finish()


if __name__ == "__main__":
    main()
