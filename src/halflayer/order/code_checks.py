"""What a code of practice asks of the order that names it: a test class, a detector of its kind."""

from __future__ import annotations

from typing import Any, get_args

from halflayer.order.codes import CLASSED, DIGITAL, Code
from halflayer.order.contract import IN_WORDS
from halflayer.order.report import Loc, Report


def code_problems(report: Report) -> None:
    """A test class where a code has classes, none where it has none; a detector for every code."""
    code, given = report.raw(("code",)), report.raw(("class",))
    if code in CLASSED and given in (None, ...):
        report.add(("class",), f"{code} needs a test class", accepted="A, B")
    if code in get_args(Code) and code not in CLASSED and given not in (None, ...):
        report.add(("class",), f"{code} has no test classes", accepted="no class")
    agreed, signed = report.raw(("agreements",)), report.raw(("signed",))
    names = agreed if isinstance(agreed, list) else []
    for n, one in enumerate(signed if isinstance(signed, list) else []):
        name = one.get("agreement") if isinstance(one, dict) else None
        if isinstance(name, str) and name in IN_WORDS and name not in names:
            report.add(
                ("signed", n, "agreement"),
                "not among the agreements",
                accepted="one of the order's agreements",
            )
    told: set[str] = set()
    _detectors_for(report, code, told)
    raw = report.raw(("welds",))
    for n, weld in enumerate(raw if isinstance(raw, list) else []):
        if isinstance(weld, dict):
            _weld_code(report, ("welds", n), weld, code, given)
            _detectors_for(report, weld.get("code"), told)


def _weld_code(report: Report, loc: Loc, weld: dict[str, Any], code: Any, order_class: Any) -> None:
    """A weld's own code and class against each other and those of the order."""
    own, test_class = weld.get("code", code), weld.get("class")
    if own not in get_args(Code):
        return  # an unknown code is told elsewhere
    if own not in CLASSED and test_class is not None:
        report.add((*loc, "class"), f"{own} has no test classes", accepted="no class")
    if own != code and own in CLASSED and test_class is None and order_class in (None, ...):
        report.add((*loc, "class"), f"{own} needs a test class", accepted="A, B")


def _detectors_for(report: Report, code: Any, told: set[str]) -> None:
    """A film for a code that is for film, a plate or panel for one that is for them; said once."""
    name = "digital" if code in DIGITAL else "detectors"
    if code not in get_args(Code) or name in told:
        return
    given = report.raw((name,))
    if given not in (None, ...) and given != []:
        return
    told.add(name)
    what = "an imaging plate or a panel" if name == "digital" else "a film"
    if given == []:
        report.add((name,), "the list is too short", accepted="at least 1")
    else:
        report.add((name,), "the field is missing", accepted=f"a list of at least 1: {code} needs {what}")
