"""The first film in words: which exposure is read first, what lets the work go on, the time for any other reading."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.base.units import number
from halflayer.exposure import digital
from halflayer.exposure.budget import OFTEN_OF_TEN
from halflayer.exposure.first_film import MOST_FACTOR, FirstFilm, first_film
from halflayer.exposure.result import ShotTime
from halflayer.exposure.two_films import change_of, loading_of
from halflayer.order.digital import DigitalDetector
from halflayer.order.equipment import ON_A_STAND
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.figures import Show, percent_up
from halflayer.sheet.film_rejected import again, against_indicator
from halflayer.sheet.layers import laid_off
from halflayer.sheet.passed_on import alike, before_factor, factor_words, times_by
from halflayer.sheet.points_of_weld import sequence_of
from halflayer.sheet.sectors import is_fine
from halflayer.sheet.settings import by_id
from halflayer.sheet.two_films_words import allowed_for_change
from halflayer.technique.result import Candidate

NEAR = 0.2  # in density: so near to the aim the rule of the gradient is as good as the curve
SECOND = "the second IQI too, as the marking plan lays it"
MOST_FOG = 0.3  # base and fog, ISO 17636-1 7.8 (from memory, unverified)
CHANGE_STEPS = (
    0.1,
    0.2,
    0.3,
)  # in density under the least, for which the change's factor is given, our choice
SNR_READINGS = (
    0.5,
    0.6,
    0.7,
    0.8,
    0.9,
)  # shares of the ratio asked for which the factor is given, our choice


def first_row(plan: Plan, order: Order, w: WeldPlan, show: Show) -> list[dict[str, Any]]:
    """The step of page 1 that follows the exposure time; empty where nothing is known to read."""
    c, shot = w.chosen, _shot(w)
    if c is None or shot is None:
        return []
    label = label_of(order, w)
    else_words = f"else “{label}”"
    if shot.snr is not None:
        value, note = f"SNR_N {shot.snr.required:g}", "or more beside the weld: go on"
        return [_row(label, value, f"{note}; {else_words}")]
    first = _first(order, c, shot)
    if first is None:
        return []
    on = f" on {first.detector}" if first.slow else ""
    if first.most is None:
        note = f"no time keeps all that is judged in the range; {else_words}"
        return [_row(label, f"{first.least:.2f} or more", note)]
    low, high = _expected(order, c, first)
    out = _outside(order, c, first)
    narrow = f"; about {out} of 10 fall outside{before_factor(plan, w)}" if out >= OFTEN_OF_TEN else ""
    bounds = against_indicator(c)
    code = f"code; {bounds[0]} to {bounds[1]} of the IQI's" if bounds else "by the code"
    # Two films go on by their change too, which the lightest place tells nothing of.
    go_on = " and the change holds: go on" if first.slow else f": go on ({code})"
    place = "at the lightest place"
    if is_fine(order, c, w.exposure.coverage if w.exposure else None):
        more = " and the change holds" if first.slow else f"; {code.removeprefix('code; ')}" if bounds else ""
        place, go_on = "lightest place", f", ends judged as dark (hold the verdict){more}: go on"
    if below := _spare(first, c):
        else_words = f"else, and below {below}, “{label}”"
    note = f"{place}{on}{go_on}; {first.planned:.2f} planned, {low} to {high} expected{narrow}; {else_words}"
    return [_row(label, f"{first.least:.2f} to {_down(first.most)}", note)]


def first_words(plan: Plan, order: Order, w: WeldPlan, show: Show) -> dict[str, Any] | None:
    """Name, numbered steps and the film's curve for page 2; None where there is nothing to read."""
    c, shot = w.chosen, _shot(w)
    if c is None or shot is None:
        return None
    if shot.snr is not None:
        steps = _image_steps(order, w.weld, c, shot, show)
        return {"name": label_of(order, w), "steps": [_which(plan, order, w, c, show), *steps], "curve": ""}
    first = _first(order, c, shot)
    if first is None:
        return None
    steps = [
        _which(plan, order, w, c, show),
        _decides(first, c) + _change(order, w, c, shot),
        _covers(order, c, first, before_factor(plan, w)),
        _time(first, w.exposure.shots if w.exposure else (shot,), show) + factor_words(plan, w),
        *again(order, order.weld(w.weld), c, show),
    ]
    return {"name": label_of(order, w), "steps": steps, "curve": _curves(order, w.weld, c, shot, show)}


def _row(label: str, value: str, note: str) -> dict[str, Any]:
    return {"label": label, "value": value, "note": note, "size": "plain"}


def _shot(w: WeldPlan) -> ShotTime | None:
    return w.exposure.shots[0] if w.exposure and w.exposure.shots else None


def label_of(order: Order, w: WeldPlan) -> str:
    detector = by_id(order.all_detectors, w.chosen.detector) if w.chosen else None
    if w.budget and w.budget.trial:
        return "Trial shot"
    return "First image" if isinstance(detector, DigitalDetector) else "First film"


def _expected(order: Order, c: Candidate, first: FirstFilm) -> tuple[str, str]:
    """Ends of what the lightest place may read by the allowances of film and certificate, rounded outwards."""
    film, source = by_id(order.all_detectors, first.detector), by_id(order.sources, c.source)
    low, high = first.expected(film.dose_uncertainty, source.activity_uncertainty)
    return f"{math.floor(low * 10.0) / 10.0:.1f}", f"{math.ceil(high * 10.0) / 10.0:.1f}"


def _outside(order: Order, c: Candidate, first: FirstFilm) -> int:
    """How many of ten first films fall outside the window by the allowances of film and certificate."""
    film, source = by_id(order.all_detectors, first.detector), by_id(order.sources, c.source)
    return round(10 * first.chance_outside(film.dose_uncertainty, source.activity_uncertainty))


def _down(density: float) -> str:
    """An upper end of a range of densities, never rounded up."""
    return f"{int(density * 100 + 1e-6) / 100:.2f}"


def _first(order: Order, c: Candidate, shot: ShotTime) -> FirstFilm | None:
    loading = loading_of(order, c, shot)
    return first_film(loading, c, shot) if loading else None


def _trial_at(plan: Plan, c: Candidate) -> str:
    """The weld at which the trial shot of a detector falls: the first of the schedule, else of the order."""
    uses = [
        w.weld for w in plan.welds if w.status == "ready" and w.chosen and w.chosen.detector == c.detector
    ]
    slots = sorted(plan.schedule.slots, key=lambda s: s.start_s) if plan.schedule else []
    return next((s.weld for s in slots if s.weld in uses), uses[0] if uses else "")


def _which(plan: Plan, order: Order, w: WeldPlan, c: Candidate, show: Show) -> str:
    """Which exposure is read before which others, and whose time that is."""
    detector = by_id(order.all_detectors, c.detector)
    sequence = sequence_of(order, w)
    at_first = sequence[0]
    before = str(sequence[1]) if len(sequence) > 1 else "its next weld"
    earlier = alike(plan, w)[0]
    known = f", times by {_by_earlier(plan, order, w, earlier[0], show)}" if earlier else ""
    if w.budget is None or not w.budget.trial:
        why = "calibrated by the crew" if getattr(detector, "calibration", 1.0) != 1.0 else ""
        if order.allowance.trial == "never":
            why = "by the order"
        why = why or f"dose figure ± {percent_up(detector.dose_uncertainty)}"
        standing = "clamp, legs, head standing" if c.arrangement in ON_A_STAND else "set-up standing"
        stands = f", {standing}{laid_off(w)}" if w.budget and w.budget.wait_s else ""
        read = f"read exposure {at_first} before {before}{stands}{known}; {_wait(order, w, show)}"
        return f"No trial shot planned for {c.detector} ({why}): {read}"
    at = _trial_at(plan, c)
    if at in ("", w.weld):
        trial = f"Exposure {at_first} is the trial shot of {c.detector}"
        return f"{trial}: developed and read before any other exposure on it"
    return (
        f"The trial shot of {c.detector} is the first shot of {at}: take its factor on the times here too, and read "
        f"exposure {at_first} here before {before}; {_wait(order, w, show)}"
    )


def _by_earlier(plan: Plan, order: Order, w: WeldPlan, earlier: str, show: Show) -> str:
    """Whose first film corrects the times of this weld, and the times that its readings give."""
    of = next(p for p in plan.welds if p.weld == earlier)
    shot = _shot(of)
    first = _first(order, of.chosen, shot) if of.chosen and shot else None
    found = [s.seconds.value for s in (w.exposure.shots if w.exposure else ())]
    seconds = [float(s) for s in found if isinstance(s, int | float)]
    told = times_by(first, seconds, show) if first and seconds and len(seconds) == len(found) else ""
    return f"what {earlier}'s first film read ({told})" if told else f"the factor of {earlier}'s first film"


def _wait(order: Order, w: WeldPlan, show: Show) -> str:
    """How long the crew waits for the first film, what that holds, and what the order says nothing of."""
    if w.budget is None or not w.budget.wait_s:
        return "the order states no time for developing and reading: the schedule holds none"
    a, reader = order.allowance, order.films_read
    parts = ((a.film_way_s, "way"), (a.processing_s, "develop"), (a.viewing_s, "read"))
    split = (
        ", ".join(f"{what} {show.up(s, 'time')}" for s, what in parts if s)
        if w.budget.wait_s == a.first_wait_s
        else ""
    )
    how = f" ({split})" if a.film_way_s or a.viewing_s else ""
    by = (
        f"read by {reader.by}, {reader.dark_room or 'where: the list'}"
        if reader
        else "who reads, where: the list"
    )
    return f"{show.up(w.budget.wait_s, 'time')} for it in the schedule{how}; {by}"


def _decides(first: FirstFilm, c: Candidate) -> str:
    on = f" on {first.detector}" if first.slow else ""
    place = first.where.replace(" degrees", "°")
    text = f"Lightest place judged{on} ({place}{_why(place, c)}; {first.planned:.2f} planned): "
    if first.most is None:
        return (
            text
            + f"{first.least:.2f} or more is wanted; no time keeps all that is judged in the range: see the cautions"
        )
    dark = f" on {first.slow}" if first.slow else ""
    below = _spare(first, c)
    rest = f"; below {below} it stands, those after it take step 4's time" if below else ""
    return text + (
        f"{first.least:.2f} to {_down(first.most)} as read goes on, the darkest then reads {c.density_max:g} or less"
        f"{dark}; read both{_at_indicator(c)}{rest}"
    )


def _spare(first: FirstFilm, c: Candidate) -> str:
    """Below which reading the exposures after the first take another time; empty where none follows or none asks it."""
    return f"{first.spare:.2f}" if len(c.shots) > 1 and first.spare > first.least else ""


def _change(order: Order, w: WeldPlan, c: Candidate, shot: ShotTime) -> str:
    """What shows that no band lies between two films, and what is done where one does; empty for one film.

    Viewing both at once is no way out: where the front film reads above the range, both together read darker still.
    """
    loading = loading_of(order, c, shot)
    at = change_of(loading, c) if loading is not None else None
    if at is None:
        return ""
    reads = (at.slow_least - step for step in CHANGE_STEPS)
    room = math.floor(100 * at.room + 1e-9)
    factors = " · ".join(f"{read:.1f}: × {_up(at.factor(read))}" for read in reads)
    often = change_fails(order, c, shot)
    planned = allowed_for_change(order, c, shot, w.budget)
    return (
        f". The change holds where {at.slow} reads {at.slow_least:.2f} or more at {at.fast}'s {at.fast_most:.2f} "
        f"({at.slow_planned:.2f} planned; room {room} % in dose). By the films' ± it fails in about {often} of 10, "
        f"then in every exposure alike, and no time closes it: keep {at.fast}, shoot each "
        f"once more, loaded alike, longer by {at.slow}'s reading, {factors}; {planned}; doses grow"
    )


def change_fails(order: Order, c: Candidate, shot: ShotTime) -> int:
    """In how many of ten nights the change between two films fails, by the films' own ±; 0 for one film."""
    loading = loading_of(order, c, shot)
    at = change_of(loading, c) if loading is not None else None
    if loading is None or at is None:
        return 0
    spread = {f.id: f.dose_uncertainty for f in loading.films}
    return round(10 * at.chance_open(spread[at.fast], spread[at.slow]))


def _up(factor: float) -> str:
    """A factor on a time, rounded up: the film meant is the slower one, which must be dark enough."""
    return f"{math.ceil(factor * 100 - 1e-6) / 100:.2f}"


def _at_indicator(c: Candidate) -> str:
    """What a code asks besides of both places against the density at the indicator; empty where it bounds nothing."""
    bounds = against_indicator(c)
    if bounds is None:
        return ""
    return (
        f", and the density at the IQI: the lightest not below {bounds[0]}, the darkest not above {bounds[1]} of it, "
        f"else {SECOND} (T-282.2; r)"
    )


def _why(place: str, c: Candidate) -> str:
    """Why the lightest place is on the crown or not: which cap its ray crosses."""
    if place.startswith("weld crown"):
        return ": its ray crosses the cap"
    if place.startswith("beside the cap") and c.technique == "DWDI ellipse":
        return ": beside one wall's cap a slanting ray may cross that of the other"
    return ""


def _covers(order: Order, c: Candidate, first: FirstFilm, before: str) -> str:
    """Which range stands for what: the code's window, what a first film may read, what differs from place to place.

    `before`: that the shares are those before an earlier weld's film corrects the time.
    """
    film, source = by_id(order.all_detectors, first.detector), by_id(order.sources, c.source)
    low, high = _expected(order, c, first)
    outside = (
        ""
        if first.most is None
        else f"; about {_outside(order, c, first)} of 10 fall outside the window{before}{_one_film(order, c, first)}"
    )
    return (
        f"Ranges: the window is the code's; 9 films of 10 will read {low} to {high} by film (± "
        f"{percent_up(film.dose_uncertainty)}) and certificate (± {percent_up(source.activity_uncertainty)}){outside}; "
        "least and most are places of one film, along rays from the source's middle, its size left out"
    )


def _one_film(order: Order, c: Candidate, first: FirstFilm) -> str:
    """Why one film lies in the holder where many first films miss its window; empty where two do, or few miss it."""
    if first.slow or _outside(order, c, first) < OFTEN_OF_TEN:
        return ""
    if not c.partners:
        return " (no second film of the order goes with it)"
    return " (one film holds the range planned, so no second; the first one read corrects all others)"


def _time(first: FirstFilm, shots: Sequence[ShotTime], show: Show) -> str:
    """The rule for another reading, with its factors; times where they are the same for every exposure."""
    seconds = [s.seconds.value for s in shots]
    same = len({show.value(s, "time") for s in seconds if isinstance(s, int | float)}) == 1
    each = []
    for read, factor in first.factors():
        first_s = seconds[0]
        time = show.value(float(first_s) * factor, "time") if isinstance(first_s, int | float) else ""
        each.append(f"{read:.1f}: {time}" if same and time else f"{read:.1f}: × {factor:.2f}")
    on = f"{first.detector} " if first.slow else ""
    by = "this time" if same else "this factor on its own time"
    rest = f", it and each exposure not yet shot by {by}" if len(shots) > 1 else ""
    return (
        f"Outside the window the first film is rejected: shoot it again{rest}, by the film's curve, time × dose "
        f"for {first.aim:.2f} / dose for what was read: {on}{' · '.join(each)}{_by_gradient(first)}; a factor above "
        f"{MOST_FACTOR:g} or below {1 / MOST_FACTOR:g} (our choice): find out why first. Doses grow with it"
    )


def _by_gradient(first: FirstFilm) -> str:
    """The rule of the gradient, where readings so near to the aim lie outside the window at all."""
    if first.goes_on(first.aim - NEAR) and first.goes_on(first.aim + NEAR):
        return ""
    return (
        f" (outside the window and within {NEAR:g} of {first.aim:.2f} also × 10^(({first.aim:.2f} − read) / G), G "
        f"{first.gradient:.1f})"
    )


def fog_let(code: str) -> str:
    """What the code lets base and fog be: at most 0.3 by ISO 17636-1 7.8, from memory, unverified."""
    return f"; at most {MOST_FOG:g}: 7.8; m" if code.startswith("ISO 17636-1") else ""


def _curves(order: Order, weld: str, c: Candidate, shot: ShotTime, show: Show) -> str:
    """Speed, gradients, base and fog of the films, each with what it rests on."""
    loading = loading_of(order, c, shot)
    if loading is None:
        return ""
    each = []
    for f, k in zip(loading.films, loading.curves, strict=True):
        own = (
            "not calibrated yet" if f.calibration == 1.0 else f"calibrated by the crew, × {f.calibration:.3g}"
        )
        rests = "stated at 2" if f.gradient_at_2 is not None else f"least of class {f.film_class}"
        each.append(
            f"{f.id} {show.value(f.dose_for_density_2_Gy, 'dose')} ± {percent_up(f.dose_uncertainty)} for net 2 (speed "
            f"{_speed(f.dose_for_density_2_Gy, show)}; {f.basis}, {own}), base and fog {k.base_fog:g}, gradient "
            f"{k.gradient_at_2:.2g} at net 2, {k.gradient_at_4:.2g} at net 4 ({rests})"
        )
    code = order.code_of(order.weld(weld))
    return (
        f"{'; '.join(each)}. Densities hold base and fog (of the order{fog_let(code)}); class gradients: ASTM E1815 "
        "Table 1, ISO 11699-1 (m)"
    )


def _speed(dose_Gy: float, show: Show) -> str:
    """The film's speed, the reciprocal of its dose for a net density of 2, in the sheet's unit of dose."""
    unit = "rd" if show.system == "imperial" else "Gy"
    return f"{1 / number(dose_Gy, unit):.3g} per {'rad' if unit == 'rd' else unit}"


def _image_steps(order: Order, weld: str, c: Candidate, shot: ShotTime, show: Show) -> list[str]:
    """Steps for a digital detector: the ratio asked, and the time for a lower one."""
    detector, snr = by_id(order.all_detectors, c.detector), shot.snr
    if snr is None or not isinstance(detector, DigitalDetector):
        return []
    by = digital.response(detector)
    aim = by.kerma_Gy(min(max(snr.beside_least, snr.required), 0.999 * by.most))
    each = []
    for share in SNR_READINGS:
        read = share * snr.required
        factor = aim / by.kerma_Gy(read)
        seconds = shot.seconds.value
        time = f", {show.value(float(seconds) * factor, 'time')}" if isinstance(seconds, int | float) else ""
        each.append(f"{read:.0f}: × {factor:.2f}{time}")
    return [
        f"Read SNR_N beside the weld: {snr.required:g} or more goes on, {snr.beside_least:.0f} is planned",
        f"Else time by the detector's response, for the first shot, {' · '.join(each)}; the same factor for every "
        "exposure not yet shot",
        *again(order, order.weld(weld), c, show),
    ]
