"""Profiles of limits fill what the order leaves out and never what it states."""

from __future__ import annotations

import pytest

from halflayer.order import profiles
from order_cases import order


def test_every_profile_can_be_read_into_a_limit() -> None:
    for name in profiles.names():
        limit = order(
            ("  barrier: {profile: uk barrier}\n", f"  barrier: {{profile: {name}}}\n")
        ).limits.barrier
        values = limit.model_dump(exclude={"profile", "basis"})
        assert len([v for v in values.values() if v is not None]) == 1
        assert limit.profile == name
        assert limit.basis


@pytest.mark.parametrize(
    ("profile", "field", "value"),
    [
        # HSE consent condition for industrial radiography: 7.5 uSv/h
        ("uk barrier", "rate_Sv_s", 7.5e-6 / 3600),
        # 10 CFR 20.1301(a)(2): 0.002 rem in any one hour
        ("us barrier", "in_any_hour_Sv", 2e-5),
        # 10 CFR 20.1201(a): 5 rem
        ("us worker", "per_year_Sv", 0.05),
        # Directive 2013/59/Euratom, Article 9: 20 mSv
        ("eu worker", "per_year_Sv", 0.02),
    ],
)
def test_published_figures(profile: str, field: str, value: float) -> None:
    limit = order(
        ("  barrier: {profile: uk barrier}\n", f"  barrier: {{profile: {profile}}}\n")
    ).limits.barrier
    assert getattr(limit, field) == pytest.approx(value, rel=1e-12)


def test_stated_values_and_basis_stand() -> None:
    limit = order(
        (
            "  barrier: {profile: uk barrier}\n",
            "  barrier: {profile: uk barrier, rate: 2 uSv/h, basis: mine}\n",
        )
    ).limits.barrier
    assert limit.rate_Sv_s == pytest.approx(2e-6 / 3600)
    assert limit.basis == "mine"


def test_a_value_beside_the_profile_is_named_in_the_basis() -> None:
    limit = order(
        ("  barrier: {profile: uk barrier}\n", "  barrier: {profile: uk barrier, in_any_hour: 1 uSv}\n")
    ).limits.barrier
    assert limit.rate_Sv_s == pytest.approx(7.5e-6 / 3600)
    assert limit.in_any_hour_Sv == 1e-6
    assert limit.basis.endswith("; in any hour as stated in the order")


def test_figures_that_were_not_read_say_so() -> None:
    limit = order(("profile: uk public", "profile: eu public")).places[0].limit
    assert limit is not None
    assert limit.basis.endswith("(from memory, unverified)")


def test_what_was_read_in_place_of_the_text_that_is_named_is_told() -> None:
    """Table and reference say of the British rows that the text of 1999 was read, of the consent an article."""
    basis = {p: profiles.filled({"profile": p})["basis"] for p in profiles.names()}  # type: ignore[index]
    assert basis["uk worker"].endswith(
        "Schedule 3 (the text itself not read, but: 1999 text with the same figure)"
    )
    assert basis["uk barrier"].endswith(
        "(the text itself not read, but: article quoting the consent, section 8)"
    )
    assert basis["us public"].endswith(
        "(the text itself not read, but: a state adoption with the same figure)"
    )
    assert basis["eu worker"] == "Directive 2013/59/Euratom, Article 9"  # that text itself was read
    assert basis["weekly barrier"].endswith("(derived)")
