"""QR codes for a terminal."""

import io

import segno


def qr_text(text: str) -> str:
    """The code in half-block characters, for a dark or a light terminal."""
    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out=out, compact=True, border=2)
    return out.getvalue()
