"""What can be wrong with a piece of the kit or a detector by itself: sizes that contradict each other."""

from __future__ import annotations

from halflayer.order.guide import GuideTube
from halflayer.order.head_checks import stored_falls
from halflayer.order.parts import Parts
from halflayer.order.report import Report
from halflayer.order.stand_kit import Clamp, Legs


def kit_problems(parts: Parts, report: Report) -> None:
    """Add to the report what is wrong with each piece of the kit and each detector."""
    for n, clamp in parts.items.get(("kit", "clamps"), []):
        for field, text, accepted in _clamp(clamp):
            report.add(("kit", "clamps", n, field), text, accepted=accepted)
    for n, legs in parts.items.get(("kit", "legs"), []):
        for field, text, accepted in _legs(legs):
            report.add(("kit", "legs", n, field), text, accepted=accepted)
    for n, shroud in parts.items.get(("kit", "shrouds"), []):
        most = min(shroud.inner) / 2
        if shroud.slot_gap_m >= most:
            text = "the gap round the pipe is wider than half the shroud"
            report.add(("kit", "shrouds", n, "slot_gap"), text, accepted=f"below {most * 1000:g} mm")
    for n, guide in parts.items.get(("kit", "guides"), []):
        least = least_bend_m(guide)
        if guide.bend_radius_m is not None and guide.bend_radius_m < least:
            text = "the tube cannot be bent so tight"
            report.add(("kit", "guides", n, "bend_radius"), text, accepted=f"at least {least * 1000:g} mm")
    for n, changer in parts.items.get(("kit", "changers"), []):
        if changer.stored is not None:
            stored_falls(report, ("kit", "changers", n, "stored"), changer.stored)
    for n, detector in parts["digital"]:
        most = detector.saturates_at_Gy
        if detector.kind == "imaging plate" and most is not None and detector.snr_n_dose_Gy >= most:
            text = "the ratio is measured at a dose at which the plate is saturated"
            report.add(
                ("digital", n, "snr_n_dose"), text, accepted=f"below {most * 1000:g} mGy, saturates_at"
            )
        if detector.basic_resolution_m >= min(detector.sheet):
            text = "the resolution is no finer than the sheet"
            accepted = f"below {min(detector.sheet) * 1000:g} mm, such as 0.1 mm"
            report.add(("digital", n, "basic_resolution"), text, accepted=accepted)


def _clamp(clamp: Clamp) -> list[tuple[str, str, str]]:
    if clamp.from_weld_m <= clamp.width_m / 2:
        accepted = f"above {clamp.width_m * 500:g} mm, half the clamp's width"
        return [("from_weld", "the clamp would stand on the weld", accepted)]
    return []


def _legs(legs: Legs) -> list[tuple[str, str, str]]:
    found = []
    span = legs.reach_max_m - legs.reach_min_m
    # Legs of one hole have one reach; else a second hole lies within it.
    if span > 0 and legs.hole_pitch_m > span + 1e-9:
        accepted = f"up to {span * 1000:g} mm, from reach_min to reach_max"
        found.append(("hole_pitch", "the second hole lies beyond the longest reach", accepted))
    if 0 < legs.lean_max_rad < legs.lean_step_rad - 1e-9:
        from halflayer.base.units import show

        accepted = f"up to lean_max, {show(legs.lean_max_rad, 'angle', round_up=False)}"
        found.append(("lean_step", "the first step leans further than the legs do", accepted))
    return found


def least_bend_m(guide: GuideTube) -> float:
    """The tightest bend of a tube's middle line that can be: its inside would fold, its bore turn on the spot [m]."""
    return max(guide.bore_m, guide.bore_m / 2 + guide.wall_m)
