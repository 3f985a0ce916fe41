"""Fields of shrouds, guide tubes and their way: read, kept through JSON, refused with what would be accepted."""

from __future__ import annotations

import pytest

from halflayer.order.models import Order
from order_cases import order, refusal

KIT = "kit:\n"
SHROUD = (
    "kit:\n  shrouds: [{id: SH, form: skewed, material: lead, wall: 8 mm, inner: [180 mm, 260 mm], "
    "length: 400 mm, mass: 24 kg, lean: 12 deg}]\n"
)
GUIDE = (
    "kit:\n  guides: [{id: GT, material: tungsten, wall: 10 mm, bore: 12 mm, length: 6 m, speed: 0.5 m/s, "
    "mass: 30 kg}]\n"
)
WAY = (
    "    height: 1.3 m\n",
    "    height: 1.3 m\n    guide_from: [5 m, 0 m, 0.3 m]\n    guide_by: [[2 m, 0 m, 1 m]]\n",
)


def test_they_are_read_and_survive_json() -> None:
    made = order((KIT, SHROUD), WAY)
    assert made.kit.shrouds[0].lean_rad == pytest.approx(0.20944, rel=1e-4)
    assert made.welds[0].guide_from == (5.0, 0.0, 0.3)
    assert made.welds[0].guide_by == ((2.0, 0.0, 1.0),)
    assert Order.from_json(made.as_json()) == made
    with_guide = order((KIT, GUIDE))
    assert with_guide.kit.guides[0].travel_s == pytest.approx(12.0)
    assert Order.from_json(with_guide.as_json()) == with_guide


def test_an_order_without_them_is_as_before() -> None:
    made = order()
    assert (made.kit.shrouds, made.kit.guides) == ((), ())
    assert (made.welds[0].guide_from, made.welds[0].guide_by) == (None, ())


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (KIT, SHROUD.replace("skewed", "straight"), "a straight shroud does not lean"),
        (KIT, SHROUD.replace("skewed", "bent"), "form"),
        (KIT, SHROUD.replace("material: lead", "material: leat"), "unknown material"),
        (KIT, SHROUD.replace("length: 400 mm", "length: 400"), "length"),
        (KIT, GUIDE.replace("0.5 m/s", "0 m/s"), "speed"),
        (KIT, GUIDE.replace("speed: 0.5 m/s", "speed: 5 m"), "speed"),
        (KIT, GUIDE.replace("material: tungsten", "material: tungstem"), "unknown material"),
        (KIT, GUIDE.replace("bore: 12 mm, ", ""), "bore"),
        (WAY[0], WAY[1].replace("[5 m, 0 m, 0.3 m]", "[5 m, 0 m]"), "guide_from"),
        ("placements: [over, lean-out]", "placements: [over, lean-over]", "placements"),
        ("placements: [over, lean-out]", "placements: [over, bore]", "strap-guided"),
    ],
)
def test_wrong_input_is_refused(old: str, new: str, words: str) -> None:
    assert words in refusal((old, new))
