"""Doses of the crew step by step, rises of lost shielding over the plan, and the rope's signs, opened by name."""

from __future__ import annotations

from halflayer.base.result import Derived
from halflayer.shielding.contour import SIGN_EVERY_M
from halflayer.shielding.opened import plain_name
from halflayer.shielding.safety_result import Contour, CrewMember, CrewStep, Lost
from halflayer.shielding.step_figure import as_figure

LOOK = "a look: a short calculation, not proved"


def step_figures(crew: tuple[CrewMember, ...]) -> list[Derived]:
    """Of every person each step's dose, and one survey with the source still out."""
    found = []
    for person in crew:
        of = plain_name(person.id)
        found += [_step(f"step_{plain_name(s.what)}_{of}", s) for s in person.steps]
        if person.still_out is not None:
            found.append(_step(f"step_still_out_{of}", person.still_out))
    return found


def _step(name: str, s: CrewStep) -> Derived:
    opened = as_figure(s)
    return Derived(
        name, opened.value, "Sv", formula=opened.formula, inputs=opened.inputs, basis=f"{s.what}; {s.basis}"
    )


def rise_figures(lost: Lost) -> list[Derived]:
    """How many times the expected reading each case brings, and what a first survey above it points to."""
    found = []
    for c in lost.cases:
        if c.factor is not None:
            sigma = None if c.factor_sigma_rel is None else c.factor * c.factor_sigma_rel
            found.append(
                Derived(
                    f"lost_{plain_name(c.name)}_times_expected",
                    c.factor,
                    "1",
                    sigma,
                    formula="estimate with it / estimate as planned, where it rises most; 1 at least",
                    source="Monte Carlo, the same random numbers for both",
                    basis=f"{c.what}; {c.factor_where}; {LOOK}"
                    + ("; within the noise of the looks" if c.within_noise else ""),
                )
            )
    for n, h in enumerate(lost.hints, start=1):
        basis = f"points to: {h.likely}; look at {h.where}; {LOOK}"
        found.append(Derived(f"first_survey_{n}_times_expected", h.factor, "1", basis=basis))
    return found


def sign_figures(contour: Contour) -> list[Derived]:
    """How many signs hang on a rope that closes."""
    if not contour.closed:
        return []
    how = f"one every {SIGN_EVERY_M:g} m of the rope at most (our choice), and at ways in"
    return [Derived("rope_signs", len(contour.signs), "1", formula=how, inputs=(contour.length_m,))]
