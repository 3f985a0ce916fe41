"""Alarm set points against what they guard: the turn-back reading of the rope, and the planned dose of the shift.

An alarm that guards a reading sounds no later than it, and one that sounds as planned is told (common practice, no
source). 7.5 uSv/h less 20 % is 6 uSv/h (arithmetic).
"""

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.order.notes import alarms_above_turn_back
from halflayer.shielding.result import LimitCheck
from halflayer.shift.alarm_note import alarm_findings
from halflayer.shift.result import CrewShift
from order_cases import order

USV = 1e-6


def _with(*alarms: tuple[float | None, float | None], sentries: int = 1) -> Order:
    made = order()
    meter = next(i for i in made.instruments if i.kind == "survey meter").model_copy(
        update={"tolerance": 0.2}
    )
    worn = [
        meter.model_copy(
            update={
                "id": f"A{n}",
                "kind": "personal alarm",
                "range_Sv_s": None,
                "tolerance": None,
                "alarm_Sv_s": None if rate is None else rate * USV / 3600.0,
                "alarm_dose_Sv": None if dose is None else dose * USV,
            }
        )
        for n, (rate, dose) in enumerate(alarms, start=1)
    ]
    crew = [made.crew[0].model_copy(update={"id": f"S{n}", "role": "sentry"}) for n in range(sentries)]
    barrier = made.limits.barrier.model_copy(update={"rate_Sv_s": 7.5 * USV / 3600.0})
    limits = made.limits.model_copy(update={"barrier": barrier})
    return made.model_copy(
        update={"instruments": (meter, *worn), "crew": (made.crew[0], *crew), "limits": limits}
    )


def test_a_sentry_s_alarm_above_the_turn_back_reading_is_warned_of() -> None:
    (found,) = alarms_above_turn_back(_with((50.0, None), (7.5, None)))
    assert found.level == "warn"
    assert "A2 sounds at 7.5 uSv/h, above the rope's turn-back reading of 6 uSv/h" in found.text
    assert alarms_above_turn_back(_with((50.0, None), (5.5, None))) == []
    assert alarms_above_turn_back(_with((50.0, None), (6.0, None))) == []  # at it, not above


def test_the_lowest_alarm_is_the_sentry_s_unless_one_is_not_set_yet() -> None:
    (found,) = alarms_above_turn_back(_with((50.0, None), (40.0, None)))
    assert "A2 sounds at 40" in found.text
    assert alarms_above_turn_back(_with((50.0, None), (None, None))) == []
    assert alarms_above_turn_back(_with((50.0, None), sentries=0)) == []


def _dose(planned: float, most: float) -> CrewShift:
    check = LimitCheck("Ada", "per shift", "as scheduled", planned * USV, most * USV, 60 * USV, True)
    return CrewShift("P1", "Ada", Derived("shift", planned * USV, "Sv"), (check,))


def test_a_dose_alarm_below_the_planned_dose_is_told_to_sound() -> None:
    (found,) = alarm_findings(_with((50.0, 20.0)), [_dose(18.0, 29.0)])
    assert found.level == "note"
    assert "will sound in this shift" in found.text and "Ada up to 29" in found.text
    assert alarm_findings(_with((50.0, 30.0)), [_dose(18.0, 29.0)]) == []
    assert alarm_findings(_with((50.0, None)), [_dose(18.0, 29.0)]) == []
