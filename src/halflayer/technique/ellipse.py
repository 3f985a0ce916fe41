"""The ellipse: where the two images of a weld fall when the source is shifted along the pipe.

Source at (L, 0, R + a), pipe of outside diameter De = 2 R, flat film at z = -(R + g), weld of width w about x = 0.
A point x of the near crown (z = R) falls on x + (x - L) b / a with b = De + g, one of the far crown (z = -R)
on x + (x - L) g / (a + De). Source: similar triangles; the tests project the cap's edges ray by ray.
"""

from __future__ import annotations

import math

from halflayer.order.weld import Weld
from halflayer.technique.result import Candidate

LEAST_OPENING_M = 0.003  # 3 to 10 mm, at most 15 mm: GB 3323-87 as reported in a journal abstract, read
LARGEST_OPENING_M = 0.015
ABOUT_SHARE = 0.1  # of the wanted opening: what lacks no more is "about" it, our choice
FILM_SHARE = 0.25  # the same on a film, where a head stands off its place besides: our choice
PARTED_SHARE = 0.25  # of the cap's width by which two images shot in plane may part: our choice


def shift_per_offset(*, standoff_m: float, diameter_m: float, gap_m: float) -> float:
    """How far the two images of a weld part on the film for each unit that the source moves along the pipe.

    >>> round(shift_per_offset(standoff_m=0.35, diameter_m=0.06, gap_m=0.004), 3)  # 64/350 - 4/410
    0.173
    """
    return (diameter_m + gap_m) / standoff_m - gap_m / (standoff_m + diameter_m)


def parted_m(*, offset_m: float, standoff_m: float, diameter_m: float, gap_m: float) -> float:
    """How far the middles of the two weld images lie apart on the film [m]: L (b/a - g/(a + De)).

    >>> round(parted_m(offset_m=0.1, standoff_m=0.4, diameter_m=0.06, gap_m=0.0), 6)  # 100 x 60/400 mm
    0.015
    """
    per = shift_per_offset(standoff_m=standoff_m, diameter_m=diameter_m, gap_m=gap_m)
    return abs(offset_m) * per


def _image_halves_m(*, standoff_m: float, diameter_m: float, gap_m: float, weld_width_m: float) -> float:
    near = 1.0 + (diameter_m + gap_m) / standoff_m
    far = 1.0 + gap_m / (standoff_m + diameter_m)
    return weld_width_m / 2 * (near + far)


def opening_m(
    *, offset_m: float, standoff_m: float, diameter_m: float, gap_m: float, weld_width_m: float
) -> float:
    """Clear opening q between the two weld images on the film [m]; negative where they overlap.

    Formula: q = L (b/a - g/(a + De)) - w/2 (1 + b/a) - w/2 (1 + g/(a + De)), b = De + g.

    >>> q = opening_m(offset_m=0.1, standoff_m=0.4, diameter_m=0.06, gap_m=0.0, weld_width_m=0.006)
    >>> round(1000 * q, 3)  # 100 x 60/400 - 3 x (1 + 60/400) - 3
    8.55
    """
    shift = shift_per_offset(standoff_m=standoff_m, diameter_m=diameter_m, gap_m=gap_m)
    halves = _image_halves_m(
        standoff_m=standoff_m, diameter_m=diameter_m, gap_m=gap_m, weld_width_m=weld_width_m
    )
    return abs(offset_m) * shift - halves


def offset_for_opening_m(
    *, opening_m: float, standoff_m: float, diameter_m: float, gap_m: float, weld_width_m: float
) -> float:
    """Shift L of the source along the pipe that opens the images by `opening_m` [m]; the inverse of `opening_m`.

    >>> L = offset_for_opening_m(opening_m=0.00855, standoff_m=0.4, diameter_m=0.06, gap_m=0.0, weld_width_m=0.006)
    >>> round(1000 * L, 6)
    100.0
    """
    shift = shift_per_offset(standoff_m=standoff_m, diameter_m=diameter_m, gap_m=gap_m)
    halves = _image_halves_m(
        standoff_m=standoff_m, diameter_m=diameter_m, gap_m=gap_m, weld_width_m=weld_width_m
    )
    return (opening_m + halves) / shift


def wanted_opening_m(weld_width_m: float) -> float:
    """Opening to aim at: one weld width, at least 3 and at most 15 mm [m].

    Source: about one weld width, ISO 17636-1 (from memory, unverified); bounds as in `LEAST_OPENING_M`.

    >>> wanted_opening_m(0.008), wanted_opening_m(0.002), wanted_opening_m(0.03)
    (0.008, 0.003, 0.015)
    """
    return min(max(weld_width_m, LEAST_OPENING_M), LARGEST_OPENING_M)


def on_film_m(*, planned_m: float, wanted_m: float) -> tuple[float, float]:
    """Least and most opening that a film may show [m]: `FILM_SHARE` off what is wanted, or off what is planned past it.

    Wider than the plan's `ABOUT_SHARE` by what a head is set off its place, both our choice: a plan at the edge of its
    own window leaves the film room. To whole tenths of a millimetre inwards, as it is printed; no opening past the
    least and largest of all is in it.

    >>> on_film_m(planned_m=0.0055, wanted_m=0.006)  # in the window of what is wanted
    (0.0045, 0.0075)
    >>> on_film_m(planned_m=0.008, wanted_m=0.007)  # past it
    (0.0053, 0.01)
    """
    about = ABOUT_SHARE * wanted_m + 1e-9
    past = [planned_m] if abs(planned_m - wanted_m) > about else []
    low, high = min([wanted_m, *past]) * (1 - FILM_SHARE), max([wanted_m, *past]) * (1 + FILM_SHARE)
    low, high = math.ceil(low * 1e4 - 1e-6) / 1e4, math.floor(high * 1e4 + 1e-6) / 1e4
    return max(low, LEAST_OPENING_M), min(high, LARGEST_OPENING_M)


def tilt_rad(*, offset_m: float, standoff_m: float, diameter_m: float) -> float:
    """Tilt of the beam axis aimed at the pipe's centre in the weld plane: atan(L / (a + De/2)) [rad]."""
    return math.atan2(offset_m, standoff_m + diameter_m / 2)


def swung(*, reach_m: float, lean_rad: float, diameter_m: float) -> tuple[float, float]:
    """Offset L and perpendicular distance a of a source swung about the pipe's centre by `lean_rad` [m].

    `reach_m` is the distance from the pipe's surface without lean; leaning keeps the distance to the
    centre: L = (reach + De/2) sin(lean), a = (reach + De/2) cos(lean) - De/2.

    >>> offset, standoff = swung(reach_m=0.37, lean_rad=math.radians(30), diameter_m=0.06)
    >>> round(offset, 6), round(standoff, 6)
    (0.2, 0.31641)
    """
    to_centre = reach_m + diameter_m / 2
    return to_centre * math.sin(lean_rad), to_centre * math.cos(lean_rad) - diameter_m / 2


def film_span_m(
    *, offset_m: float, standoff_m: float, diameter_m: float, gap_m: float, half_width_m: float
) -> tuple[float, float]:
    """Least and largest x on the film of both images of the strip |x| <= half_width_m [m]."""
    near = (diameter_m + gap_m) / standoff_m
    far = gap_m / (standoff_m + diameter_m)
    ends = [x + (x - offset_m) * k for x in (-half_width_m, half_width_m) for k in (near, far)]
    return min(ends), max(ends)


def ends_m(weld: Weld, c: Candidate) -> tuple[float, float] | None:
    """`on_film_m` of a weld's way [m]; None without an ellipse."""
    opens = c.geometry.opening_m
    wanted = wanted_opening_m(weld.cap.width_m)
    return None if opens is None else on_film_m(planned_m=opens, wanted_m=wanted)


def play_m(c: Candidate, *, outer_m: float, cap_m: float) -> tuple[float, float] | None:
    """How far the source may be off along the pipe, towards the weld and away from it [m]; None for one image.

    Formula: the images part by L (b/a - g/(a + De)). An ellipse stays within what its film may show (`on_film_m`),
    two images in plane within a quarter of the cap's width (our choice).
    """
    if not c.technique.startswith("DWDI"):
        return None
    gap = c.geometry.object_to_detector_m - outer_m
    per = shift_per_offset(standoff_m=c.geometry.standoff_m, diameter_m=outer_m, gap_m=gap)
    if (opens := c.geometry.opening_m) is not None:
        least, most = on_film_m(planned_m=opens, wanted_m=wanted_opening_m(cap_m))
        return (opens - least) / per, (most - opens) / per
    return (PARTED_SHARE * cap_m / per,) * 2
