"""The arrays that the kernels read: sources, scores, rules; and the work space and sums that they write."""

from __future__ import annotations

from typing import Any, NamedTuple

POINT, LEAK_SPHERE, LEAK_BOX = 0, 1, 2  # kinds of source
CONE, PYRAMID = 0, 1  # kinds of aperture; a cone of 180 degrees is isotropic
AT_POINT, ON_RING, ON_AREA = 0, 1, 2  # kinds of score

# Columns of `Targets.rows`.
(
    KIND, X, Y, Z, E1X, E1Y, E1Z, E2X, E2Y, E2Z, NX, NY, NZ, NEAR2, PER_AREA, GATE, MEAN, TARGET_COLUMNS,
) = range(18)  # fmt: skip
# Columns of `Sources.rows`.
S_KIND, S_APERTURE, S_X, S_Y, S_Z, S_AXES, S_SIZE, S_LINES, S_STEEP, S_SEES, SOURCE_COLUMNS = (
    0, 1, 2, 3, 4, 5, 14, 17, 18, 19, 20,
)  # fmt: skip
# Columns of `Tally.scores`, then shares: kerma by solid of the last collision, and straight from leakage.
SQUARES, LARGEST, KERMA, H10, SHARES = 0, 1, 2, 6, 10
# The stack of photons that wait: most entries, numbers each.
STACK, ENTRY = 24, 16
# Cells of collisions (`history.cell_of`): bands of energy by their edges in lam (350, 200 and 100 keV), and levels of
# how well scores see a collision, in powers of two.
BANDS, LEVELS, LEVEL_STEP = 4, 24, 2.0
BAND_EDGES = (1.46, 2.555, 5.11)
CELLS = BANDS * LEVELS  # of each solid
# Entries of `Tally.counts`.
GROUPS, COLLISIONS, SCORING_RAYS, LOST, NOTES = 0, 1, 2, 3, 4


class Sources(NamedTuple):
    """Sources, one stratum each (n of them).

    rows (n SOURCE_COLUMNS,): kind; aperture; place; own axes u, v, w in the world with w the aim; three sizes
        (cone: 1 - cos of the half angle; pyramid: tangents of the half angles and 1 / solid angle; leaking
        sphere: radius; leaking box: half sizes); number of lines; how steeply the depth of first collisions falls
        (`flight.choose`); number of targets that forward scatter of the beam can reach
    most, lines (n most 3,): lam, running share as sampled, weight = true / sampled share of each line
    bins_u, bins_v: the two coordinates of a source's square (directions, or places of a surface) are cut into so
        many bins of equal sampled probability; bins (n (bins_u + 1), largest + 1): for each source their bounds in
        the first coordinate, then for each of those bins the bounds in the second
    seen (n targets,): the numbers of the targets that forward scatter can reach, packed to the left
    """

    rows: Any
    most: Any
    lines: Any
    bins_u: Any
    bins_v: Any
    bins: Any
    seen: Any


class Targets(NamedTuple):
    """Scores: count of them, rows (count, TARGET_COLUMNS), places: N + 2, reach (count places BANDS,).

    kind; place; e1, e2 (two radius vectors of a ring, half edges of an area) [m]; normal; near2: square of the
    radius about an area's centre within which crossings score it [m2]; 1 / area [1/m2]; gate: contribution
    below which a scoring ray is rouletted (0: never); mean: score expected of one history (0: unknown)
    reach: root mean square of what a scoring ray keeps of its unattenuated promise, from a collision in a solid or, the
        last of the places, from the surface of a leaking source, by the photon's band of energy
    worth (solids,): mean relative score that a collision of weight 1 in a solid brings, all that follows included
    future (solids LEVELS,): mean relative score that follows a collision of weight 1, by solid and by how well the
        scores see it
    """

    count: Any
    rows: Any
    places: Any
    reach: Any
    worth: Any
    future: Any


class Rules(NamedTuple):
    """World ball (centre and radius [m]); survival: contribution, in units of the score expected of one history,
    below which a photon is rouletted (0: by weight); sample: share of the scoring rays looked at where no gate is
    set; edges (B + 1,): lam at the edges of the spectrum bins, falling energy; bins: B, 0 without a spectrum;
    learn: 1 while the pilot learns; group: histories of a group that share one shifted lattice, the unit of all
    error estimates: a power of two, up to `constants.GROUP`; per_cap: one over the weight, in units of what left the
    source, above which no roulette raises a photon, so that a misjudged place cannot grow without bound; first_cap: the
    same at a history's first collision; wide: part of
    the coherent scatters that is sampled evenly over all directions; made: copies that one history may
    make; least, least_ray: no roulette of a photon, none of a scoring ray goes for longer odds than this, in case
    what it knows is wrong; per_part: copies that
    a photon goes on as after a collision for each unit of its weight, however little it promises (0: by what it
    promises alone); every: one history in so many scores forward scatter of the unscattered beam."""

    x: Any
    y: Any
    z: Any
    radius: Any
    survival: Any
    sample: Any
    edges: Any
    bins: Any
    learn: Any
    group: Any
    per_cap: Any
    first_cap: Any
    wide: Any
    made: Any
    least: Any
    least_ray: Any
    per_part: Any
    every: Any


class Tally(NamedTuple):
    """Sums of one batch for P scores, N solids + 1 and B spectrum bins.

    columns: SHARES + N + 2; scores (P columns,): sum of squares and largest of the kerma of single histories;
        four sums over groups of powers of the group mean of kerma, and of H*(10); kerma by solid
    spectrum (P B,); counts (5,): groups, collisions, scoring rays, lost photons, notes
    history, group (2 P,): kerma and H*(10) of the history and group under way
    cells (cells_u cells_v 2,), line_sums (most 2,): what the pilot learns of directions and lines: sum of squares
        of the relative score, and histories; promised, kept (P (N + 1) BANDS,): of scoring rays by solid of the
        collision, sums of squares of the unattenuated and of the real contribution
    notes (4 n,): the pilot's notes of collisions, so many as counts says: cell of the collision before (-1: none), cell
        (-1: gas seen from a flight), weight, mean relative score that it brought straight
    stack (ENTRY STACK,), keys (STACK,): photons that wait, and their random states
    pending (6 P,): places of gas on the flight under way, see `thin.plan`
    grid (GRID_COLUMNS,): the voxels asked for, see `voxels`; its first number is 0 where there are none
    voxels: dose sums of the voxels, x fastest
    """

    columns: Any
    scores: Any
    spectrum: Any
    counts: Any
    history: Any
    group: Any
    cells: Any
    line_sums: Any
    promised: Any
    kept: Any
    notes: Any
    stack: Any
    keys: Any
    pending: Any
    grid: Any
    voxels: Any
