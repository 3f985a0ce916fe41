"""The printed figures of a contingency card opened: rates by distance and shield, stay times, turn-back readings."""

from __future__ import annotations

from halflayer.base.result import Derived
from halflayer.shielding.opened import plain_name
from halflayer.shielding.stuck import CREW_LIMIT, TURN_BACK, StayTime, StuckSource


def stuck_figures(stuck: StuckSource) -> list[Derived]:
    """Every figure of the card of one source, its name first: `stuck_SE-1_bare_2_m`, `stuck_SE-1_limit_distance`."""
    first = f"stuck_{stuck.source}"
    at_1m = stuck.at_1m
    found = [
        Derived(
            f"{first}_limit_distance",
            stuck.limit_distance.value,
            "m",
            formula=stuck.limit_distance.formula,
            inputs=(*stuck.limit_distance.inputs, at_1m),
            source=stuck.limit_distance.source,
            basis=stuck.limit_distance.basis,
        ),
        *(
            Derived(
                f"{first}_factor_{_of(s.id, s.pieces)}",
                s.factor.value,
                "1",
                s.factor.sigma,
                formula=s.factor.formula,
                inputs=(*s.factor.inputs, Derived("narrow beam, nothing scattered", s.narrow, "1")),
                source=s.factor.source,
                basis="; ".join(w for w in (s.what, s.factor.basis) if w),
            )
            for s in stuck.shields
        ),
    ]
    for row in stuck.rows:
        far = plain_name(f"{row.distance_m:g} m")
        square = {"source": "inverse square law", "inputs": (at_1m.named(),)}
        found.append(
            Derived(f"{first}_bare_{far}", row.bare_Sv_s, "Sv/s", formula="bare rate at 1 m / d^2", **square)  # type: ignore[arg-type]
        )
        for s, value in zip(stuck.shields, row.shielded_Sv_s, strict=True):
            found.append(
                Derived(
                    f"{first}_{_of(s.id, s.pieces)}_{far}",
                    value,
                    "Sv/s",
                    formula="bare rate at 1 m / d^2 x upper bound of the factor",
                    inputs=(at_1m.named(), Derived("factor", s.factor.value, "1", s.factor.sigma)),
                    source="inverse square law; transport through a closed shell",
                    basis=f"{s.what}; opened under {first}_factor_{_of(s.id, s.pieces)}",
                )
            )
    found.append(at_1m)
    for stay in stuck.stays:
        found += _stays(first, stay, stuck)
    for a in stuck.approach:
        far = f"{plain_name(a.head)}_{plain_name(f'{a.distance_m:g} m')}"
        closed = Derived(
            f"{first}_home_{far}",
            a.closed_Sv_s,
            "Sv/s",
            formula="1 m reading x activity / that of the reading / d^2, not above the surface reading",
            source=f"readings of {a.head}, the order",
            basis=f"{a.distance_m:g} m from its surface",
        )
        found += [
            closed,
            Derived(
                f"{first}_turn_back_{far}",
                a.turn_back_Sv_s,
                "Sv/s",
                formula=f"{TURN_BACK:g} x the reading with the source home (our choice)",
                inputs=(closed.named(),),
            ),
        ]
    return found


def _stays(first: str, stay: StayTime, stuck: StuckSource) -> list[Derived]:
    """Times to a dose at one distance, bare and under each shield."""
    tail = f"{plain_name(stay.what.removeprefix(CREW_LIMIT))}_{plain_name(f'{stay.distance_m:g} m')}"
    dose = Derived("dose", stay.dose_Sv, "Sv", source="the order")
    left = (
        ()
        if stay.left_Sv is None
        else (Derived("left of it after what is planned", stay.left_Sv, "Sv", basis=stay.whose),)
    )
    bare = Derived(
        f"{first}_stay_{tail}",
        stay.bare_s,
        "s",
        formula="what is left of the dose / rate" if left else "dose / rate",
        inputs=(dose, *left),
        source="inverse square law",
        basis="bare source; cards reckon with the planned dose as it is printed, rounded up: never longer",
    )
    return [
        bare,
        *(
            Derived(
                f"{first}_stay_{_of(s.id, s.pieces)}_{tail}",
                value,
                "s",
                formula=bare.formula,
                inputs=bare.inputs,
                source="inverse square law; transport through a closed shell",
                basis=s.what,
            )
            for s, value in zip(stuck.shields, stay.shielded_s, strict=True)
        ),
    ]


def _of(shield: str, pieces: int) -> str:
    """A shield of the kit by how many pieces of it lie over the source."""
    return f"{pieces}_{plain_name(shield)}"
