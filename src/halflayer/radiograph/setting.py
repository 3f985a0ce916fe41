"""One exposure set up for prediction: scene with and without wires, view, film points, scatter, decays."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure import paths
from halflayer.exposure.paths import FilmPoint
from halflayer.exposure.result import ShotTime
from halflayer.exposure.scatter_field import ScatterField
from halflayer.exposure.two_films import behind_curve
from halflayer.order.digital import Detector, DigitalDetector
from halflayer.order.equipment import Film, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import photons
from halflayer.radiograph import bodies, flaws, pack, plates, scatter
from halflayer.radiograph.bodies import Side, Wire
from halflayer.radiograph.digital import DigitalResponse, digital_response
from halflayer.radiograph.lines import mean_energy_keV
from halflayer.radiograph.plates import Plates
from halflayer.radiograph.project import Frame, at_places
from halflayer.radiograph.response import FilmResponse, film_response
from halflayer.radiograph.surface import Surfaces
from halflayer.radiograph.view import Optics, optics
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, about_x
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Scene
from halflayer.scene.trace import materials_of
from halflayer.technique.result import Candidate, Shot

Array = NDArray[np.float64]
Indicator = Literal["wires", "holes", "both"]
LAID = ("wire ", "plate ", "hole ")  # what is laid on the pipe to be seen, by the first word of its name
ASIDE_M = 0.012  # our choice: from the outermost wire to the middle of a plate beside it
ALIKE = 1e-3  # exposures whose primary agrees so far differ by a turn only (as in exposure.rates)
BELL_NODES = 65  # our choice: a bell is then within 0.01 %
MOST_FALL = -1.5  # our choice: scatter does not fall faster over an image than to a fifth


@dataclass(frozen=True)
class Setting:
    """Everything that image and verdict of one exposure are made from.

    `scene` is what the image is made of; `optics` looks at it without flaws, `bare` is without wires too.
    `points` are the film points of the exposure stage; `kerma` (points,) the uncollided kerma per decay there
    from the whole focal spot with a smooth weld and no wires [Gy]. `decays` is activity times seconds.
    """

    order: Order
    weld: Weld
    candidate: Candidate
    shot: Shot
    built: Built
    source: Source
    detector: Detector
    response: FilmResponse | DigitalResponse
    wires: tuple[Wire, ...]
    scene: Scene
    bare: Scene
    optics: Optics
    points: tuple[FilmPoint, ...]
    kerma: Array
    decays: float
    partner: Film | None = None
    partner_response: FilmResponse | None = None
    plates: Plates | None = None

    def with_surfaces(self, surfaces: Surfaces, spots: int) -> Optics:
        """The view of the same scene with other surfaces and another number of points of the spot."""
        middle = middle_point(self.points) if self.points else self.built.film.centre
        return optics(
            self.order,
            self.weld,
            self.source,
            self.built,
            self.scene,
            middle=middle,
            surfaces=surfaces,
            spots=spots,
        )


def asked_kind(candidate: Candidate) -> Indicator:
    """What the technique asks to be laid: plates with holes where it asks for a step-hole plate, else wires."""
    return "holes" if candidate.iqi is not None and candidate.iqi.type == "step-hole" else "wires"


def middle_point(points: tuple[FilmPoint, ...]) -> Vec3:
    """The place on the film behind the crown in the middle of the evaluated arc; of two images the last one."""
    crowns = [p for p in points if p.crown] or list(points)
    return min(reversed(crowns), key=lambda p: abs(p.from_middle_rad)).at


def setting(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    shot: Shot,
    built: Built,
    *,
    activity_Bq: float,
    seconds: float,
    spots: int,
    second: str | None = None,
    behind: float = 1.0,
    wire_at_rad: float | None = None,
    indicator: Indicator | None = None,
) -> Setting:
    """Set up one exposure; `second` is the id of a second film in the holder, `indicator` what is laid to be seen.

    `behind`: share of the kerma that comes to the slower of two films (`exposure.behind`). `wire_at_rad`: how far
    clockwise of the middle the wire asked lies; left out, the whole set lies about the middle.

    Left out, the indicator is the kind that the technique asks for.

    Raises: KeyError for ids that are not in the order.
    """
    source = {s.id: s for s in order.sources}[candidate.source]
    detector = {d.id: d for d in order.all_detectors}[candidate.detector]
    partner = {d.id: d for d in order.detectors}[second] if second is not None else None
    points = paths.film_points(weld, candidate, shot, built)
    asked = candidate.iqi
    indicator = indicator or asked_kind(candidate)
    side = bodies.side_of(
        weld,
        built,
        source_side=asked is not None and asked.position == "source side",
        source_clock_rad=shot.source_clock_rad,
    )
    wires = bodies.wires(order, weld, asked, side) if indicator != "holes" else ()
    if wire_at_rad is not None and asked is not None:
        own = next((w.clock_rad for w in wires if w.designation == asked.required), side.clock_rad)
        turn = side.clock_rad + wire_at_rad - own
        wires = tuple(replace(w, clock_rad=w.clock_rad + turn) for w in wires)
    laid = _plates(order, weld, candidate, built, side, wires) if indicator != "wires" else None
    scene = bodies.image_scene(
        order, weld, built, wires, flaws.flaw_solids(order, weld), laid.solids if laid else ()
    )
    judged_scene = _without(scene, "flaw ")
    bare = _without(judged_scene, *LAID)
    view = optics(
        order,
        weld,
        source,
        built,
        judged_scene,
        middle=middle_point(points) if points else built.film.centre,
        surfaces=Surfaces.plain(),
        spots=spots,
    )
    energy = mean_energy_keV(view.groups, view.crossed_m)
    places = np.array([(p.u_m, p.v_m) for p in points]).reshape(-1, 2)
    kerma = at_places(replace(view, scene=bare), places)
    response: FilmResponse | DigitalResponse
    other = film_response(partner, energy_keV=energy) if partner else None
    if isinstance(detector, DigitalDetector):
        response = digital_response(detector, seconds=seconds)
    else:
        response = film_response(detector, energy_keV=energy)
        if other is not None and response.curve.kerma_for_2_Gy > other.curve.kerma_for_2_Gy:
            response = replace(response, curve=behind_curve(response.curve, behind))
        elif other is not None:
            other = replace(other, curve=behind_curve(other.curve, behind))
    return Setting(
        order,
        weld,
        candidate,
        shot,
        built,
        source,
        detector,
        response,
        wires,
        scene,
        bare,
        view,
        points,
        kerma,
        activity_Bq * seconds,
        partner,
        other,
        laid,
    )


def _plates(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    built: Built,
    side: Side,
    wires: tuple[Wire, ...],
) -> Plates | None:
    """The indicator of plates where the hole asked and most of the others are on the film: beside the weld on either
    side of it, with wires beyond their ends or beside them round the pipe, the thinnest step next to the weld or
    the thickest.
    """
    ways: list[tuple[Side, float]] = [(side, wires[0].length_m / 2 if wires else 0.0)]
    if wires:
        reach = max(abs(w.clock_rad - side.clock_rad) for w in wires) + ASIDE_M / side.radius_m
        ways += [(replace(side, clock_rad=side.clock_rad + s * reach), 0.0) for s in (1.0, -1.0)]
    tries = [
        plates.plates(order, weld, candidate, place, beyond_m=beyond, direction=direction, turned=turned)
        for place, beyond in ways
        for turned in (False, True)
        for direction in (1.0, -1.0)
    ]

    film, source_at = built.film, built.source_at
    weld_at = [
        paths.film_hit(film, source_at, about_x((0.0, 0.0, weld.pipe.od / 2), place.clock_rad + turn))
        for place, _ in ways
        for turn in (0.0, math.pi)
    ]

    def shown(n: int) -> tuple[bool, int, int, float]:
        """The hole asked on the film and in the beam, holes there, the earlier way, how far the nearest stays from
        the weld's images.
        """
        laid = tries[n]
        on: list[tuple[str, tuple[float, float]]] = []
        for h in laid.holes if laid else ():
            hit = paths.film_hit(film, source_at, h.at)
            if (
                hit is not None
                and abs(hit[0]) <= film.width_m / 2
                and abs(hit[1]) <= film.length_m / 2
                and paths.in_beam(built, film.at(*hit))
            ):
                on.append((h.designation, hit))
        clear = [abs(h[0] - w[0]) for _, h in on for w in weld_at if w is not None]
        asked = laid is not None and any(name == laid.required for name, _ in on)
        return asked, len(on), -(n // 2), min(clear, default=0.0)

    return tries[max(range(len(tries)), key=shown)]


def _without(scene: Scene, *prefix: str) -> Scene:
    return replace(scene, solids=tuple(s for s in scene.solids if not s.name.startswith(prefix)))


def alike(one: Setting, other: Setting) -> bool:
    """True where two exposures differ by a turn about the pipe only: the same view, time and scatter."""
    turned = one.shot.detector_clock_rad - other.shot.detector_clock_rad
    source = one.shot.source_clock_rad - other.shot.source_clock_rad
    return (
        len(one.kerma) == len(other.kerma)
        and math.cos(turned - source) > 1.0 - 1e-12
        and bool(np.allclose(one.kerma, other.kerma, rtol=ALIKE, atol=0.0))
        and abs(one.decays - other.decays) <= ALIKE * other.decays
    )


def screen_share(made: Setting) -> float:
    """Share of the primary kerma behind the weld that goes through the front screen."""
    screens = made.detector.screens
    if screens.front_m <= 0.0:
        return 1.0
    groups, crossed = made.optics.groups, made.optics.crossed_m
    kerma = groups.weight * np.exp(-(crossed @ groups.mu_per_m))
    mu = photons.mu_per_m(order_material(made.order, screens.material), groups.energy_keV)
    return float(kerma @ np.exp(-mu * screens.front_m) / kerma.sum())


def by_monte_carlo(
    made: Setting, pixels: Frame, *, seed: int, batches: int = scatter.BATCHES
) -> ScatterField:
    """The scattered field of this exposure."""
    lines = paths.source_lines(made.order, made.source)
    screens = made.detector.screens
    return scatter.scatter_field(
        made.built,
        made.points,
        lines,
        pixels,
        screen_share=screen_share(made),
        seed=seed,
        batches=batches,
        gain=pack.gain(made.order, screens, behind_weld(made, lines), seed=seed),
        strips=lambda stations, width: pack.strips(made.order, screens, made.built.film, stations, width),
    )


def behind_weld(made: Setting, lines: tuple[Array, Array]) -> tuple[Array, Array]:
    """The lines of a source as they come out behind the weld, on the middle ray."""
    energies, photons_per_decay = lines
    mu = np.array([photons.mu_per_m(m, energies) for m in materials_of(made.optics.scene)])
    return energies, photons_per_decay * np.exp(-(made.optics.crossed_m @ mu))


def by_ratio(made: Setting, ratio: float, sigma: float) -> ScatterField:
    """An even field from the ratio of scatter to primary behind the weld that the exposure stage found."""
    at = weld_index(made)
    primary = float(made.kerma[at]) if at is not None else 0.0
    return ScatterField.even(ratio * primary, sigma * primary)


def by_exposure(made: Setting, timed: ShotTime) -> ScatterField:
    """The scattered field that the exposure stage's own figures speak of: its ratio behind the weld, and how far
    it falls to the place of the least density (ln of the kerma by the square of the distance across the film).

    Even where that place is the same, or where there is no density (digital detectors).
    """
    even = by_ratio(made, timed.scatter_to_primary, timed.scatter_to_primary_sigma)
    at, density = weld_index(made), timed.density
    if at is None or density is None or not isinstance(made.response, FilmResponse):
        return even
    # Both sides of the cap bear one name: the lighter one is meant. Its primary is that of the single ray, as the
    # exposure stage had it: from the whole spot the rest would not be its scatter.
    named = [i for i, p in enumerate(made.points) if p.where == density.where_least] or [at]
    places = np.array([made.points[i].at for i in named])
    scene = paths.without_pack(made.built.scene)
    ray = paths.primary_kerma(
        scene, made.built.source_at, places, *paths.source_lines(made.order, made.source)
    )
    low, primary = min(zip(named, ray.tolist(), strict=True), key=lambda pair: pair[1])
    v0, v1 = made.points[at].v_m, made.points[low].v_m
    curve = made.response.curve
    if abs(abs(v1) - abs(v0)) < 0.005 or not 0.5 <= density.least <= 4.5:
        return even
    there = curve.kerma_Gy(density.least) / made.decays - primary
    here = timed.scatter_to_primary * float(made.kerma[at])
    if there <= 0.0:
        return even
    fall = min(max(math.log(there / here), MOST_FALL), 0.0)
    # c0 + c2 y^2 through both places, y across the film in units of the outer one
    y0 = (v0 / v1) ** 2
    c2 = fall / (1.0 - y0)
    y = np.linspace(0.0, 1.0, BELL_NODES)
    log = math.log(here) + c2 * (y * y - y0)
    return ScatterField(np.zeros(1), abs(v1) * y, log[None, :], even.sigma_Gy)


def film_of(made: Setting) -> Film | None:
    """The film; None for a digital detector."""
    return None if isinstance(made.detector, DigitalDetector) else made.detector


def films_of(made: Setting) -> tuple[tuple[Film, FilmResponse], ...]:
    """The films of the holder with their responses, the candidate's first; none for a digital detector."""
    film = film_of(made)
    if film is None or not isinstance(made.response, FilmResponse):
        return ()
    first = ((film, made.response),)
    if made.partner is None or made.partner_response is None:
        return first
    return (*first, (made.partner, made.partner_response))


def judged(made: Setting) -> list[int]:
    """Film points that are on the sheet and lit."""
    return [i for i, p in enumerate(made.points) if p.on_sheet and made.kerma[i] > 0.0]


def weld_index(made: Setting) -> int | None:
    """The film point that stands for the weld: the crown in the middle of its arc, of two images the lighter."""
    crowns = [i for i in judged(made) if made.points[i].crown]
    if not crowns:
        return None
    nearest = min(abs(made.points[i].from_middle_rad) for i in crowns)
    here = [i for i in crowns if abs(made.points[i].from_middle_rad) <= nearest + 1e-9]
    return min(here, key=lambda i: float(made.kerma[i]))


def geometric_unsharpness_m(made: Setting) -> float:
    """Shadow of the focal spot from the side of the pipe that faces the source: d b / f [m].

    f is what is left of the way from the source to the film behind the weld; d is the larger of the spot's
    diameter and length. Source: similar triangles.
    """
    b = made.candidate.geometry.object_to_detector_m
    return max(made.source.diameter_m, made.source.length_m) * b / source_to_object_m(made)


def source_to_object_m(made: Setting) -> float:
    """What is left of the way from the source to the film behind the weld before the object [m], 1 mm at least."""
    if not made.points:
        return math.inf
    b = made.candidate.geometry.object_to_detector_m
    return max(math.dist(made.built.source_at, middle_point(made.points)) - b, 1e-3)


def spots_for(unsharpness_m: float, pixel_m: float) -> int:
    """Points of the source so that their images of an edge lie about a pixel apart (our choice: 5 to 32)."""
    return min(max(math.ceil(0.8 * unsharpness_m / pixel_m) + 4, 5), 32)
