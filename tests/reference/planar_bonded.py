"""Recomputes planar_bonded.json by collocation of the strong form.

The listed values come from a mixed Galerkin form and from shooting. Here (phi, x, y, M, H, V) of the quarter is one
boundary-value problem solved by Gauss collocation, stiffened step by step from the freestanding state.

Run: pip install numpy scipy mpmath; python3 tests/reference/planar_bonded.py
"""

import numpy as np

from collocation import POINTS, Ribbon, sigma, solve
from comparison import Comparison
from planar_cell import Shape


class Quarter(Ribbon):
    """Elements of the quarter from the crossing to the crest."""

    def __init__(self, shape, elements):
        self._parts = []
        for angle, curvature, ds in shape.pieces:
            self._piece(angle, curvature, ds, False, 1, elements)
        self.count = len(self._parts)
        self.stages = self.at(POINTS)
        self.phi = np.concatenate([self.at([0.0])[0, :, 0], [0.0]])

    def rest(self, shares):
        """Rest positions (x, y) at shares of every element, by Gauss quadrature from its start."""
        x, y = np.zeros((self.count, len(shares))), np.zeros((self.count, len(shares)))
        x0 = y0 = 0.0
        nodes, weights = np.polynomial.legendre.leggauss(20)
        nodes, weights = (nodes + 1) / 2, weights / 2
        for k, share in enumerate(list(shares) + [1.0]):
            phi, _, ds = self.at(share * nodes)
            dx, dy = share * (np.cos(phi) * ds) @ weights, share * (np.sin(phi) * ds) @ weights
            if k < len(shares):
                x[:, k], y[:, k] = dx, dy
        # The last round spans whole elements: its running sums are where they start.
        x0, y0 = np.concatenate([[0], np.cumsum(dx)[:-1]]), np.concatenate([[0], np.cumsum(dy)[:-1]])
        return x + x0[:, None], y + y0[:, None]


def edges(eta, curvature, axial, chi):
    """Strain of the left and right edge."""
    return np.stack([axial - y * chi / (1 - y * curvature) for y in (eta / 2, -eta / 2)])


def main():
    table = Comparison("planar_bonded")
    shares = np.linspace(0, 1, 129)
    for case in table.cases:
        inputs = case["inputs"]
        pitch, eta, e = inputs["pitch_um"], inputs["width_um"] / inputs["pitch_um"], inputs["stretch"]
        target, nu, ea = inputs["foundation_k_p4_per_ei"], inputs["substrate_poisson"], 12 / eta**2
        quarter = Quarter(Shape(inputs), 24)
        _, curvature, ds = quarter.stages
        along, across = 1 + e, (1 + e) ** -nu
        x_rest, y_rest = quarter.rest(POINTS)
        x_goal, y_goal = along * x_rest, across * y_rest

        def rates(state, k, curvature=curvature, ds=ds, x_goal=x_goal, y_goal=y_goal, ea=ea, eta=eta):
            phi, x, y, moment, h, v = state
            axial = (h * np.cos(phi) + v * np.sin(phi) + curvature * moment) / ea
            bent = curvature * (1 + axial) + moment / sigma(curvature * eta / 2)
            turning = (1 + axial) * (h * np.sin(phi) - v * np.cos(phi))
            pulls = [k * (x - x_goal), k * (y - y_goal)]
            return np.array([bent, (1 + axial) * np.cos(phi), (1 + axial) * np.sin(phi), turning] + pulls) * ds

        def ends(a, b, along=along):
            return np.array([a[1], a[2], a[3], b[0], b[1] - along / 4, b[5]])

        # The mapped curve, without forces, is the guess for both limits.
        x_node, y_node = quarter.rest([0.0])
        zero = np.zeros(quarter.count + 1)
        x_node, y_node = (np.append(v[:, 0], 2 * v[-1, 0] - v[-2, 0]) for v in (x_node, y_node))
        phi = np.arctan2(across * np.sin(quarter.phi), along * np.cos(quarter.phi))
        guess = np.array([phi, along * x_node, across * y_node, zero, zero, zero])
        answers = {}
        for k in [0.0] + [k for k in 10.0 ** np.arange(2, 9) if k < target] + [target]:
            guess = solve(lambda y, k=k: rates(y, k), ends, guess, [0.3] + [np.inf] * 5)
            answers[k] = guess

        _, fine, _ = quarter.at(shares)

        def strains(answer, fine=fine, ea=ea, eta=eta):
            states = np.stack([answer.at(share) for share in shares], axis=2)
            phi, _, _, moment, h, v = states
            axial = (h * np.cos(phi) + v * np.sin(phi) + fine * moment) / ea
            return edges(eta, fine, axial, moment / sigma(fine * eta / 2)), states

        both, states = strains(answers[target])
        peak = both.ravel()[np.argmax(np.abs(both))]
        table.value(case, "peak_strain", peak, 1e-6)
        table.value(case, "peak_tensile_strain", both.max(), 1e-6)
        last, first = answers[target].nodes[:, -1], answers[target].nodes[:, 0]
        table.value(case, "crest_force_ei_per_p2", last[4], 1e-7)
        table.value(case, "crossing_force_ei_per_p2", first[4], 1e-7 * abs(last[4] / first[4]))
        table.value(case, "crest_height_um", last[2] * pitch, 1e-7)
        x_rest, y_rest = quarter.rest(shares)
        slip = np.hypot(states[1] - along * x_rest, states[2] - across * y_rest).max()
        table.value(case, "largest_slip_um", slip * pitch, 1e-5)
        free, _ = strains(answers[0.0])
        table.value(case, "freestanding_peak_strain", free.ravel()[np.argmax(np.abs(free))], 1e-6)
        phi, curvature, _ = quarter.at(shares)
        ratio = np.hypot(along * np.cos(phi), across * np.sin(phi))
        # Curvature per rest length: the turning of the mapped tangent.
        chi = curvature * along * across / ratio**2 - curvature * ratio
        mapped = edges(eta, curvature, ratio - 1, chi)
        table.value(case, "following_peak_strain", mapped.ravel()[np.argmax(np.abs(mapped))], 1e-7)
    table.finish()


if __name__ == "__main__":
    main()
