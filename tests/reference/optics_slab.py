"""Recomputes optics_slab.json from the transfer matrix of the slab.

The listed values come from bisection of the phase condition. Here the field is carried across the core by its
transfer matrix and the mismatch at the far side is searched for sign changes on a fine grid, then refined by
mpmath's bracketing solver; shares of power are integrals of that field, group indices symmetric differences.

Run: pip install numpy scipy mpmath; python3 tests/reference/optics_slab.py
"""

import mpmath as mp

from comparison import Comparison


class Slab:
    """A slab with its polarisation; weights are 1 (TE) or n^2 (TM)."""

    def __init__(self, inputs, polarisation, wavelength=None):
        self.k0 = 2 * mp.pi / mp.mpf(wavelength or inputs["wavelength_um"])
        self.d = mp.mpf(inputs["core_width_um"])
        self.n = [mp.mpf(inputs[key]) for key in ("n_substrate", "n_core", "n_cover")]
        self.q = [n**2 if polarisation == "tm" else mp.mpf(1) for n in self.n]

    def decay(self, n_eff):
        """Decay constants in substrate and cover and the wave number across the core."""
        a, b = (self.k0 * mp.sqrt(n_eff**2 - self.n[i] ** 2) for i in (0, 2))
        return a, self.k0 * mp.sqrt(self.n[1] ** 2 - n_eff**2), b

    def mismatch(self, n_eff):
        """What is left of the boundary condition at the cover; zero for a mode."""
        a, k, b = self.decay(n_eff)
        q_s, q_f, q_c = self.q
        field, slope = mp.mpf(1), a / q_s
        f = field * mp.cos(k * self.d) + slope * q_f / k * mp.sin(k * self.d)
        g = -field * k / q_f * mp.sin(k * self.d) + slope * mp.cos(k * self.d)
        return g + f * b / q_c

    def modes(self):
        """Effective indices, highest first."""
        low, high = max(self.n[0], self.n[2]), self.n[1]
        # Uniform in the angle asin sqrt((N^2 - low^2)/(core^2 - low^2)), fine near both ends.
        count = 4000

        def index(i):
            share = mp.sin(mp.pi / 2 * mp.mpf(i) / count) ** 2
            return mp.sqrt(low**2 + share * (high**2 - low**2))

        found, right = [], self.mismatch(index(count - mp.mpf("1e-6")))
        for i in range(count - 1, -1, -1):
            left_index = index(i) if i else index(mp.mpf("1e-6"))
            left = self.mismatch(left_index)
            if left * right < 0:
                top = index(i + 1) if i + 1 < count else index(count - mp.mpf("1e-6"))
                found.append(mp.findroot(self.mismatch, (left_index, top), solver="anderson", tol=1e-25, verify=False))
            right = left
        return found

    def confinement(self, n_eff):
        """Share of the power in the core."""
        a, k, b = self.decay(n_eff)
        q_s, q_f, q_c = self.q

        def field(x):
            return mp.cos(k * x) + a * q_f / (q_s * k) * mp.sin(k * x)

        core = mp.quad(lambda x: field(x) ** 2, mp.linspace(0, self.d, 9)) / q_f
        outside = 1 / (2 * a * q_s) + field(self.d) ** 2 / (2 * b * q_c)
        return core / (core + outside)


def main():
    mp.mp.dps = 30
    table = Comparison("optics_slab")
    for case in table.cases:
        inputs, expected = case["inputs"], case["expected"]
        for polarisation in ("te", "tm"):
            slab = Slab(inputs, polarisation)
            modes = slab.modes()
            table.value(case, f"n_modes_{polarisation}", len(modes), 0)
            step = mp.mpf("1e-7") * inputs["wavelength_um"]
            above = Slab(inputs, polarisation, inputs["wavelength_um"] + step)
            below = Slab(inputs, polarisation, inputs["wavelength_um"] - step)
            for m, n_eff in enumerate(modes):
                listed = expected[f"n_eff_{polarisation}"][m]
                table.value(case, f"n_eff_{polarisation}[{m}]", float(n_eff), 1e-12, listed)
                listed = expected[f"confinement_{polarisation}"][m]
                table.value(case, f"confinement_{polarisation}[{m}]", float(slab.confinement(n_eff)), 1e-9, listed)
                slope = (refine(above, n_eff) - refine(below, n_eff)) / (2 * step)
                group = n_eff - inputs["wavelength_um"] * slope
                listed = expected[f"n_group_{polarisation}"][m]
                table.value(case, f"n_group_{polarisation}[{m}]", float(group), 1e-8, listed)
            # A mode appears where the mismatch at the higher cladding index changes sign with the width.
            low = max(slab.n[0], slab.n[2]) * (1 + mp.mpf("1e-24"))
            for m, listed in enumerate(expected[f"cutoff_width_{polarisation}_um"]):
                if listed:

                    def at_width(width):
                        slab.d = width
                        return slab.mismatch(low)

                    width = mp.findroot(at_width, (listed * 0.99, listed * 1.01), solver="anderson", tol=1e-20)
                    table.value(case, f"cutoff_width_{polarisation}_um[{m}]", float(width), 1e-9, listed)
    table.finish()


def refine(slab, guess):
    """The mode of `slab` next to `guess`."""
    return mp.findroot(slab.mismatch, (guess, guess + mp.mpf("1e-9")), solver="secant", tol=1e-40)


if __name__ == "__main__":
    main()
