"""Constants of the transport: physical ones with their source, and the sizes of the engine's tables."""

from __future__ import annotations

import math

from halflayer.physics.photons import ELECTRON_KEV, HC_KEV_ANGSTROM

# A photon carries its wavelength in units of the Compton wavelength, lam = m c2 / E, instead of its energy:
# a Compton scatter then adds 1 - cos(theta), without a division or a logarithm.
HIGHEST_KEV = 3000.0  # dose coefficients end here (ICRP 74)
LOWEST_CUT_KEV = 10.0
LAM_START = ELECTRON_KEV / HIGHEST_KEV
PAIR_LAM = 1.0  # annihilation photons: 511 keV

# Momentum transfer squared x2 [1/angstrom2] = X2 (1 - cos) / lam2, from x = sin(theta/2) E / (h c).
X2 = 0.5 * (ELECTRON_KEV / HC_KEV_ANGSTROM) ** 2

LAM_NODES = 2048  # steps in lam: 0.012 at a cut of 20 keV, 1 % of lam at 400 keV
SHAPE_NODES = 1024  # steps in w = x / (x + SHAPE_X) of form factor and scattering function
SHAPE_X = 1.0  # 1/angstrom, our choice: S and F of all elements change most around x = 1
KN_ROWS = 96  # rows of the inverse Klein-Nishina table, even in lam / (lam + 1)
KN_BINS = 48  # bins of equal probability in each row
MAX_K_ELEMENTS = 4  # elements of one material whose K lines are followed
MAX_K_LINES = 8

FOUR_PI = 4.0 * math.pi
TWO_PI = 2.0 * math.pi

# What a pilot learns of a source's square, and how finely it is sampled (our choice: some photons in each cell).
CELLS_U, CELLS_V = 16, 12
BINS_U, BINS_V = 32, 16
# Coherent scatter by less than this angle is scored from the emission before it (see score.py).
FORWARD_COS = 0.9
# One history in so many scores forward scatter of the unscattered beam, and where a history costs so much [ns] that the
# scoring adds little.
FORWARD_EVERY, FORWARD_OFTEN, LONG_HISTORY_NS = 16, 4, 8000.0
GROUP = 128  # histories that share one shifted lattice, at most: the unit of all error estimates
MAX_COLLISIONS = 400  # a photon still alive after so many is lost: counted, never silent

# Purposes of random draws: a draw is hash(state, collision, purpose), so that no draw shifts another.
(
    DRAW_CHANNEL,
    DRAW_COS,
    DRAW_AZIMUTH,
    DRAW_FLIGHT,
    DRAW_ROULETTE,
    DRAW_LINE,
    DRAW_ELEMENT,
    DRAW_GO_ON,
    DRAW_FARTHER,
) = range(9)
DRAW_SCORE = 16  # and following: so many draws for each score
DRAWS_PER_SCORE = 11
