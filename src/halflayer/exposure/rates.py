"""Air kerma rates at the film points of one shot, per activity, primary and scattered."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure import paths, scatter
from halflayer.exposure.paths import FilmPoint, ShotScene
from halflayer.order.weld import Weld
from halflayer.physics.materials import Sheet
from halflayer.scene.solids import Scene
from halflayer.technique.result import Candidate, Shot

Array = NDArray[np.float64]

SAME_PRIMARY = 1e-3  # shots whose primary agrees within this share one scatter run


@dataclass(frozen=True)
class Rates:
    """Air kerma rates per activity at the film points of one shot, Gy/(Bq s), arrays (points,)."""

    points: tuple[FilmPoint, ...]
    primary: Array
    scattered: Array
    scattered_sigma: Array

    @property
    def total(self) -> Array:
        """Primary and scattered."""
        return self.primary + self.scattered

    @property
    def judged(self) -> list[int]:
        """Numbers of the points that are on the sheet and in the beam."""
        return [i for i, p in enumerate(self.points) if p.on_sheet and p.in_beam]

    def here(self) -> int | None:
        """The point whose kerma stands for the weld: the crown nearest to the middle, the lighter of two images.

        None where no part of the crown is on the sheet and in the beam.
        """
        crowns = [i for i in self.judged if self.points[i].crown]
        if not crowns:
            return None
        middle = min(abs(self.points[i].from_middle_rad) for i in crowns)
        return min(
            (i for i in crowns if abs(self.points[i].from_middle_rad) <= middle + 1e-9),
            key=lambda i: float(self.total[i]),
        )


def shot_rates(
    weld: Weld,
    candidate: Candidate,
    shot: Shot,
    built: ShotScene,
    scene: Scene,
    lines: tuple[Array, Array],
    *,
    seed: int,
    batches: int,
    like: Rates | None,
    front: Sheet | None = None,
) -> Rates:
    """Rates of a shot; the scatter of `like` is taken over where the primary agrees at every point.

    `scene` is the shot's scene without the film pack, `lines` the photon lines behind the capsule,
    `front` the screen in front of the film.
    """
    points = paths.film_points(weld, candidate, shot, built)
    primary = primary_at(points, built, scene, lines)
    if (
        like is not None
        and len(like.points) == len(points)
        and np.allclose(primary, like.primary, rtol=SAME_PRIMARY, atol=0.0)
    ):
        return Rates(points, primary, like.scattered, like.scattered_sigma)
    scattered, sigma = scatter.film_scatter(
        built, scene, points, lines, seed=seed, batches=batches, front=front, enough=scatter.ENOUGH
    )
    return Rates(points, primary, scattered, sigma)


def primary_at(
    points: tuple[FilmPoint, ...], built: ShotScene, scene: Scene, lines: tuple[Array, Array]
) -> Array:
    """Uncollided air kerma rate per activity at film points, Gy/(Bq s), (points,); 0 outside the beam."""
    at = np.array([p.at for p in points]).reshape(-1, 3)
    primary = paths.primary_kerma(scene, built.source_at, at, *lines)
    return np.where([p.in_beam for p in points], primary, 0.0)
