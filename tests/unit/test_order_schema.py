"""The page on the order's format is made from the models and is current."""

from __future__ import annotations

from pathlib import Path

from halflayer.order.describe import order_schema_markdown
from halflayer.order.models import Order
from halflayer.order.report import inner_model

PAGE = Path(__file__).parent.parent.parent / "docs" / "formats" / "order.md"


def test_the_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == order_schema_markdown(), (
        "write it again: python -m halflayer.order.describe > docs/formats/order.md"
    )


def test_every_field_stands_in_it() -> None:
    page = order_schema_markdown()

    def visit(model: type) -> None:
        for name, field in model.model_fields.items():  # type: ignore[attr-defined]
            assert f"| `{field.alias or name}` |" in page
            inner = inner_model(field.annotation)
            if inner is not None:
                visit(inner)

    visit(Order)


def test_units_and_defaults_are_shown() -> None:
    page = order_schema_markdown()
    assert "| `wall` | length |" in page
    assert "| `capsule_wall` | length | 1 mm |" in page
    assert "| `tolerance` | fraction | 5 % |" in page
    assert "| `class` | A, B | none | Test class of ISO 17636, needed with it" in page
