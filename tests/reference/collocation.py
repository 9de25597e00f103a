"""Boundary-value problems by Gauss collocation, and the elements of a whole ribbon; used by the scripts beside it.

Four Gauss points per element, order eight at the nodes. Rates are differentiated by complex steps, so they have to be
analytic functions of the state. Stage values are eliminated element by element; the rest is one sparse system.
"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

STAGES = 4
_x, _w = np.polynomial.legendre.leggauss(STAGES)
POINTS, WEIGHTS = (_x + 1) / 2, _w / 2
# Coefficients of the Lagrange polynomials on the Gauss points, highest power last, and of their integrals.
_BASIS = np.linalg.inv(np.vander(POINTS, increasing=True)).T
_INTEGRALS = np.hstack([np.zeros((STAGES, 1)), _BASIS / np.arange(1, STAGES + 1)])
MATRIX = np.array([[np.polyval(row[::-1], c) for row in _INTEGRALS] for c in POINTS])


def complex_slopes(function, state):
    """Derivatives of an analytic function of `state` (first axis: components); result (out, in, ...)."""
    columns = []
    for i in range(state.shape[0]):
        moved = state.astype(complex)
        moved[i] += 1e-30j
        columns.append(np.imag(function(moved)) / 1e-30)
    return np.stack(columns, axis=1)


class Answer:
    """Solution: `nodes` (state, element + 1), `stages` (state, element, stage) and its polynomials."""

    def __init__(self, nodes, slopes):
        self.nodes, self.slopes = nodes, slopes
        self.stages = nodes[:, :-1, None] + np.einsum("ij,nej->nei", MATRIX, slopes)

    def at(self, share):
        """State at the given share of every element."""
        integrals = np.array([np.polyval(row[::-1], share) for row in _INTEGRALS])
        return self.nodes[:, :-1] + np.einsum("j,nej->ne", integrals, self.slopes)


def solve(rates, ends, guess, limit=None, tolerance=1e-11, most=60):
    """Finds y with dy/dt = rates(y) on elements of unit length and ends(y(first), y(last)) = 0.

    rates: (state, element, stage) to the same shape, times the length of the element. ends: as many equations as
    states. guess: Answer, or nodes (state, element + 1). limit: per component, the largest change in one step.
    """
    if isinstance(guess, Answer):
        nodes, slopes = guess.nodes.copy(), guess.slopes.copy()
    else:
        nodes = np.array(guess, dtype=float)
        slopes = np.repeat(np.diff(nodes, axis=1)[:, :, None], STAGES, axis=2)
    n, count = nodes.shape[0], nodes.shape[1] - 1
    size = n * (count + 1)
    history = []
    for step in range(most):
        stages = nodes[:, :-1, None] + np.einsum("ij,nej->nei", MATRIX, slopes)
        residual = slopes - rates(stages)
        jacobian = complex_slopes(rates, stages)  # (out, in, element, stage)
        big = -np.einsum("ij,abei->eiajb", MATRIX, jacobian).reshape(count, STAGES * n, STAGES * n)
        big += np.eye(STAGES * n)
        right = np.empty((count, STAGES * n, n + 1))
        right[:, :, :n] = np.einsum("abei->eiab", jacobian).reshape(count, STAGES * n, n)
        right[:, :, n] = -np.einsum("aei->eia", residual).reshape(count, STAGES * n)
        inner = np.linalg.solve(big, right).reshape(count, STAGES, n, n + 1)
        over = np.einsum("i,eiab->eab", WEIGHTS, inner)
        gap = np.diff(nodes, axis=1) - np.einsum("i,nei->ne", WEIGHTS, slopes)
        first, last = nodes[:, 0], nodes[:, -1]
        closing = ends(first, last)
        near = complex_slopes(lambda y: ends(y, last), first)
        far = complex_slopes(lambda y: ends(first, y), last)
        rows, columns, values = [], [], []
        index = np.arange(count)[:, None, None] * n
        a, b = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
        for block, shift in ((-np.eye(n) - over[:, :, :n], 0), (np.broadcast_to(np.eye(n), (count, n, n)), n)):
            rows.append((n + index + a).ravel())
            columns.append((index + shift + b).ravel())
            values.append(block.ravel())
        for block, shift in ((near, 0), (far, n * count)):
            rows.append(a.ravel())
            columns.append((shift + b).ravel())
            values.append(block.ravel())
        matrix = coo_matrix(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=(size, size)
        ).tocsc()
        vector = np.concatenate([-closing, (-gap + over[:, :, n].T).T.ravel()])
        change = splu(matrix).solve(vector).reshape(count + 1, n).T
        inside = np.einsum("eiab,be->aei", inner[:, :, :, :n], change[:, :-1])
        inside += np.einsum("eia->aei", inner[:, :, :, n])
        share = 1.0
        if limit is not None:
            with np.errstate(divide="ignore"):
                share = min(1.0, (np.asarray(limit) / np.maximum(np.abs(change).max(axis=1), 1e-300)).min())
        nodes += share * change
        slopes += share * inside
        if not np.all(np.isfinite(nodes)):
            break
        # A component that vanishes by symmetry is judged against the others.
        scale = np.maximum(np.abs(nodes).max(axis=1), 1e-2 * np.abs(nodes).max())
        error = (np.abs(change).max(axis=1) / scale).max()
        history.append(float(error))
        if error < tolerance or (error < 1e-7 and len(history) > 3 and error > 0.3 * history[-2]):
            return Answer(nodes, slopes)
    raise RuntimeError(f"no convergence: {history[-3:]}")


class Ribbon:
    """Elements of a whole ribbon in units of the pitch: rest angle, curvature and length at stages and ends.

    shape: pieces of a quarter as in planar_cell.Shape; start: crossing or crest; lead: over the pitch.
    """

    def __init__(self, shape, periods, start="crossing", lead=0.0, elements=8):
        self.angle, self.curvature, self.length = [], [], []
        self.shares = []
        tilt = float(shape.pieces[0][0](0.0))
        turn = {"crossing": [0, 1, 2, 3], "crest": [1, 2, 3, 0]}[start]
        ends = {"crossing": tilt, "crest": 0.0}[start]
        self._parts = []
        if lead > 0:
            self._straight(ends, lead, elements)
        for _ in range(periods):
            for quarter in turn:
                backwards, sign = quarter % 2 == 1, -1 if quarter in (2, 3) else 1
                pieces = shape.pieces[::-1] if backwards else shape.pieces
                for angle, curvature, ds in pieces:
                    self._piece(angle, curvature, ds, backwards, sign, elements)
        if lead > 0:
            self._straight(ends, lead, elements)
        self.count = len(self._parts)
        self.stages = self.at(POINTS)
        ds = self.stages[2]
        self.nodes_s = np.concatenate([[0], np.cumsum(np.einsum("i,ei->e", WEIGHTS, ds))])
        phi = self.stages[0]
        self.x = np.concatenate([[0], np.cumsum(np.einsum("i,ei->e", WEIGHTS, np.cos(phi) * ds))])
        self.y = np.concatenate([[0], np.cumsum(np.einsum("i,ei->e", WEIGHTS, np.sin(phi) * ds))])
        starts, finish = self.at(np.array([0.0, 1.0]))[0].T
        self.phi = np.concatenate([starts, finish[-1:]])

    def _straight(self, angle, length, elements):
        self._piece(lambda t: angle + 0 * t, lambda t: 0 * t, lambda t: length + 0 * t, False, 1, elements)

    def _piece(self, angle, curvature, ds, backwards, sign, elements):
        # Graded towards both ends, where boundary layers sit.
        marks = (1 - np.cos(np.pi * np.arange(elements + 1) / elements)) / 2
        marks = 0.5 * marks + 0.5 * np.arange(elements + 1) / elements
        for low, high in zip(marks[:-1], marks[1:]):
            self._parts.append((angle, curvature, ds, backwards, sign, low, high))

    def at(self, shares):
        """(rest angle, rest curvature, length of the element) at shares of every element: 3 x (element, share)."""
        out = np.empty((3, self.count, len(shares)))
        for e, (angle, curvature, ds, backwards, sign, low, high) in enumerate(self._parts):
            t = low + (high - low) * np.asarray(shares)
            t = 1 - t if backwards else t
            out[0, e] = (-sign if backwards else sign) * angle(t)
            out[1, e] = sign * curvature(t)
            out[2, e] = (high - low) * ds(t)
        return out


def sigma(u):
    """Bending integral of a rectangle over its straight value, u = kappa0 w / 2, for arrays."""
    series = 1 + 3 * u**2 / 5 + 3 * u**4 / 7 + u**6 / 3 + 3 * u**8 / 11
    safe = np.where(abs(u) < 0.05, 0.5, u)
    return np.where(abs(u) < 0.05, series, 3 * (np.arctanh(safe) / safe - 1) / safe**2)


class Planar:
    """Whole ribbon in its plane; state (phi, x, y, M, H, V) in units of the pitch P and of EI = E t w^3/12."""

    def __init__(self, ribbon, eta):
        self.ribbon, self.eta, self.ea = ribbon, eta, 12 / eta**2

    def _rates(self, curvature, ds, state):
        phi, _, _, moment, h, v = state
        axial = (h * np.cos(phi) + v * np.sin(phi) + curvature * moment) / self.ea
        out = np.zeros_like(state)
        out[0] = curvature * (1 + axial) + moment / sigma(curvature * self.eta / 2)
        out[1] = (1 + axial) * np.cos(phi)
        out[2] = (1 + axial) * np.sin(phi)
        out[3] = (1 + axial) * (h * np.sin(phi) - v * np.cos(phi))
        return out * ds

    def solve(self, stretch, start=None, steps=None):
        """State at a stretch of the span, followed from rest (or from `start` in one step)."""
        ribbon = self.ribbon
        _, curvature, ds = ribbon.stages
        span, rise = ribbon.x[-1], ribbon.y[-1]
        answer = start
        if answer is None:
            zero = np.zeros_like(ribbon.x)
            answer = np.array([ribbon.phi, ribbon.x, ribbon.y, zero, zero, zero])
        steps = steps or (1 if start is not None else max(2, int(np.ceil(abs(stretch) / 0.1))))
        for step in range(1, steps + 1):
            target = span * (1 + stretch * step / steps)

            def ends(a, b, target=target):
                left = [a[0] - ribbon.phi[0], a[1], a[2]]
                return np.array(left + [b[0] - ribbon.phi[-1], b[1] - target, b[2] - rise])

            answer = solve(lambda y: self._rates(curvature, ds, y), ends, answer, [0.5] + [np.inf] * 5)
        return answer

    def strains(self, answer, samples=129):
        """(place s, left edge strain, right edge strain) over all elements at even shares, ends included."""
        shares = np.linspace(0, 1, samples)
        _, curvature, _ = self.ribbon.at(shares)
        states = np.stack([answer.at(share) for share in shares], axis=2)
        phi, moment = states[0], states[3]
        axial = (states[4] * np.cos(phi) + states[5] * np.sin(phi) + curvature * moment) / self.ea
        chi = moment / sigma(curvature * self.eta / 2)
        edges = [axial - y * chi / (1 - y * curvature) for y in (self.eta / 2, -self.eta / 2)]
        lengths = np.diff(self.ribbon.nodes_s)
        s = self.ribbon.nodes_s[:-1, None] + shares * lengths[:, None]
        return s, edges[0], edges[1]

    def energy(self, answer):
        """Energy in EI/P."""
        _, curvature, ds = self.ribbon.stages
        phi, _, _, moment, h, v = answer.stages
        axial = (h * np.cos(phi) + v * np.sin(phi) + curvature * moment) / self.ea
        density = self.ea * axial**2 / 2 + moment**2 / sigma(curvature * self.eta / 2) / 2
        return np.einsum("i,ei->", WEIGHTS, density * ds)
