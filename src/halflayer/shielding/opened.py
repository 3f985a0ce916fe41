"""The printed dose figures of a weld opened: rates at points and places, limits, rope, floors, lost shielding."""

from __future__ import annotations

import math
import re
import unicodedata

from halflayer.base.result import Derived
from halflayer.exposure.result import Exposure
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.shielding.averaging import shot_seconds
from halflayer.shielding.budget import COVERAGE
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import Contour, FloorDose, Lost, Safety
from halflayer.shielding.still_out import READ_AT_M
from halflayer.shielding.stuck import TURN_BACK
from halflayer.shielding.travelling import REACH, on_the_way, travel_of
from halflayer.shielding.turn_back import MOST, RULE, right_reading_Sv_s

METHOD = "Monte Carlo, independent random numbers"
ROUNDED = "sheets add up the steps as they print them, each rounded up, so that theirs may be a little higher"
UPPER = "(estimate + 1.645 sigma) x (1 + k); 3 sigma where only the noise is known"


def plain_name(words: str) -> str:
    """Words as a figure's name: letters, digits and underlines; `Neighbour's office` is `neighbour_s_office`."""
    bare = unicodedata.normalize("NFKD", words.lower())
    return re.sub(r"[^a-z0-9]+", "_", "".join(c for c in bare if not unicodedata.combining(c))).strip("_")


def rate_figures(order: Order, s: Shielding, activity: Derived) -> list[Derived]:
    """Of every survey point and place: the rate expected, the bound that is compared, the reading to turn back at."""
    k = Derived("k", s.k, "1", basis="printed budget, opened under budget_k")
    found = [
        Derived(
            f"budget_wall_{plain_name(w.wall)}",
            w.relative,
            "1",
            formula="root of the sum of squares of T(t less what it lacks) / T(t) - 1; at most all that comes through",
            source="transmission of the source's lines, weighted by H*(10)",
            basis=f"{w.basis}; the most of: {', '.join(w.places)}",
        )
        for w in s.walls
    ]
    for p in s.points:
        name = plain_name(p.name)
        noise = Derived("noise of the calculation", p.sigma_rel, "1", basis="one sigma, relative")
        behind = " and ".join(w.wall for w in s.walls if p.name in w.places)
        walls = Derived("k more by walls", p.wall_k, "1", basis=f"{behind}, opened under budget_wall")
        own_k = (k, walls) if p.wall_k else (k,)
        rate = Derived(
            f"rate_{name}",
            p.rate_Sv_s,
            "Sv/s",
            p.rate_Sv_s * math.hypot(p.sigma_rel, (s.k + p.wall_k) / COVERAGE),
            symbol="H*(10) rate",
            formula="largest over the exposures; one sigma = rate x sqrt(noise^2 + (k / 1.645)^2)",
            inputs=(noise, *own_k, activity.named(), *_shares(p)),
            source=METHOD,
            basis=f"{p.name}, at site {', '.join(f'{c:.2f}' for c in p.at)} m"
            + (
                f"; at exposure {p.at_exposure} of {len(p.by_exposure_Sv_s)}"
                if len(p.by_exposure_Sv_s) > 1
                else ""
            )
            + ("" if p.reliable else "; not known reliably"),
        )
        upper = Derived(
            f"at_most_{name}",
            p.upper_Sv_s,
            "Sv/s",
            formula=UPPER,
            inputs=(rate.named(), *own_k),
            source=METHOD,
            basis=p.name,
        )
        found += [rate, upper]
        if p.turn_back_Sv_s is not None:
            found.append(_turn_back(order, p, upper, s.k))
    return found


def _shares(p: PointDose) -> tuple[Derived, ...]:
    top = sorted(p.shares.items(), key=lambda x: -x[1])
    return tuple(Derived(f"share {name}", share, "1") for name, share in top if share >= 0.005)


def _turn_back(order: Order, p: PointDose, upper: Derived, k: float) -> Derived:
    inputs: tuple[Derived, ...] = (upper.named(),)
    if p.limit_Sv_s is not None:
        least = least_reading_Sv_s(order, p.limit_Sv_s)
        inputs = (
            upper.named(),
            Derived(
                "what the worst meter may show of a right set-up",
                right_reading_Sv_s(order, p, k, MOST),
                "Sv/s",
                formula="rate x (1 + sqrt((1.645 x relative error)^2 + tolerance^2))",
                source="combination of independent errors",
            ),
            Derived(
                "limit less what the worst meter may read too low",
                least,
                "Sv/s",
                formula="limit x (1 - tolerance)",
                inputs=(Derived("limit", p.limit_Sv_s, "Sv/s", source="the order"),),
                source="the order",
            ),
        )
    return Derived(
        f"turn_back_{plain_name(p.name)}",
        p.turn_back_Sv_s,
        "Sv/s",
        formula=RULE,
        inputs=inputs,
        basis=p.name,
    )


def limit_figures(s: Shielding, safety: Safety | None) -> list[Derived]:
    """The doses that are compared with limits of other kinds than a rate, at places and for persons."""
    people = [(p.name, c) for p in (safety.crew if safety else ()) for c in p.limits]
    checks = [*((c.place, c) for c in s.limits), *people]
    names = {p.name for p in safety.crew} if safety else set()
    found = []
    for who, c in checks:
        given = Derived("limit", c.limit_Sv, "Sv", source="the order")
        found.append(
            Derived(
                f"dose_{plain_name(who)}_{plain_name(c.kind)}",
                c.upper_Sv,
                "Sv",
                formula=c.averaging,
                inputs=(Derived("estimate", c.value_Sv, "Sv"), given),
                source="rates at most, the exposure times and the steps of the crew",
                basis=f"{who}, {c.kind}; upper value" + (f"; {ROUNDED}" if who in names else ""),
            )
        )
    return found


def average_figures(safety: Safety) -> list[Derived]:
    """Each place by each averaging rule."""
    return [
        Derived(
            f"average_{plain_name(a.place)}_{plain_name(a.kind)}",
            a.upper,
            a.unit,
            formula=a.averaging,
            inputs=(Derived("estimate", a.value, a.unit),)
            + ((Derived("limit", a.limit, a.unit, source="the order"),) if a.limit is not None else ()),
            source=METHOD,
            basis=f"{a.place}, {a.kind}; upper value",
        )
        for a in safety.averages
    ]


def rope_figures(order: Order, contour: Contour) -> list[Derived]:
    """Where the limit lies and the rope goes in every direction, and the reading at the rope."""
    found = []
    for p in contour.points:
        angle = f"{math.degrees(p.direction_rad) % 360:.0f}"
        if p.at_m is None:
            continue
        limit = (
            Derived("limit reached", p.limit_at_m, "m", source=METHOD) if p.limit_at_m is not None else None
        )
        found.append(
            Derived(
                f"rope_{angle}_deg",
                p.at_m,
                "m",
                formula="where the rate falls through the limit, moved out of what stands there",
                inputs=(limit,) if limit else (),
                source=contour.basis,
                basis="from the weld in plan"
                + (f"; behind {', '.join(p.behind)}" if p.behind else "")
                + (f"; moved out of {p.moved_out_of}" if p.moved_out_of else ""),
            )
        )
    rate = order.limits.barrier.rate_Sv_s
    if rate is not None:
        found.append(
            Derived(
                "rope_reading",
                least_reading_Sv_s(order, rate),
                "Sv/s",
                formula="limit x (1 - largest tolerance of the survey meters)",
                inputs=(
                    Derived("limit", rate, "Sv/s", source="the order", basis=order.limits.barrier.basis),
                ),
                source="the order",
            )
        )
    return found


def floor_figures(floors: tuple[FloorDose, ...]) -> list[Derived]:
    """The highest rate over each floor."""
    found = []
    for f in floors:
        rate, sigma = f.rate_Sv_s, f.sigma_rel
        estimate = Derived(
            "estimate", rate, "Sv/s", None if rate is None or sigma is None else rate * sigma, basis=f.where
        )
        found.append(
            Derived(
                f"floor_{plain_name(f.floor)}",
                f.upper_Sv_s,
                "Sv/s",
                formula=UPPER,
                inputs=(estimate,),
                source=METHOD,
                basis=f.basis,
            )
        )
    return found


def lost_figures(lost: Lost, exposure: Exposure | None) -> list[Derived]:
    """Rates at the barrier and at the crew's place with something out of place, what an exposure brings them."""
    found = []
    for c in lost.cases:
        for where, value, upper in (
            ("barrier", c.barrier_Sv_s, c.barrier_upper_Sv_s),
            ("crew", c.crew_Sv_s, c.crew_upper_Sv_s),
        ):
            if upper is None:
                continue
            factor = Derived("factor over the rate as planned", c.factor, "1", basis=c.factor_where)
            found.append(
                Derived(
                    f"lost_{plain_name(c.name)}_{where}",
                    upper,
                    "Sv/s",
                    formula="(estimate + 1.645 sigma) x (1 + k), never less than as planned",
                    inputs=(Derived("estimate", value, "Sv/s"), factor),
                    source=METHOD,
                    basis=f"{c.what}; {c.barrier_where if where == 'barrier' else 'at the place of the crew'}",
                )
            )
        if c.exposure_Sv is not None and c.crew_upper_Sv_s is not None and exposure is not None:
            crew = found[-1].named()
            longest = Derived(
                "longest exposure", max(shot_seconds(exposure)), "s", basis="under exposure_time"
            )
            found.append(
                Derived(
                    f"lost_{plain_name(c.name)}_exposure",
                    c.exposure_Sv,
                    "Sv",
                    formula="rate at the crew's place at most x longest exposure",
                    inputs=(crew, longest),
                    source=METHOD,
                    basis=f"{c.what}; nobody goes away or shortens it",
                )
            )
    return found


def travel_figures(s: Shielding) -> list[Derived]:
    """Dose and highest rate at each place while the source travels; none where it stays in its head."""
    figure = travel_of(s)
    if figure is None or figure.value is None:
        return []
    found = []
    of_name = {d.name: d for d in figure.inputs}
    for name, way in on_the_way(figure).items():
        opened = next((d for n, d in of_name.items() if n == name or n.startswith(f"{name} at ")), None)
        inputs = tuple(of_name[n] for n in ("bare source at 1 m", "speed") if n in of_name)
        basis = opened.basis if opened else ""
        plain = plain_name(name)
        found += [
            Derived(
                f"transit_dose_{plain}",
                way.dose_Sv,
                "Sv",
                formula=opened.formula if opened else "",
                inputs=(Derived("largest one way", way.once_Sv, "Sv"), *inputs),
                source=figure.source,
                basis=basis,
            ),
            Derived(
                f"transit_rate_{plain}",
                way.peak_Sv_s,
                "Sv/s",
                formula="highest of K T / r^2 along the way",
                inputs=inputs,
                source=figure.source,
                basis=basis,
            ),
        ]
    reaches = [d for d in figure.inputs if d.name.startswith(REACH)]
    return [*found, *reaches]


def stored_figures(order: Order, head_id: str, activity_Bq: float) -> list[Derived]:
    """What the meter should read beside the head or container with the source home, and where to turn back."""
    head = next((h for h in order.heads if h.id == head_id), None)
    found: list[Derived] = []
    for far in READ_AT_M:
        rate = stored_rate_Sv_s(head, activity_Bq, far) if head is not None else None
        if rate is None:
            return []
        home = Derived(
            f"home_{plain_name(f'{far:g} m')}",
            rate,
            "Sv/s",
            formula="1 m reading x activity / that of the reading / d^2, not above the surface reading",
            inputs=(Derived("activity", activity_Bq, "Bq"),),
            source=f"readings of {head_id}, the order",
            basis=f"{far:g} m from its surface, the source stored",
        )
        found += [
            home,
            Derived(
                f"home_turn_back_{plain_name(f'{far:g} m')}",
                rate * TURN_BACK,
                "Sv/s",
                formula=f"{TURN_BACK:g} x the expected reading (our choice)",
                inputs=(home,),
            ),
        ]
    return found
