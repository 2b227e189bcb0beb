"""Draws a text as a QR code, as SVG; nothing is fetched for it."""

from django.utils.safestring import SafeString, mark_safe
from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

QUIET = 4  # modules of white around the code, as its standard asks


def qr_svg(text: str, says: str) -> SafeString:
    """Return the drawing; ``says`` is read out instead of it."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    count = code.getModuleCount()
    dots = "".join(
        f"M{x + QUIET} {y + QUIET}h1v1h-1z"
        for y in range(count)
        for x in range(count)
        if code.isDark(y, x)
    )
    side = count + 2 * QUIET
    label = "".join(each for each in says if each.isalnum() or each in " ,.")
    return mark_safe(  # noqa: S308 - made of numbers and letters only
        f'<svg class="qr" viewBox="0 0 {side} {side}" width="240" height="240" '
        f'role="img" aria-label="{label}" shape-rendering="crispEdges">'
        f'<path fill="#fff" d="M0 0h{side}v{side}H0z"/><path fill="#000" d="{dots}"/>'
        "</svg>"
    )
