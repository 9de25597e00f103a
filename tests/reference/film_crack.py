"""Crack factor of a film on layers by plane-strain finite elements, shared by the scripts beside it.

Half of a film with a crack through its thickness, stopping at the interface, faces under unit pressure: eight-node
rectangles with four integration points, on a grid graded towards the crack tip in place of an extrapolation. The stiffer the
film, the finer the grid must be there; below 1e-7 film thicknesses rounding spoils stacks with an elastomer. A channel crack in steady growth has Z = E*/(sigma h^2) times the integral of half its opening over the film.
"""

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import spsolve

GROWTH, FAR = 1.5, 2e4
# Corners, then middles of the sides.
XI = np.array([-1, 1, 1, -1, 0, 1, 0, -1.0])
ETA = np.array([-1, -1, 1, 1, -1, 0, 1, 0.0])


def graded(start, end, finest):
    """Coordinates from start to end whose steps grow away from start."""
    steps = [finest]
    while sum(steps) < abs(end - start):
        steps.append(steps[-1] * GROWTH)
    places = np.concatenate(([0.0], np.cumsum(steps)))
    return start + (end - start) * places / places[-1]


def graded_to_both(start, end, finest_start, finest_end):
    """Ascending coordinates graded to both ends."""
    middle = (start + end) / 2
    return np.concatenate((graded(start, middle, finest_start), graded(end, middle, finest_end)[-2::-1]))


def derivatives(s, t):
    """Derivatives of the shape functions at (s, t)."""
    d = np.zeros((2, 8))
    corner, along, up = slice(0, 4), [4, 6], [5, 7]
    x, e = XI[corner], ETA[corner]
    d[0, corner] = x * (1 + e * t) * (2 * x * s + e * t) / 4
    d[1, corner] = e * (1 + x * s) * (2 * e * t + x * s) / 4
    d[0, along], d[1, along] = -s * (1 + ETA[along] * t), ETA[along] * (1 - s * s) / 2
    d[0, up], d[1, up] = XI[up] * (1 - t * t) / 2, -t * (1 + XI[up] * s)
    return d


def grid(film, layers, tip):
    """Coordinates across and up, and the material of each row of elements; the film is 1 thick, from z = 0."""
    pieces, top = [(graded_to_both(0.0, 1.0, tip, 0.05), film)], 0.0
    for index, (material, thickness) in enumerate(layers):
        bottom = top - thickness
        finest = tip if index == 0 else 0.05
        if index == len(layers) - 1:
            z = graded(top, bottom, finest)[::-1]
        else:
            z = graded_to_both(bottom, top, 0.05, finest)
        pieces.insert(0, (z, material))
        top = bottom
    z = np.concatenate([piece[:-1] for piece, _ in pieces] + [[1.0]])
    rows = [material for piece, material in pieces for _ in piece[1:]]
    return graded(0.0, FAR, tip), z, rows


def crack_factor(film, layers, tip=1e-6):
    """Z. Materials are (E, nu); `layers` lists (material, thickness over that of the film), top to bottom;
    `tip` is the least element over the film's thickness."""
    x, z, rows = grid(film, [*layers[:-1], (layers[-1][0], FAR)], tip)
    across, up = len(x) - 1, len(z) - 1
    i, j = np.meshgrid(np.arange(2 * across + 1), np.arange(2 * up + 1), indexing="ij")
    real = (i % 2 == 0) | (j % 2 == 0)
    number = np.where(real, np.cumsum(real).reshape(real.shape) - 1, -1)
    i, j = (index.ravel() for index in np.meshgrid(np.arange(across), np.arange(up), indexing="ij"))
    offsets = list(zip((XI + 1).astype(int), (ETA + 1).astype(int), strict=True))
    nodes = np.stack([number[2 * i + a, 2 * j + b] for a, b in offsets], 1)
    modulus, poisson = np.array(rows)[j].T
    lame = modulus * poisson / ((1 + poisson) * (1 - 2 * poisson))
    shear = modulus / 2 / (1 + poisson)
    wide, high = np.diff(x)[i], np.diff(z)[j]
    stiffness = np.zeros((len(i), 16, 16))
    elastic = np.zeros((len(i), 3, 3))
    elastic[:, 0, 0] = elastic[:, 1, 1] = lame + 2 * shear
    elastic[:, 0, 1] = elastic[:, 1, 0] = lame
    elastic[:, 2, 2] = shear
    for s in (-(3**-0.5), 3**-0.5):
        for t in (-(3**-0.5), 3**-0.5):
            d = derivatives(s, t)
            strain = np.zeros((len(i), 3, 16))
            strain[:, 0, 0::2] = strain[:, 2, 1::2] = d[0] * 2 / wide[:, None]
            strain[:, 1, 1::2] = strain[:, 2, 0::2] = d[1] * 2 / high[:, None]
            area = (wide * high / 4)[:, None, None]
            stiffness += np.einsum("eji,ejk,ekl->eil", strain, elastic, strain, optimize=True) * area
    freedoms = np.stack((2 * nodes, 2 * nodes + 1), 2).reshape(len(i), 16)
    count = 2 * int(real.sum())
    row, column = np.repeat(freedoms, 16, 1).ravel(), np.tile(freedoms, (1, 16)).ravel()
    matrix = csc_matrix((stiffness.ravel(), (row, column)), shape=(count, count))
    # Unit pressure on the crack's face; the same weights integrate the opening.
    weights = np.zeros(count)
    first = int(np.argmin(np.abs(z)))
    for k in range(first, up):
        for place, share in ((2 * k, 1 / 6), (2 * k + 1, 4 / 6), (2 * k + 2, 1 / 6)):
            weights[2 * number[0, place]] += share * (z[k + 1] - z[k])
    held = np.concatenate((2 * number[0, : 2 * first + 1], 2 * number[-1, number[-1] >= 0]))
    held = np.union1d(held, 2 * number[number[:, 0] >= 0, 0] + 1)
    free = np.setdiff1d(np.arange(count), held)
    moved = spsolve(matrix[free][:, free], weights[free])
    return film[0] / (1 - film[1] ** 2) * (moved @ weights[free])
