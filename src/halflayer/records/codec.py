"""A plan to plain JSON data and back without loss, and the fingerprints that tell results apart."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from typing import Any

from halflayer.base.serial import from_json, to_json
from halflayer.plan import Plan, WeldPlan
from halflayer.scene.solids import Scene


def weld_to_json(weld: WeldPlan) -> dict[str, Any]:
    """One weld's plan as plain data."""
    # The scene has its own form: solids of several kinds in one list, each named by its shape.
    data: dict[str, Any] = to_json(replace(weld, scene=None))
    data["scene"] = weld.scene.to_json() if weld.scene else None
    return data


def weld_from_json(data: dict[str, Any]) -> WeldPlan:
    """The inverse of `weld_to_json`."""
    scene = data["scene"]
    weld = from_json(WeldPlan, data | {"scene": None})
    return replace(weld, scene=Scene.from_json(scene)) if scene else weld


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """A whole plan as plain data, without loss (the file `plan.json` is `plan_json`, made for reading)."""
    return {
        "order": plan.order,
        "made_at": plan.made_at,
        "version": plan.version,
        "content": plan.content,
        "welds": [weld_to_json(w) for w in plan.welds],
    }


def plan_from_json(data: dict[str, Any]) -> Plan:
    """The inverse of `plan_to_json`."""
    return Plan(
        order=data["order"],
        made_at=data["made_at"],
        version=data["version"],
        content=data["content"],
        welds=tuple(weld_from_json(w) for w in data["welds"]),
    )


def fingerprint(data: Any) -> str:
    """sha256 over plain data, the same for the same data whatever the order of its keys."""
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
