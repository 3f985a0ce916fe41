"""What can be wrong with a head: its beam, its body and shell, the readings beside it."""

from __future__ import annotations

from typing import get_args

from halflayer.order.equipment import Head, PlacementName, StoredReadings
from halflayer.order.head_shape import body_m, in_the_beam, out_of_body
from halflayer.order.report import Loc, Report


def head_problems(report: Report, loc: Loc, head: Head) -> None:
    """Add to the report what is wrong with one head."""
    n = in_the_beam(head)
    if n is not None and head.solids is not None:
        text = f"the {head.solids[n].material} stands in the beam between source and front face"
        report.add(
            (*loc, "solids", n), text, accepted="a port painted after it, such as a frustum of air along -z"
        )
    low, high = body_m(head)
    for k, side, by in out_of_body(head):
        assert head.solids is not None
        text = (
            f"the {head.solids[k].material} reaches {by * 1000:.3g} mm out of the head's body towards {side}"
        )
        within = ", ".join(
            f"{axis} {a * 1000:g} to {b * 1000:g} mm" for axis, a, b in zip("xyz", low, high, strict=True)
        )
        report.add((*loc, "solids", k), text, accepted=f"within the body, {within}, or a larger body")
    if head.source_to_face_m >= head.body[2]:
        text = "the source lies outside the head's body"
        report.add(
            (*loc, "source_to_face"), text, accepted=f"below {head.body[2] * 1000:g} mm, the body's height"
        )
    wrong = "bore" if head.kind == "shielded" else next((p for p in head.placements if p != "bore"), None)
    if wrong in head.placements:
        text = f"a {head.kind} head cannot be placed so"
        accepted = (
            ", ".join(sorted(set(get_args(PlacementName)) - {"bore"})) if head.kind == "shielded" else "bore"
        )
        report.add((*loc, "placements", head.placements.index(wrong)), text, accepted=accepted)
    _shell(report, loc, head)
    _readings(report, loc, head)


def _shell(report: Report, loc: Loc, head: Head) -> None:
    """The shell fits about the cavity in the body, and its front wall ends before the source."""
    if head.shell_m is None:
        return
    if head.leakage is None:
        text = "a shell goes with a shield by measurement; this head has none"
        report.add((*loc, "shell"), text, accepted="no shell, or leakage in place of solids")
        return
    most = largest_shell_m(head)
    if head.shell_m > most:
        text = "the shell does not fit into the head's body with the source"
        report.add((*loc, "shell"), text, accepted=f"up to {most * 1000:g} mm")


def largest_shell_m(head: Head) -> float:
    """The thickest shell that the body holds: less than half its least size, and no nearer than the source is [m].

    0.45 of the least size is our choice: a cavity of a tenth of it is the least in which a source is held.
    """
    room = min(head.source_to_face_m, head.body[2] - head.source_to_face_m)
    return min(0.45 * min(head.body), room)


def _readings(report: Report, loc: Loc, head: Head) -> None:
    leakage = head.leakage
    if leakage is not None:
        falls(report, (*loc, "leakage"), "surface", leakage.surface_Sv_s, leakage.at_1m_Sv_s)
        pair = (leakage.stored_surface_Sv_s, leakage.stored_at_1m_Sv_s)
        falls(report, (*loc, "leakage"), "stored_surface", *pair)
        if head.stored is not None and pair != (None, None):
            text = "the readings with the source stored are stated twice"
            report.add((*loc, "stored"), text, accepted="either stored, or stored_... under leakage")
    if head.stored is not None:
        stored_falls(report, (*loc, "stored"), head.stored)


def stored_falls(report: Report, loc: Loc, stored: StoredReadings) -> None:
    """The reading at the surface is no less than the one 1 m off it."""
    falls(report, loc, "surface", stored.surface_Sv_s, stored.at_1m_Sv_s)


def falls(report: Report, loc: Loc, field: str, surface_Sv_s: float | None, at_1m_Sv_s: float | None) -> None:
    """Note where a reading at the surface (YAML name `field`) is below the one at 1 m."""
    from halflayer.base.units import show

    if surface_Sv_s is not None and at_1m_Sv_s is not None and surface_Sv_s < at_1m_Sv_s:
        text = "the reading at the surface is below the one at 1 m"
        accepted = f"at least that at 1 m, {show(at_1m_Sv_s, 'equivalent_rate')}"
        report.add((*loc, field), text, accepted=accepted)
