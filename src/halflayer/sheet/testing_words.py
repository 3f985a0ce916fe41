"""What the order states of a weld's testing, and blanks for what a report names and the order does not say."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.order.testing import Made
from halflayer.order.weld import Weld
from halflayer.sheet.call_words import inspects

LINE = "______"
# Fields of the order with the words of a report; those left out are filled in before the weld is exposed.
OF_REPORT = (
    ("joint_preparation", "joint preparation"),
    ("welding_process", "welding process"),
    ("drawing", "drawing"),
)
OF_RELEASE = (
    ("extent", "extent"),
    ("stage", "stage"),
    ("waiting_time", "waiting time"),
    ("surface", "surface"),
)


def testing_words(order: Order, weld: Weld) -> str:
    """What the order states of weld and testing, with its joint or blanks for that; empty where nothing."""
    own = order.testing_of(weld)
    found = [(words, getattr(own, field)) for field, words in (*OF_RELEASE, *OF_REPORT)]
    found += [(weld.pipe.material, own.grade)] if _without_grade(weld) else []
    told = [f"{words} {told}" for words, told in found if told]
    if not told:
        return ""
    of_grade = [] if _without_grade(weld) else [f"material {weld.pipe.material}"]
    return "; ".join([*told, *of_grade, of_joint(weld)])


def of_joint(weld: Weld) -> str:
    """Joint, spool and welder's stamp, each with its blank where the order does not name it."""
    own = weld.made or Made()
    told = (("joint", own.joint), ("spool", own.spool), ("welder's stamp", own.stamp))
    return ", ".join(f"{words} {value or LINE}" for words, value in told)


def lacks_testing(order: Order, weld: Weld) -> bool:
    """True where the order leaves a blank of a weld's testing that its release settles."""
    return any(getattr(order.testing_of(weld), field) is None for field, _ in OF_RELEASE)


def not_stated(order: Order, weld: Weld) -> str:
    """Blanks for what a report names and the order does not say; empty where it says all."""
    own = order.testing_of(weld)
    report, release = (
        ", ".join(f"{words} {LINE}" for field, words in fields if getattr(own, field) is None)
        for fields in (OF_REPORT, OF_RELEASE)
    )
    told = [report, f"with “released for RT” of the list: {release}" if release else ""]
    told += (
        [f"grade of the {weld.pipe.material} {LINE}"] if _without_grade(weld) and own.grade is None else []
    )
    told += [_third_party(order)]
    blanks = "; ".join(t for t in told if t)
    return f"in the order, fill in before: {blanks}" if blanks else ""


def _without_grade(weld: Weld) -> bool:
    """True for a material that is named without a grade."""
    return not any(letter.isdigit() for letter in weld.pipe.material)


def _third_party(order: Order) -> str:
    """Who inspects for a third party, where no one is called who is one and no one witnesses or releases for it."""
    points = order.hold_points
    known = inspects(order) or points.set_up or points.release
    return "" if known else f"third party's inspector: name, call {LINE}"
