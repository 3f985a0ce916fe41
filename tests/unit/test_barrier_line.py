"""The barrier line of several exposures: every one that leads somewhere is run, and a short run never shortens it."""

import math
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.physics.materials import material
from halflayer.scene.fitting import Fitting
from halflayer.scene.solids import Box, Scene
from halflayer.shielding import barrier_line
from halflayer.shielding.asks import Ask, Kind
from halflayer.shielding.barrier import directions_rad
from halflayer.shielding.barrier_line import (
    _about_the_line,
    _along,
    _bound,
    _leading,
    _where_nothing_is_known,
    barriers,
)
from halflayer.shielding.look import Rate

LIMIT = 7.5e-6 / 3600
K = 0.25


def rate(
    share: float, *, direction: float, radius_m: float, reliable: bool = True, sigma: float = 0.02
) -> Rate:
    where = (radius_m * math.cos(direction), radius_m * math.sin(direction), 0.0)
    ask = Ask("barrier", where, where, (Kind("rate", "instantaneous", LIMIT, None),), direction, radius_m)
    return Rate(ask, share * LIMIT, sigma, reliable, {})


def test_an_exposure_that_leads_in_one_direction_only_is_run() -> None:
    """The first is the highest of all; the second leads behind it, the third nowhere."""
    rings = [
        {0.0: rate(0.9, direction=0.0, radius_m=8.0), math.pi: rate(0.1, direction=math.pi, radius_m=8.0)},
        {0.0: rate(0.1, direction=0.0, radius_m=8.0), math.pi: rate(0.4, direction=math.pi, radius_m=8.0)},
        {0.0: rate(0.2, direction=0.0, radius_m=8.0), math.pi: rate(0.2, direction=math.pi, radius_m=8.0)},
    ]
    assert _leading(rings) == {0, 1}


def test_inside_the_ring_a_vague_point_counts_for_no_less_than_inverse_square() -> None:
    ring = rate(0.4, direction=0.0, radius_m=8.0)
    low = rate(0.01, direction=0.0, radius_m=2.0, reliable=False, sigma=0.4)
    assert _bound(low, K, ring) == pytest.approx(ring.upper_Sv_s(K) * 16.0)
    high = rate(50.0, direction=0.0, radius_m=2.0, reliable=False, sigma=0.4)
    assert _bound(high, K, ring) == pytest.approx(50.0 * LIMIT * (1 + 3 * 0.4) * (1 + K))


def test_a_reliable_point_stands_for_itself() -> None:
    ring = rate(0.4, direction=0.0, radius_m=8.0)
    known = rate(0.3, direction=0.0, radius_m=2.0)
    assert _bound(known, K, ring) == pytest.approx(known.upper_Sv_s(K))


def test_an_exposure_that_is_not_run_enters_by_inverse_square() -> None:
    ring = rate(0.4, direction=0.0, radius_m=8.0)
    assert _along(ring, K, 4.0) == pytest.approx(4.0 * ring.upper_Sv_s(K))


def test_points_about_the_inverse_square_distance_are_run_and_all_where_a_wall_stands() -> None:
    """By inverse square the ring at 8 m with 0.25 of the limit puts the line at 4 m; the grid reaches to 1.3 times it.

    Behind a wall the ring says nothing of what lies before it, so that every point of that direction is run.
    """
    radii = (1.0, 2.0, 3.5, 5.0, 6.0, 8.0, 12.0)
    upper = 0.25 * LIMIT
    ring = {a: rate(upper / LIMIT, direction=a, radius_m=8.0, sigma=0.0) for a in (0.0, math.pi)}
    grid = [rate(1.0, direction=a, radius_m=r).ask for a in (0.0, math.pi) for r in radii]
    wall = Box("wall", (-9.25, 0.0, 0.0), (0.5, 6.0, 6.0), material("concrete"))
    asks = _about_the_line(grid, ring, [LIMIT], 0.0, Scene((wall,), material("air")))
    assert [a.radius_m for a in asks if a.direction_rad == 0.0] == [2.0, 3.5, 5.0, 6.0]
    assert [a.radius_m for a in asks if a.direction_rad == math.pi] == list(radii)


def test_a_direction_whose_ring_breaks_the_limit_is_run_to_the_outside_of_it() -> None:
    radii = (1.0, 4.0, 8.0, 12.0)
    ring = {0.0: rate(1.44, direction=0.0, radius_m=8.0, sigma=0.0)}
    grid = [rate(1.0, direction=0.0, radius_m=r).ask for r in radii]
    asks = _about_the_line(grid, ring, [LIMIT], 0.0, Scene((), material("air")))
    assert [a.radius_m for a in asks] == [4.0, 8.0, 12.0]


def test_a_direction_in_which_a_run_found_nothing_goes_by_the_ring() -> None:
    """It would have no distance otherwise, and the rope no place: two points of it are known nowhere."""
    ring = {a: rate(0.25, direction=a, radius_m=8.0) for a in (0.0, math.pi)}
    grid = {(0.0, 8.0): 0.25 * LIMIT, (0.0, 4.0): None, (math.pi, 8.0): 0.25 * LIMIT, (math.pi, 4.0): LIMIT}
    found = _where_nothing_is_known(grid, ring, (2.0, 4.0, 8.0), K)
    assert found == {(0.0, x): pytest.approx(_along(ring[0.0], K, x)) for x in (2.0, 4.0, 8.0)}


@dataclass(frozen=True)
class _Field:
    """A setting whose shots bring what an inverse square law says, with the limit where `lines` puts it [m]."""

    lines: tuple[float, ...]
    order: Any
    weld: Any
    candidate: Any
    hints: dict[str, Any] = field(default_factory=dict)
    asked: list[tuple[int, list[Ask]]] = field(default_factory=list)

    def build(self, fitting: Fitting, shot: int) -> Any:
        return SimpleNamespace(frame=None, scene=Scene((), material("air")))

    def rates(self, fitting: Fitting, shot: int, asks: list[Ask], **_: Any) -> list[Rate]:
        self.asked.append((shot, list(asks)))
        return [self.there(shot, a) for a in asks]

    def there(self, shot: int, a: Ask) -> Rate:
        share = (self.lines[shot] / (a.radius_m or 1.0)) ** 2 / (1 + K)
        return Rate(a, share * LIMIT, 0.0, True, {})


@pytest.mark.parametrize("unknown", [(), (3,), (3, 4, 11)])
def test_where_the_ring_has_no_figure_every_exposure_is_run_and_the_line_goes_all_round(
    unknown: tuple[int, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exposure 1 puts the line at 4 m, exposure 2 leads nowhere with 1 m; of a ring in a wall neither has a figure.

    By inverse square alone: both are known then in every direction, and the line is exposure 1's.
    """
    monkeypatch.setattr(barrier_line, "counted_s", lambda *_: 0.0)
    monkeypatch.setattr(
        barrier_line,
        "barrier_asks",
        lambda order, weld, frame, exposure, radii, scene: [
            rate(1.0, direction=a, radius_m=r).ask for a in directions_rad() for r in radii
        ],
    )
    limits = SimpleNamespace(
        barrier=SimpleNamespace(rate_Sv_s=LIMIT, in_any_hour_Sv=None, basis="of the test")
    )
    setting = _Field(
        (4.0, 1.0),
        SimpleNamespace(limits=limits),
        SimpleNamespace(at=(0.0, 0.0)),
        SimpleNamespace(shots=(0, 1)),
    )
    known = [a for n, a in enumerate(directions_rad()) if n not in unknown]
    ring = [[setting.there(n, rate(1.0, direction=a, radius_m=8.0).ask) for a in known] for n in (0, 1)]
    by_rate, _, around = barriers(setting, None, Fitting(), ring, K, 1, 8.0)  # type: ignore[arg-type]
    assert by_rate.value is not None
    assert 4.0 <= float(by_rate.value) <= 4.1 + 1e-9  # rounded up to 0.1 m
    assert [a for a, _ in around] == list(directions_rad())
    assert all(d == pytest.approx(float(by_rate.value)) for _, d in around)
    of_second = {a.direction_rad for shot, asks in setting.asked if shot == 1 for a in asks}
    assert of_second == {directions_rad()[n] for n in unknown}
