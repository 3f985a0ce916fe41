"""The primary image: kerma at every pixel from the whole focal spot, traced where it bends and straight between.

Nodes every few pixels are traced from every point of the source. Where its logarithm is straight between nodes it
is read between them; where it is not (edges of pipe and cap), and around whatever is small (wires, flaws,
which are marked beforehand), every pixel is traced for itself.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.base.errors import OutOfRange
from halflayer.exposure.paths import film_hits
from halflayer.radiograph import kernels
from halflayer.radiograph.view import Optics
from halflayer.scene.compiled import thread_count, workers
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.frame import Vec3
from halflayer.scene.rays import PackedScene
from halflayer.scene.solids import Scene
from halflayer.scene.trace import pack, scratch

Array = NDArray[np.float64]
Image = NDArray[np.float32]

EVERY = 4  # our choice: pixels from node to node
# Our choice: a cell whose log kerma bends by more than this from node to node is traced pixel by pixel; the straight
# reading is then off by an eighth of it, less than a tenth of the grain of the finest film.
BEND = 0.015
# Our choice: nodes twice as far apart do where they are no farther than this and bend by less than this share of it
# (a kink half way between two shows as half of its bend, and is off by as much again).
WIDE_M, WIDE_BEND = 5e-4, 0.25
LEAST_KERMA = 1e-9  # of the largest: what is darker counts as unlit (our choice)
PIXEL_LEAST_M, PIXEL_MOST_M = 5e-6, 5e-3  # our choice: below, no detector resolves it; above, it is no image
FEW = 100  # places that are not worth sharing among threads (our choice)
PIXELS_MOST = 60_000_000  # our choice: what 8 GB of memory hold with room to work


@dataclass(frozen=True)
class Frame:
    """Pixels of an image on the film: rows along the pipe (u), columns across it or round the arc (v).

    The middle of the first pixel lies at (u0_m, v0_m) from the film's middle.
    """

    u0_m: float
    v0_m: float
    pixel_m: float
    rows: int
    columns: int

    @property
    def u_m(self) -> Array:
        """Middles of the rows [m]."""
        return self.u0_m + self.pixel_m * np.arange(self.rows, dtype=np.float64)

    @property
    def v_m(self) -> Array:
        """Middles of the columns [m]."""
        return self.v0_m + self.pixel_m * np.arange(self.columns, dtype=np.float64)

    def index(self, u_m: float, v_m: float) -> tuple[int, int]:
        """Row and column of the pixel that holds a place."""
        return round((u_m - self.u0_m) / self.pixel_m), round((v_m - self.v0_m) / self.pixel_m)

    def holds(self, u_m: float, v_m: float) -> bool:
        """True where a place lies in the image."""
        i, j = self.index(u_m, v_m)
        return 0 <= i < self.rows and 0 <= j < self.columns


def frame(
    film: FilmSurface,
    *,
    pixel_m: float,
    width_m: float | None = None,
    length_m: float | None = None,
    middle: tuple[float, float] = (0.0, 0.0),
) -> Frame:
    """Pixels of the whole sheet, or of a part of it about a place.

    Raises: OutOfRange for a pixel that no detector has, or for an image over the memory that is granted.
    """
    if not PIXEL_LEAST_M <= pixel_m <= PIXEL_MOST_M:
        raise OutOfRange(
            f"a pixel of {pixel_m * 1e6:g} um",
            clause=f"{PIXEL_LEAST_M * 1e6:g} um to {PIXEL_MOST_M * 1e3:g} mm",
        )
    parts = (film.width_m if width_m is None else width_m, film.length_m if length_m is None else length_m)
    if not all(0.0 < part < math.inf for part in parts):
        raise OutOfRange(
            f"a part of {parts[0] * 1e3:g} x {parts[1] * 1e3:g} mm of the film", clause="sizes above zero"
        )
    if not all(math.isfinite(m) for m in middle):
        raise OutOfRange(f"a part about {middle}", clause="a place on the film")
    width, length = min(parts[0], film.width_m), min(parts[1], film.length_m)
    rows, columns = max(1, round(width / pixel_m)), max(1, round(length / pixel_m))
    if rows * columns > PIXELS_MOST:
        least = math.sqrt(width * length / PIXELS_MOST)
        raise OutOfRange(
            f"an image of {rows} x {columns} pixels, {rows * columns / 1e6:.0f} million",
            clause=f"{PIXELS_MOST / 1e6:.0f} million at most: pixels of {least * 1e6:.0f} um or more",
        )

    def kept(at: float, part: float, whole: float) -> float:
        return min(max(at, (part - whole) / 2), (whole - part) / 2)

    u, v = kept(middle[0], width, film.width_m), kept(middle[1], length, film.length_m)
    return Frame(u - 0.5 * (rows - 1) * pixel_m, v - 0.5 * (columns - 1) * pixel_m, pixel_m, rows, columns)


def shared(rows: int, part: Callable[[int, int], None]) -> None:
    """Run `part(first, last)` over all rows on the engine's threads."""
    threads = thread_count()
    if threads == 1 or rows < 8:
        part(0, rows)
        return
    step = max(1, -(-rows // (8 * threads)))
    for task in [workers().submit(part, a, min(a + step, rows)) for a in range(0, rows, step)]:
        task.result()


_kept: deque[tuple[Scene, PackedScene]] = deque(maxlen=8)  # an exposure looks at a few scenes many times


def packed_scene(scene: Scene) -> PackedScene:
    """The scene as arrays; the last few are kept."""
    for known, packed in tuple(_kept):
        if known is scene:
            return packed
    packed = pack(scene)
    _kept.append((scene, packed))
    return packed


def primary(
    optics: Optics, pixels: Frame, *, marked: Sequence[Vec3] = (), every: int = EVERY, bend: float = BEND
) -> Image:
    """Uncollided kerma per decay at every pixel [Gy], (rows, columns) float32, penumbra of the spot included.

    `marked` are points of the scene about which every pixel is traced (`rod_points` gives those of a wire);
    the margin is the shadow of the spot and two pixels. `bend`: see `BEND`.
    """
    packed, view = packed_scene(optics.scene), optics.view

    def trace(grid: Array, wanted: NDArray[np.bool_], out: Array) -> None:
        flags = np.ascontiguousarray(wanted.astype(np.uint8))

        def part(first: int, last: int) -> None:
            kernels.nodes(packed, view, grid, flags, first, last, out, scratch(packed.n))

        shared(len(out), part)

    net = net_of(optics, pixels, trace, marked=marked, every=every, bend=bend)
    rows = np.zeros((len(net.coarse), pixels.columns))
    fine = np.array([pixels.u0_m, pixels.v0_m, pixels.pixel_m, net.least])

    def trace_rows(first: int, last: int) -> None:
        kernels.node_rows(
            packed, view, fine, every, net.coarse, net.in_rows, first, last, rows, scratch(packed.n)
        )

    shared(len(rows), trace_rows)
    out = np.zeros((pixels.rows, pixels.columns), dtype=np.float32)

    def fill(first: int, last: int) -> None:
        kernels.fill(packed, view, fine, every, rows, net.in_cells, first, last, out, scratch(packed.n))

    shared(len(net.in_cells), fill)
    return out


# Traces the nodes of a grid (u0, v0, step) that are wanted (n, m) into out (n, m).
Trace = Callable[[Array, NDArray[np.bool_], Array], None]


@dataclass(frozen=True)
class Net:
    """The nodes of an image, and where the pixels between them are traced and not read on straight lines.

    coarse (n + 1, m + 1): log kerma at the nodes; in_rows (n + 1, m), in_cells (n, m): 1 where pixels of a row of
    nodes, or of a cell between them, are traced; least: the kerma that counts as unlit.
    """

    coarse: Array
    in_rows: NDArray[np.uint8]
    in_cells: NDArray[np.uint8]
    least: float


def net_of(
    optics: Optics,
    pixels: Frame,
    trace: Trace,
    *,
    marked: Sequence[Vec3] = (),
    every: int = EVERY,
    bend: float = BEND,
) -> Net:
    """The nodes of an image, traced by what is given; see `primary`."""
    cells = (-(-pixels.rows // every), -(-pixels.columns // every))
    marks = _marks(optics, pixels, marked, every, cells)
    coarse, least = _nodes(trace, pixels, every, bend, marks)
    along, across = bent(coarse, 0, bend) | marks, bent(coarse, 1, bend) | marks
    # A row of nodes serves the cells on both sides of it.
    in_rows = np.zeros((cells[0] + 1, cells[1]), dtype=np.uint8)
    in_rows[:-1] |= across
    in_rows[1:] |= across
    return Net(coarse, in_rows, np.ascontiguousarray(along.astype(np.uint8)), least)


def _nodes(
    trace_some: Trace, pixels: Frame, every: int, bend: float, marks: NDArray[np.bool_]
) -> tuple[Array, float]:
    """Log kerma at the nodes (cells + 1), and the kerma that counts as unlit.

    Every second node is traced; those between them are read on a straight line where the second ones bend no more
    than a straight reading allows, and traced elsewhere and beside what is marked.
    """
    shape = (marks.shape[0] + 1, marks.shape[1] + 1)
    out = np.zeros(shape)
    grid = np.array([pixels.u0_m, pixels.v0_m, pixels.pixel_m * every])

    def trace(wanted: NDArray[np.bool_]) -> None:
        trace_some(grid, wanted, out)

    second = np.zeros(shape, dtype=bool)
    if 2.0 * grid[2] > WIDE_M:
        second[:] = True
        trace(second)
        least = LEAST_KERMA * max(float(out.max()), 1e-300)
        return np.log(np.maximum(out, least)), least
    second[::2, ::2] = True
    second[-1, ::2] = second[::2, -1] = second[-1, -1] = True  # the last ones end the grid
    trace(second)
    least = LEAST_KERMA * max(float(out.max()), 1e-300)
    # A node is near a bend where one of the traced ones about it is; the ends of the grid are traced as they are.
    logs = np.log(np.maximum(out[::2, ::2], least))
    bends = (
        (bent(logs, 0, bend) | bent(logs, 1, bend)) if min(logs.shape) > 1 else np.ones((1, 1), dtype=bool)
    )
    wanted = np.zeros(shape, dtype=bool)
    cells = np.repeat(np.repeat(bends, 2, axis=0), 2, axis=1)
    touched = np.zeros((shape[0] - 1, shape[1] - 1), dtype=bool)
    rows, columns = min(cells.shape[0], touched.shape[0]), min(cells.shape[1], touched.shape[1])
    touched[:] = True  # what no whole pair of cells covers
    touched[:rows, :columns] = cells[:rows, :columns]
    touched |= marks
    for i in (0, 1):
        for j in (0, 1):
            wanted[i : i + touched.shape[0], j : j + touched.shape[1]] |= touched
    trace(wanted & ~second)
    log = np.log(np.maximum(out, least))
    known = wanted | second
    between = ~known
    if between.any():
        guess = np.zeros(shape)
        guess[: 2 * logs.shape[0] - 1, : 2 * logs.shape[1] - 1] = _halved(logs)
        log[between] = guess[between]
    return log, least


def _halved(nodes: Array) -> Array:
    """Nodes with those half way between them, read on straight lines: (2 n - 1, 2 m - 1)."""
    out = np.zeros((2 * nodes.shape[0] - 1, 2 * nodes.shape[1] - 1))
    out[::2, ::2] = nodes
    out[1::2, ::2] = 0.5 * (nodes[1:] + nodes[:-1])
    out[:, 1::2] = 0.5 * (out[:, 2::2] + out[:, :-2:2])
    return out


def at_places(optics: Optics, places: Array) -> Array:
    """Uncollided kerma per decay at places (n, 2) of u and v [m] on the film: (n,)."""
    packed = packed_scene(optics.scene)
    at = np.ascontiguousarray(places, dtype=np.float64)
    out = np.zeros(len(at))

    def part(first: int, last: int) -> None:
        kernels.places(packed, optics.view, at[first:last], out[first:last], scratch(packed.n))

    if len(at) < FEW:
        part(0, len(at))
    else:
        shared(len(at), part)
    return out


def bent(log_kerma: Array, axis: int, bend: float) -> NDArray[np.bool_]:
    """Cells next to a node where log kerma is not straight along an axis: (cells, cells) of nodes (cells + 1)."""
    node = np.zeros(log_kerma.shape, dtype=bool)
    if log_kerma.shape[axis] >= 3:
        c, flag = np.moveaxis(log_kerma, axis, 0), np.moveaxis(node, axis, 0)
        flag[1:-1] = np.abs(c[2:] - 2.0 * c[1:-1] + c[:-2]) > bend
    return node[:-1, :-1] | node[1:, :-1] | node[:-1, 1:] | node[1:, 1:]


def rod_points(centre: Vec3, axis: Vec3, length_m: float, *, step_m: float = 5e-4) -> list[Vec3]:
    """Points along a rod, close enough to mark all of its shadow."""
    n = max(2, math.ceil(length_m / step_m) + 1)
    return [
        (centre[0] + axis[0] * t, centre[1] + axis[1] * t, centre[2] + axis[2] * t)
        for t in np.linspace(-length_m / 2, length_m / 2, n)
    ]


def _marks(
    optics: Optics, pixels: Frame, marked: Sequence[Vec3], every: int, cells: tuple[int, int]
) -> NDArray[np.bool_]:
    """Cells in the shadow of marked points, seen from the points of the spot that lie farthest out."""
    out = np.zeros(cells, dtype=bool)
    if not marked:
        return out
    spots = optics.view.spots[:, :3]
    outer = sorted(
        {int(np.argmin(spots[:, k])) for k in range(3)} | {int(np.argmax(spots[:, k])) for k in range(3)}
    )
    film = _surface(optics)
    side = pixels.pixel_m * every
    hits = film_hits(film, np.asarray(spots)[outer], np.asarray(marked))
    for found in hits[:, ~np.isnan(hits).any(axis=(0, 2))].transpose(1, 0, 2):
        _mark_all(out, film, pixels, side, found)
    for k in np.flatnonzero(np.isnan(hits).any(axis=(0, 2))):
        found = hits[~np.isnan(hits[:, k, 0]), k]
        if len(found):
            _mark_all(out, film, pixels, side, found)
    return out


def _mark_all(out: NDArray[np.bool_], film: FilmSurface, pixels: Frame, side: float, found: Array) -> None:
    """Mark the cells about the places (n, 2) where one point's shadow falls."""
    (u0, v0), (u1, v1) = found.min(axis=0).tolist(), found.max(axis=0).tolist()
    if film.radius_m is not None and v1 - v0 > math.pi * film.radius_m:
        # across the seam of a film that goes all round: to the seam from either side
        low, high = found[found[:, 1] < 0.0, 1].max(), found[found[:, 1] >= 0.0, 1].min()
        _mark(out, pixels, side, (u0, u1), (v0, low))
        _mark(out, pixels, side, (u0, u1), (high, v1))
        return
    _mark(out, pixels, side, (u0, u1), (v0, v1))


def _mark(
    out: NDArray[np.bool_], pixels: Frame, side: float, u: tuple[float, float], v: tuple[float, float]
) -> None:
    """Mark the cells of a rectangle of the film, one cell more on every side."""
    i0, i1 = (math.floor((x - pixels.u0_m) / side) for x in (u[0] - side, u[1] + side))
    j0, j1 = (math.floor((x - pixels.v0_m) / side) for x in (v[0] - side, v[1] + side))
    out[max(i0, 0) : max(i1 + 1, 0), max(j0, 0) : max(j1 + 1, 0)] = True


def _surface(optics: Optics) -> FilmSurface:
    """The film of a view again, as far as `film_hit` needs it."""
    f = [float(c) for c in optics.view.film]
    curved = f[0] == kernels.CURVED
    return FilmSurface(
        kind="curved" if curved else "flat",
        centre=(f[1], f[2], f[3]),
        along=(f[4], f[5], f[6]),
        across=(f[7], f[8], f[9]),
        normal=(f[10], f[11], f[12]),
        width_m=0.0,
        length_m=0.0,
        radius_m=abs(f[13]) if curved else None,
        hollow=f[13] >= 0.0,
    )
