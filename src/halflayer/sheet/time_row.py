"""The exposure time as a step of page 1: the figure, clocks of source and film, what it rests on and what it gives."""

from __future__ import annotations

import math

from halflayer.exposure.result import Exposure
from halflayer.exposure.two_films import change_rule
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.stand_rows import Row
from halflayer.sheet.stand_rows import row as _row
from halflayer.sheet.two_films_words import pair_of, zone_densities
from halflayer.sheet.typeface import figure_em
from halflayer.technique.result import Candidate, Shot

MANY = 4  # exposures whose clocks are said in full


def _where(weld: Weld, c: Candidate, shot: Shot, show: Show) -> str:
    """Clocks of source and film in words; in few where there are many exposures.

    Of a head outside with its film inside the place on the girth too, from the datum on the outside of the pipe: small
    steps of the clock are set by tape.
    """
    source, film = show.degrees(shot.source_clock_rad), show.degrees(shot.detector_clock_rad)
    many = len(c.shots) > MANY
    if c.arrangement == "bore":
        return "panoramic"
    if c.arrangement == "outside":
        girth = f" ({show.drawn(shot.source_clock_rad % (2 * math.pi) * weld.pipe.od / 2)})"
        return ("" if many else "source and film ") + source + girth
    return f"{source}, film {film}" if many else f"source {source}, film {film}"


def time_row(
    order: Order,
    weld: Weld,
    c: Candidate,
    exposure: Exposure | None,
    show: Show,
    *,
    trial: bool,
    factor_of: str = "",
    first: int = 1,
) -> Row:
    """The step with the largest figure; its note says what the time rests on and what it gives.

    `trial`: the first shot is the trial; `first`: the exposure that is shot first. `factor_of`: the weld whose first
    film corrects the time, which then has a blank: that goes before whether the film is calibrated.
    """
    row = _row("Exposure time", NOT_COMPUTED, size="time")
    row["shots"] = []
    if exposure is None:
        return row
    film = next((f for f in order.detectors if f.id == c.detector), None)
    uncalibrated = "film not calibrated" if film is not None and film.calibration == 1.0 else ""
    if factor_of:
        uncalibrated = f"time by {factor_of}'s first film ______, else this"
    for n, (shot, time) in enumerate(zip(c.shots, exposure.shots, strict=False), start=1):
        seconds = time.seconds
        value = float(seconds.value) if isinstance(seconds.value, int | float) else None
        # One text of the figure on both pages: rounded up, to the place that the whole figure is printed to.
        told = show.of(seconds)
        sigma = told.partition(" ± ")[2] if seconds.sigma else ""
        where = _where(weld, c, shot, show)
        row["shots"].append(
            {
                "n": n,
                "where": where,
                "time": show.value(value, "time"),
                "sigma": f"± {sigma}" if sigma else "",
                "em": figure_em(show.value(value, "time"), unit=0.5),
            }
        )
    row["shots"] = row["shots"][first - 1 :] + row["shots"][: first - 1]  # as they are shot
    texts = {s["time"] for s in row["shots"]}
    row["same"] = len(texts) == 1
    row["value"] = next(iter(texts)) if row["same"] else ""
    if row["same"]:  # no tolerance of the timer's: the time is set as it stands
        for s in row["shots"]:
            s["sigma"] = f"estimate {s['sigma']}" if s["sigma"] else ""
    d = exposure.shots[0].density if exposure.shots else None
    if d is not None:
        row["note"] = (
            f"density {d.weld:.2f} ± {d.sigma:.2f} at the weld, {d.least:.2f} to {d.most:.2f} over what is judged"
        )
    if pair_of(exposure) is not None:
        row["note"] = f"{change_rule(c)}; expected where judged: {zone_densities(exposure.shots)}"
    both = "clocks: source and film both" if c.arrangement == "outside" and len(c.shots) > MANY else ""
    snr = exposure.shots[0].snr if exposure.shots else None
    if snr is not None:
        row["note"] = (
            f"SNR_N {snr.beside_least:.0f} ± {snr.sigma:.0f} beside the weld, {snr.required:g} asked"
        )
        row["note"] += f"; {snr.frames} frames" if snr.frames else ""
    turn = "shot in this sequence, row by row" if first > 1 else ""
    row["note"] = "; ".join(w for w in (turn, uncalibrated, both, row["note"], _starts(order, c, show)) if w)
    if trial and row["shots"]:
        row["shots"][0]["where"] += ", TRIAL"
        read = "develop and read" if snr is None else "read"
        row["note"] = "; ".join(
            w for w in (f"shot {first} is the trial: {read} it before the others", row["note"]) if w
        )
    return row


def _starts(order: Order, c: Candidate, show: Show) -> str:
    """From when the time runs, and that the source's way comes on top of it."""
    head = next((h for h in order.heads if h.id == c.head), None)
    if head is None:
        return ""
    start = "timed from the source in place"
    if not head.travel_s > 0.0:
        return f"{start}; its way out and back is not stated (travel of {head.id}) and in no figure"
    way = show.value(head.travel_s, "time")
    return f"{start}; its way, {way} each, on top"
