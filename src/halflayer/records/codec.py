"""A plan to plain JSON data and back without loss, and the fingerprints that tell results apart."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from halflayer.base.serial import from_json, to_json
from halflayer.plan import Plan, WeldPlan
from halflayer.scene.solids import Scene

FLOAT = "float"  # the one key of what stands for a number that is not finite


def weld_to_json(weld: WeldPlan) -> dict[str, Any]:
    """One weld's plan as plain data."""
    # The scene has its own form: solids of several kinds in one list, each named by its shape.
    data: dict[str, Any] = to_json(replace(weld, scene=None))
    data["scene"] = weld.scene.to_json() if weld.scene else None
    packed: dict[str, Any] = pack(data)
    return packed


def weld_from_json(data: dict[str, Any]) -> WeldPlan:
    """The inverse of `weld_to_json`."""
    data = unpack(data)
    scene = data["scene"]
    weld = from_json(WeldPlan, data | {"scene": None})
    return replace(weld, scene=Scene.from_json(scene)) if scene else weld


def head_to_json(plan: Plan) -> dict[str, Any]:
    """What a plan says beside its order and its welds, as plain data."""
    data: dict[str, Any] = to_json(replace(plan, order={}, welds=()))
    head: dict[str, Any] = pack({k: v for k, v in data.items() if k not in ("order", "welds")})
    return head


def plan_from_parts(head: dict[str, Any], order: dict[str, Any], welds: Iterable[dict[str, Any]]) -> Plan:
    """A plan from its order, its head and its welds as plain data."""
    plan = from_json(Plan, unpack(head) | {"order": {}, "welds": []})
    return replace(plan, order=order, welds=tuple(weld_from_json(w) for w in welds))


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """A whole plan as plain data, without loss (the file `plan.json` is `plan_json`, made for reading)."""
    return head_to_json(plan) | {"order": plan.order, "welds": [weld_to_json(w) for w in plan.welds]}


def plan_from_json(data: dict[str, Any]) -> Plan:
    """The inverse of `plan_to_json`."""
    head = {k: v for k, v in data.items() if k not in ("order", "welds")}
    return plan_from_parts(head, data["order"], data["welds"])


def pack(value: Any) -> Any:
    """Plain data without numbers that JSON does not have: `{"float": "inf"}` stands for an error without bound."""
    if isinstance(value, dict):
        return {k: pack(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [pack(v) for v in value]
    if isinstance(value, float) and not math.isfinite(value):
        return {FLOAT: repr(value)}
    return value


def unpack(value: Any) -> Any:
    """The inverse of `pack`."""
    if isinstance(value, dict):
        if set(value) == {FLOAT}:
            return float(value[FLOAT])
        return {k: unpack(v) for k, v in value.items()}
    return [unpack(v) for v in value] if isinstance(value, list) else value


def fingerprint(data: Any) -> str:
    """sha256 over plain data, the same for the same data whatever the order of its keys."""
    text = json.dumps(data, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()
