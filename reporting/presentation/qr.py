"""Addresses as codes for a phone's camera."""

from io import BytesIO

import segno


def qr_svg(address: str) -> str:
    """A QR code as SVG text (ISO/IEC 18004), with the quiet zone around it, that stands some dirt: level M."""
    held = BytesIO()
    segno.make_qr(address, error="m").save(
        held, kind="svg", xmldecl=False, border=4, dark="#000", light="#fff"
    )
    return held.getvalue().decode()
