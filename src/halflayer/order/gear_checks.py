"""What can be wrong with the gear of a kit: it is for a head or a film that the order does not have."""

from __future__ import annotations

from typing import Any

from halflayer.order.report import Report


def gear_problems(items: list[tuple[int, Any]], report: Report) -> None:
    """Add to the report each head and each film of a piece of gear that is none of the order's."""
    heads, films = _ids(report, "heads"), _ids(report, "detectors") + _ids(report, "digital")
    for n, gear in items:
        for key, wanted_ids, known in (("heads", gear.heads, heads), ("detectors", gear.detectors, films)):
            for k, wanted in enumerate(wanted_ids):
                if wanted not in known:
                    text = f"no such id among the order's {key}"
                    report.unknown(("kit", "gear", n, key, k), text, wanted, known)


def _ids(report: Report, name: str) -> list[str]:
    raw = report.raw((name,))
    return [str(x.get("id")) for x in raw if isinstance(x, dict)] if isinstance(raw, list) else []
