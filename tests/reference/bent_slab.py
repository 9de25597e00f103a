"""The exact bent slab with Bessel functions of complex order from mpmath; used by the optics scripts."""

import mpmath as mp

DB = 20 / mp.log(10)
# High orders cancel: an order of 3000 takes some 10000 bits.
MAX_BITS = 40000


class BentSlab:
    """J inside, a combination of J and Y in the core, an outgoing Hankel function outside.

    With r in units of 1/k0; q is 1 for E along the bend axis (TE), n^2 for H along it (TM).
    """

    def __init__(self, wavelength, width, radius, n_inner, n_core, n_outer, polarisation):
        self.k0 = 2 * mp.pi / mp.mpf(wavelength)
        self.radius = mp.mpf(radius)
        self.half = mp.mpf(width) / 2
        self.n = [mp.mpf(n) for n in (n_inner, n_core, n_outer)]
        self.q = [n**2 if polarisation == "TM" else mp.mpf(1) for n in self.n]

    def pair(self, function, region, nu, r):
        """Value and q-weighted radial slope of a Bessel function at radius r in a region."""
        x = self.n[region] * self.k0 * r
        value = function(nu, x, maxprec=MAX_BITS)
        slope = (nu / x * value - function(nu + 1, x, maxprec=MAX_BITS)) * self.n[region] * self.k0
        return value, slope / self.q[region]

    def match(self, nu):
        """Coefficients (core J, core Y, outside H) and the mismatch of slopes at the outer edge."""
        r1, r2 = self.radius - self.half, self.radius + self.half
        f, g = self.pair(mp.besselj, 0, nu, r1)
        j, dj = self.pair(mp.besselj, 1, nu, r1)
        y, dy = self.pair(mp.bessely, 1, nu, r1)
        wronskian = j * dy - y * dj
        a, b = (f * dy - g * y) / wronskian, (g * j - f * dj) / wronskian
        j, dj = self.pair(mp.besselj, 1, nu, r2)
        y, dy = self.pair(mp.bessely, 1, nu, r2)
        h, dh = self.pair(mp.hankel1, 2, nu, r2)
        field, slope = a * j + b * y, a * dj + b * dy
        return (a, b, field / h), slope / field - dh / h

    def solve(self, guess):
        """The complex order next to `guess`, by the secant method."""
        start = mp.mpc(guess)
        return mp.findroot(
            lambda nu: self.match(nu)[1], (start, start * (1 + mp.mpf("1e-7"))), solver="secant",
            tol=mp.mpf(10) ** (2 - mp.mp.dps), maxsteps=40, verify=False,
        )

    def index(self, nu):
        """Effective index that belongs to the middle of the core."""
        return nu / (self.k0 * self.radius)

    def field(self, nu):
        """F(r) on the real axis as a function, inside, in the core and outside, and its region."""
        (a, b, c), _ = self.match(nu)

        def at(r):
            if r < self.radius - self.half:
                return mp.besselj(nu, self.n[0] * self.k0 * r, maxprec=MAX_BITS), 0
            if r <= self.radius + self.half:
                x = self.n[1] * self.k0 * r
                return a * mp.besselj(nu, x, maxprec=MAX_BITS) + b * mp.bessely(nu, x, maxprec=MAX_BITS), 1
            return c * mp.hankel1(nu, self.n[2] * self.k0 * r, maxprec=MAX_BITS), 2

        return at


def loss_per_90deg(nu):
    """Loss in dB over a quarter turn."""
    return DB * mp.im(nu) * mp.pi / 2


def straight_index(wavelength, width, n_clad, n_core, polarisation):
    """Effective index of the fundamental mode of the symmetric straight slab."""
    k0 = 2 * mp.pi / mp.mpf(wavelength)
    weight = (mp.mpf(n_core) / n_clad) ** 2 if polarisation == "TM" else mp.mpf(1)

    def even(n_eff):
        k, g = k0 * mp.sqrt(n_core**2 - n_eff**2), k0 * mp.sqrt(n_eff**2 - n_clad**2)
        return k * mp.sin(k * width / 2) - weight * g * mp.cos(k * width / 2)

    low = mp.sqrt(max(mp.mpf(n_clad) ** 2, mp.mpf(n_core) ** 2 - (mp.pi / (k0 * width)) ** 2))
    return mp.findroot(even, (low, mp.mpf(n_core)), solver="anderson", tol=mp.mpf(10) ** (2 - mp.mp.dps), verify=False)
