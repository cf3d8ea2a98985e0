"""The mark of the site: three layers, thick to thin, in a cavity. Drawn for Liningbook; it holds no text."""

from __future__ import annotations

from urllib.parse import quote


def icon_svg() -> str:
    """The mark as a picture of 512 x 512 whose middle four fifths hold all of it, so that a device may round it off."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 512 512" width="512" height="512">'
        '<path d="M0 0H512V512H0Z" fill="#0b4650"/>'
        '<path d="M104 132H408L378 392H134Z" fill="#ffffff"/>'
        '<path d="M127 266H385L371.6 382H140.4Z" fill="#16202a"/>'
        '<path d="M117.7 186H394.3L387.4 246H124.6Z" fill="#4f8580"/>'
        '<path d="M113.6 150H398.4L396.6 166H115.4Z" fill="#c2934a"/></svg>'
    )


def icon_address() -> str:
    """The mark as an address that holds the picture itself."""
    return "data:image/svg+xml," + quote(icon_svg())
