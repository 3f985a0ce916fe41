"""What can be wrong with the gear of a kit: for a head or film that the order does not have, an IQI of no set."""

from __future__ import annotations

from typing import Any

from halflayer.order.report import Report


def gear_problems(items: list[tuple[int, Any]], report: Report) -> None:
    """Add to the report each head and film of gear that is none of the order's, and what a kind lacks or has not."""
    # A field that one kind alone has, as in the order and as in the model.
    own = {"carries": ("ties", "carries_kg"), "spread": ("strut", "spread")}
    heads, films = _ids(report, "heads"), _ids(report, "detectors") + _ids(report, "digital")
    for n, gear in items:
        if gear.kind == "IQI" and gear.iqi_set is None:
            text = "an IQI needs the set that it is of, to be counted"
            report.add(("kit", "gear", n, "iqi_set"), text, accepted="such as 10 FE EN")
        for key, (kind, name) in own.items():
            if gear.kind != kind and getattr(gear, name) is not None:
                report.add(("kit", "gear", n, key), f"only of {kind}", accepted=f"no {key} of a {gear.kind}")
        for key, wanted_ids, known in (("heads", gear.heads, heads), ("detectors", gear.detectors, films)):
            for k, wanted in enumerate(wanted_ids):
                if wanted not in known:
                    text = f"no such id among the order's {key}"
                    report.unknown(("kit", "gear", n, key, k), text, wanted, known)


def _ids(report: Report, name: str) -> list[str]:
    raw = report.raw((name,))
    return [str(x.get("id")) for x in raw if isinstance(x, dict)] if isinstance(raw, list) else []
