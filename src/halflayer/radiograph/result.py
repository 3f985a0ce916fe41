"""What the radiograph stage gives: the image, what can be seen on it, and what a person must know."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Finding
from halflayer.exposure.result import Coverage, Density
from halflayer.radiograph.project import Frame
from halflayer.radiograph.visible import Seen

# By how much of the exposure this film and the exposure stage may lie apart, besides the noise of both (measured over
# twelve welds: 10 % at most with it, 5 % in long runs), and why.
APART = 0.08
WHY_APART = (
    f"within {APART:.0%} of the exposure and its noise: a plan's front screen only absorbs scatter, "
    "this film lies in its whole pack"
)

Array = NDArray[np.float64]
Image = NDArray[np.float32]


@dataclass(frozen=True)
class Readings:
    """Densities (grey values for a digital detector) over the evaluated weld, and normalised SNR where digital."""

    weld: float
    least: float
    most: float
    where_least: str
    where_most: str
    snr_n: float | None = None


@dataclass(frozen=True)
class FilmReadings:
    """Densities on one film of a holder, or on both viewed on top of each other."""

    detector: str
    film_class: str
    weld: float
    least: float
    most: float


@dataclass(frozen=True)
class Technique:
    """The exposure in the words of a film record, for headers and captions."""

    order: str
    weld: str
    shot: int
    shots: int
    technique: str
    arrangement: str
    source: str
    nuclide: str
    activity_Bq: float
    exposure_s: float
    source_to_detector_m: float
    source_to_object_m: float
    focal_m: float
    detector: str
    detector_kind: str
    film_class: str
    screens: str
    source_clock_rad: float
    material: str
    nominal_m: float
    made_at: str


@dataclass(frozen=True)
class Verdict:
    """What can be said of one exposure without its picture: readings, wires, flaws, findings."""

    readings: Readings | None  # None: no part of the weld is on the film and in the beam
    digital: bool
    wires: tuple[Seen, ...]
    flaws: tuple[Seen, ...]
    required: str | None
    smallest_visible: str | None
    ok: bool
    opening_m: float | None
    scatter_to_primary: float | None
    scatter_to_primary_sigma: float | None
    unsharpness_m: float  # geometric, of the wires' side
    inherent_unsharpness_m: float
    findings: tuple[Finding, ...]
    films: tuple[FilmReadings, ...] = ()  # of a holder with two films: each alone
    double: FilmReadings | None = None  # and both on top of each other
    holes: tuple[Seen, ...] = ()  # of a step-hole or hole-type indicator, where one is laid
    required_hole: str | None = None
    smallest_hole: str | None = None


@dataclass(frozen=True)
class WallReading:
    """Wall read from the edge of a pipe's image at one place along it, one standard deviation, and what is lost."""

    u_m: float
    side: Literal["left", "right"]  # of the film, towards negative and positive v
    clock_rad: float  # of the wall that is read
    wall_m: float
    sigma_m: float
    nominal_m: float
    edges_m: tuple[float, float]  # of the wall's image: bore and outside, for the wall as read

    @property
    def loss_m(self) -> float:
        """Nominal wall less the wall as read [m]; its uncertainty is that of the wall."""
        return self.nominal_m - self.wall_m


@dataclass(frozen=True)
class Strip:
    """What one exposure shows of one wall: places by clock and across the weld.

    `clock_rad` (n,) rises from the start of the strip, past a whole turn where it crosses clock 0; `across_m` (m,)
    along the pipe; `kerma_Gy` (n, m) at the detector, NaN where a place is not on the sheet and in the beam;
    `reading` (n, m) there, with two films that of the one that shows the place; `growth` (n,) of the crossed wall;
    `why` (n, m) why a place is not covered, "" where it is.
    """

    exposure: int  # number, from 1
    wall: str
    clock_rad: Array
    across_m: Array
    kerma_Gy: Array
    reading: Array
    growth: Array
    why: tuple[tuple[str, ...], ...]
    judged: tuple[float, float]  # offsets of the evaluated arc from the strip's start [rad]


@dataclass(frozen=True)
class WeldMap:
    """The weld unrolled: strips by exposure and wall, and what they cover together."""

    strips: tuple[Strip, ...]
    coverage: Coverage


@dataclass(frozen=True)
class Quick:
    """A quick prediction for a plan: the verdict of one exposure and a small picture for its sheet.

    picture : PNG, base64; it shows `width_m` across the pipe or round the arc and `height_m` along the pipe.
    """

    shot: int
    verdict: Verdict
    picture: str
    width_m: float
    height_m: float


@dataclass(frozen=True)
class Radiograph:
    """A predicted image with its verdict.

    image : (rows, columns) float32, total optical density for film, grey value 0 to 65535 for a digital
    detector; rows along the pipe, columns across it or round the arc. seconds : time of computation.
    """

    image: Image
    frame: Frame
    technique: Technique
    verdict: Verdict
    seconds: float
    walls: tuple[WallReading, ...] = ()  # read from the edges of the pipe's image, where asked
    weld_map: WeldMap | None = None  # over all exposures, where they were given
    second: Image | None = None  # what the second film of the holder shows, (rows, columns)
    planned: Density | None = (
        None  # what the exposure stage said, where its times were given and it is a film
    )
