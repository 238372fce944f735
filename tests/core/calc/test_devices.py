"""The kind of device by what browsers and programs say of themselves."""

import pytest

from core.calc.devices import DeviceKind, device_kind

SAID = [
    ("Mozilla/5.0 (X11; Linux x86_64; rv:128.0) Gecko/20100101 Firefox/128.0", DeviceKind.COMPUTER),
    (
        "Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 Chrome/126.0 Mobile Safari/537.36",
        DeviceKind.PHONE,
    ),
    ("Mozilla/5.0 (iPad; CPU OS 17_5 like Mac OS X) AppleWebKit/605.1.15", DeviceKind.PHONE),
    ("Mozilla/5.0 (compatible; SomeBot/2.1)", DeviceKind.PROGRAM),
    ("curl/8.5.0", DeviceKind.PROGRAM),
    ("SomeCalendar/1.0 (Android)", DeviceKind.PROGRAM),
    ("", DeviceKind.UNKNOWN),
    ("\xff\x00" * 500, DeviceKind.UNKNOWN),
]


@pytest.mark.parametrize(("said", "kind"), SAID, ids=lambda value: str(value)[:20])
def test_the_kind_is_told_by_the_line_of_the_device(said, kind):
    assert device_kind(said) is kind
