"""Of two films in one holder: whether the wire asked is seen on each where that film judges."""

from __future__ import annotations

from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.exposure.result import FilmZone, ShotTime
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph import judge
from halflayer.radiograph.response import FilmResponse
from halflayer.radiograph.result import Verdict
from halflayer.radiograph.setting import Setting, films_of, setting
from halflayer.scene.build import Built

SPOTS = 14  # as many points of the source as for a plan's other wires


def judged(made: Setting, field: ScatterField, timed: ShotTime, built: Built, verdict: Verdict) -> Verdict:
    """The verdict with a stop for every film on which the wire asked is not seen at its own indicator."""
    asked = made.candidate.iqi
    if asked is None or asked.type != "wire" or timed.pair is None or timed.second is None:
        return verdict
    found = [
        f
        for zone in timed.pair.zones
        if (f := _on(made, field, timed, built, zone, asked.required)) is not None
    ]
    if not found:
        return verdict
    findings = (*verdict.findings, *found)
    return replace(verdict, findings=findings, ok=False)


def _on(
    made: Setting, field: ScatterField, timed: ShotTime, built: Built, zone: FilmZone, required: str
) -> Finding | None:
    response = next((r for f, r in films_of(made) if f.id == zone.film), None)
    if zone.indicator is None or response is None:
        return None
    seen = on_film(made, field, timed, built, response, zone.indicator.from_middle_rad, required)
    if seen is None or seen[1]:
        return None
    return Finding(
        "stop",
        f"Wire {required} is expected not to be seen on {zone.film} at its indicator: {seen[0]:.1f} times the noise, "
        f"{judge.ROSE:.0f} are asked for.",
        source=judge.criterion(made),
        relax=("the slower film for that part too, with more exposures", "a finer film"),
    )


def on_film(
    made: Setting,
    field: ScatterField,
    timed: ShotTime,
    built: Built,
    response: FilmResponse,
    at_rad: float,
    required: str,
) -> tuple[float, bool] | None:
    """Contrast to noise of the wire asked on one film, that wire so far from the middle, and whether that shows it."""
    seconds = timed.seconds.value
    assert isinstance(seconds, float) and timed.second is not None
    there = setting(
        made.order,
        made.weld,
        made.candidate,
        made.shot,
        built,
        activity_Bq=made.decays / seconds,
        seconds=seconds,
        spots=SPOTS,
        wire_at_rad=at_rad,
    )
    own = tuple(w for w in there.wires if w.designation == required)
    alone = replace(there, wires=own, response=response, partner=None, partner_response=None)
    if not own:
        return None
    one = judge.seen_wires(alone, field)[0]
    return one.contrast_to_noise, one.visible
