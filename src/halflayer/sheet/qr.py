"""The record's QR code: order, revision, weld and content hash as plain text."""

from __future__ import annotations

import io


def record_text(order: str, revision: str, weld: str, content: str) -> str:
    """What the code says, one item a line, readable without this program."""
    return f"HALFLAYER\norder {order}\nrev {revision}\nweld {weld}\nsha256 {content}"


def record_qr(order: str, revision: str, weld: str, content: str) -> str:
    """The code as SVG (error level M), one user unit a module; one mask for all, which saves trying eight."""
    import segno

    code = segno.make(record_text(order, revision, weld, content), error="m", micro=False, mask=3)
    out = io.BytesIO()
    code.save(
        out, kind="svg", xmldecl=False, svgns=True, border=2, dark="#1C2126", light="#FFFFFF", omitsize=True
    )
    return out.getvalue().decode().strip()
