"""What an earlier pilot's lesson says about another problem: by the names of solids and the directions of scores.

A lesson only tells where to look, so that nothing here can bias a score.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from halflayer.transport import layout as k
from halflayer.transport.packing import Prepared
from halflayer.transport.problem import PointScore

if TYPE_CHECKING:
    from halflayer.transport.pilot import Learned

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Remembered:
    """A lesson put in the terms of another problem (n sources, T scores, N solids with the surround).

    means (n, T): kerma expected of one history, or None where the scores do not compare; reach (n, T N BANDS);
    worth (n, N); future (n, N CELLS); found, lines: squares of the sources by direction and by line; sources: with
    their learned shares; work, effort (n,): cost of a history of each source and its share of the time.
    """

    means: Array | None
    reach: Array
    worth: Array
    future: Array
    found: list[Array]
    lines: list[Array]
    sources: k.Sources
    work: Array
    effort: Array


def remembered(hint: Learned | None, prepared: Prepared) -> Remembered | None:
    """What the hint says about a problem; None where it has other sources.

    Solids are told by name, one that is new is taken for as good as the best: the pilot goes and sees. A point is
    expected to get what the point in nearest the same direction from the first source got, by inverse square;
    directions are those of the source's own axes, so that a set-up turned round the pipe is recognised.
    """
    if hint is None or len(hint.found) != len(prepared.problem.sources):
        return None
    old = {name: i for i, name in enumerate(_names(hint.prepared))}
    same = [old.get(name, -1) for name in _names(prepared)]
    worth = np.array([[w[i] if i >= 0 else w.max() for i in same] for w in hint.worth])
    future = []
    for f in hint.future:
        cells = f.reshape(-1, k.CELLS)
        future.append(np.array([cells[i] if i >= 0 else cells.mean(axis=0) for i in same]).ravel())
    nearest, factor = _nearest(hint.prepared, prepared)
    means = None
    targets, places = prepared.targets.count, prepared.targets.places
    reach = np.ones((len(hint.reach), targets * places * k.BANDS))
    if nearest is not None:
        means = np.array([m[nearest] * factor for m in hint.means])
        for n, r in enumerate(hint.reach):
            was = r.reshape(hint.prepared.targets.count, -1, k.BANDS)[nearest]
            now = np.ones((targets, places, k.BANDS))
            known = np.array([*(i >= 0 for i in same), True])  # the source's own surface always is
            now[:, known] = was[:, np.array([*same, was.shape[1] - 1])[known]]
            reach[n] = now.ravel()
    return Remembered(
        means,
        reach,
        worth,
        np.array(future),
        [f.copy() for f in hint.found],
        _lines(hint, prepared.sources),
        _shares(hint.prepared.sources, prepared.sources),
        hint.work,
        hint.effort,
    )


def _names(prepared: Prepared) -> list[str]:
    """A name for each solid, the surround first; solids that share one are told apart by their order."""
    seen: dict[str, int] = {}
    out = []
    for name in ("", *(s.name for s in prepared.problem.scene.solids)):
        seen[name] = seen.get(name, 0) + 1
        out.append(f"{name} {seen[name]}")
    return out


def _nearest(old: Prepared, new: Prepared) -> tuple[NDArray[np.int64] | None, Array]:
    """For each score the old one in nearest its direction, and the inverse square between them."""
    if not all(isinstance(s, PointScore) for p in (old, new) for s in p.problem.scores):
        same = old.targets.count == new.targets.count
        return (np.arange(new.targets.count) if same else None), np.ones(new.targets.count)
    a, ra = _directions(old)
    b, rb = _directions(new)
    nearest = np.argmax(b @ a.T - 0.05 * np.abs(np.log(rb[:, None] / ra[None, :])), axis=1)
    return nearest, (ra[nearest] / rb) ** 2


def _directions(prepared: Prepared) -> tuple[Array, Array]:
    """Unit vectors to the points in the first source's own axes (T, 3), and their distances (T,)."""
    row = prepared.sources.rows[: k.SOURCE_COLUMNS]
    axes = row[k.S_AXES : k.S_AXES + 9].reshape(3, 3)
    way = (prepared.targets.rows[:, k.X : k.Z + 1] - row[k.S_X : k.S_Z + 1]) @ axes.T
    r = np.maximum(np.linalg.norm(way, axis=1), 1e-3)
    return way / r[:, None], r


def _same_lines(old: k.Sources, new: k.Sources) -> bool:
    return old.lines.shape == new.lines.shape and np.array_equal(old.lines[::3], new.lines[::3])


def _lines(hint: Learned, new: k.Sources) -> list[Array]:
    """What was found of the lines, nothing where they are others."""
    same = _same_lines(hint.prepared.sources, new)
    return [x.copy() if same else np.zeros((new.most, 2)) for x in hint.lines]


def _shares(old: k.Sources, new: k.Sources) -> k.Sources:
    """The new sources with the old one's shares of directions and lines, where they have the same lines."""
    if not _same_lines(old, new):
        return new
    return new._replace(bins=old.bins.copy(), lines=old.lines.copy())
