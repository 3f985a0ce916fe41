"""What a page of a PDF holds where: pieces of text with their places, lines across it."""

from __future__ import annotations

from typing import Any

Piece = tuple[str, float, float, float]


def on_page(page: Any) -> tuple[list[Piece], list[float]]:
    """Pieces of text with left end, base line, size of type; heights of lines across the page [pt from its foot]."""
    words: list[Piece] = []
    rules: list[float] = []
    begun: list[tuple[float, float]] = []

    def at(m: Any, x: float, y: float) -> tuple[float, float]:
        return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]

    def text(piece: str, cm: Any, tm: Any, _font: Any, size: float) -> None:
        if piece.strip():
            words.append((piece, *at(cm, tm[4], tm[5]), abs(size * tm[3] * cm[3])))

    def stroke(op: bytes, args: Any, cm: Any, _tm: Any) -> None:
        if op == b"m":
            begun[:] = [at(cm, float(args[0]), float(args[1]))]
        elif op == b"l" and begun:
            x, y = at(cm, float(args[0]), float(args[1]))
            if abs(y - begun[0][1]) < 0.1 and abs(x - begun[0][0]) > 400.0:
                rules.append(y)

    page.extract_text(visitor_text=text, visitor_operand_before=stroke)
    return words, rules
