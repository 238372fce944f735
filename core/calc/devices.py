"""The kind of device that something was opened with: as much as the office needs to know a stranger's opening by.

No more is kept of what a browser says of itself: its whole line, or where it is, would tell people apart.
"""

from core.calc.choices import TextChoice


class DeviceKind(TextChoice):
    """With what something was opened."""

    COMPUTER = "computer", "Computer"
    PHONE = "phone", "Phone or tablet"
    PROGRAM = "program", "Program"
    UNKNOWN = "unknown", "Unknown device"


# Common practice, no source: what browsers say of themselves. Programs come first, since many name a browser as well.
_PROGRAMS = (
    "bot",
    "crawl",
    "spider",
    "preview",
    "curl",
    "wget",
    "python",
    "java/",
    "okhttp",
    "calendar",
    "ical",
    "caldav",
)
_PHONES = ("mobile", "android", "iphone", "ipad", "tablet")
_BROWSERS = ("mozilla", "opera")


def device_kind(user_agent: str) -> DeviceKind:
    """The kind of device by the line that a browser or program says of itself (RFC 9110, 10.1.5)."""
    said = user_agent.lower()
    if any(word in said for word in _PROGRAMS):
        return DeviceKind.PROGRAM
    if any(word in said for word in _PHONES):
        return DeviceKind.PHONE
    if any(word in said for word in _BROWSERS):
        return DeviceKind.COMPUTER
    return DeviceKind.UNKNOWN
