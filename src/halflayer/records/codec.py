"""A plan to plain JSON data and back without loss, and the fingerprints that tell results apart."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
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


def head_to_json(plan: Plan) -> dict[str, Any]:
    """What a plan says beside its order and its welds, as plain data."""
    data: dict[str, Any] = to_json(replace(plan, order={}, welds=()))
    return {k: v for k, v in data.items() if k not in ("order", "welds")}


def plan_from_parts(head: dict[str, Any], order: dict[str, Any], welds: Iterable[dict[str, Any]]) -> Plan:
    """A plan from its order, its head and its welds as plain data."""
    plan = from_json(Plan, head | {"order": {}, "welds": []})
    return replace(plan, order=order, welds=tuple(weld_from_json(w) for w in welds))


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """A whole plan as plain data, without loss (the file `plan.json` is `plan_json`, made for reading)."""
    return head_to_json(plan) | {"order": plan.order, "welds": [weld_to_json(w) for w in plan.welds]}


def plan_from_json(data: dict[str, Any]) -> Plan:
    """The inverse of `plan_to_json`."""
    head = {k: v for k, v in data.items() if k not in ("order", "welds")}
    return plan_from_parts(head, data["order"], data["welds"])


def fingerprint(data: Any) -> str:
    """sha256 over plain data, the same for the same data whatever the order of its keys."""
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
