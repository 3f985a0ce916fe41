"""Dose to the hands that hold a stored head while it is set up, with that of the body they are part of."""

from __future__ import annotations

from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.order.crew import Person
from halflayer.order.models import Order
from halflayer.shielding.readings import surface_rate_Sv_s
from halflayer.technique.result import Candidate


def hand_dose(order: Order, candidate: Candidate, person: Person, *, activity_Bq: float) -> Derived:
    """Dose to the hands that hold the stored head while it is set up; value None where it is not computed.

    Formula: surface reading x time with the hands on the head. The surface reading is H*(10); the skin's
    quantity Hp(0.07) differs from it by less than a fifth for photons above 60 keV (from memory, unverified).
    Film handling with the source stored is in the body's steps; a source that is out is never handled.
    """
    name = f"hand_dose_{person.id}"
    head = next(h for h in order.heads if h.id == candidate.head)
    surface, held = surface_rate_Sv_s(head, activity_Bq), order.crew_times.hands_on_s
    tasks = person.tasks or (() if person.role == "sentry" else ("set-up",))
    if "set-up" not in tasks:
        return Derived(name, 0.0, "Sv", basis="takes no part in setting up")
    missing = [
        words
        for value, words in (
            (surface, "no surface reading of the stored head is given"),
            (held, "the time with the hands on the head is not stated (crew_times: hands_on)"),
        )
        if value is None
    ]
    if surface is None or held is None:
        return Derived(name, None, "Sv", basis=f"not computed: {'; '.join(missing)}")
    return Derived(
        name,
        surface * held,
        "Sv",
        formula="surface rate x time with the hands on the head",
        inputs=(
            Derived(
                "surface rate of the stored head", surface, "Sv/s", basis="reading scaled to the activity"
            ),
            Derived("hands on the head", held, "s", source=f"times per step: {order.crew_times.basis}"),
        ),
        basis="upper value; H*(10) reading in place of Hp(0.07), within a fifth above 60 keV (from memory, unverified)",
    )


def hands_with_body(hands: Derived, whole: Derived) -> Derived:
    """The hands' dose with that of the body they are part of: never below it; value None where either is not computed.

    Formula: hands on the head + all steps of the body. The time at the head is counted in both, which errs on the high
    side; film handling nearer than the body's distance is not in it.
    """
    if hands.value is None:
        return hands
    if whole.value is None:
        return replace(hands, value=None, inputs=(), basis="not computed: the dose of the whole body is not")
    return replace(
        hands,
        value=float(hands.value) + float(whole.value),
        formula=f"{hands.formula or '0'} + dose of the whole body",
        inputs=(*hands.inputs, whole),
        basis=f"{hands.basis}; the whole body's dose counted in",
    )
