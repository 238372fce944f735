"""What browsers send of themselves, as five of them do, in words that an office reads."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldwork.calc.agents import agent_in_words

MOZILLA = "Mozilla/5.0"
WEBKIT = "AppleWebKit/537.36 (KHTML, like Gecko)"


@pytest.mark.parametrize(
    ("agent", "words"),
    [
        (
            f"{MOZILLA} (Linux; Android 10; K) {WEBKIT} Chrome/156.0.0.0 Mobile Safari/537.36",
            "Chrome 156 on Android",
        ),
        (
            f"{MOZILLA} (X11; Linux x86_64) {WEBKIT} HeadlessChrome/156.0.0.0 Safari/537.36",
            "Chrome 156 on Linux",
        ),
        (
            f"{MOZILLA} (Linux; Android 10; K) {WEBKIT} Chrome/150.0.0.0 Mobile Safari/537.36 EdgA/150.0.0.0",
            "Edge 150 on Android",
        ),
        (
            f"{MOZILLA} (Linux; Android 10; K) {WEBKIT} SamsungBrowser/29.0 Chrome/136.0.0.0 Mobile Safari/537.36",
            "Samsung Internet 29 on Android",
        ),
        (
            f"{MOZILLA} (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
            "Version/18.5 Mobile/15E148 Safari/604.1",
            "Safari 18 on iPhone",
        ),
        (
            f"{MOZILLA} (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) "
            "CriOS/150.0 Mobile/15E148 Safari/604.1",
            "Chrome 150 on iPhone",
        ),
        (f"{MOZILLA} (Android 14; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0", "Firefox 140 on Android"),
        ("Firefox/140.0", "Firefox 140"),
        ("Phone of the south crew (invented)", "Phone of the south crew (invented)"),
        ("  ", "Phone"),
        ("", "Phone"),
    ],
)
def test_browser_and_system_are_named(agent, words):
    assert agent_in_words(agent) == words


@given(st.text(max_size=200))
def test_whatever_is_sent_there_are_a_few_words(agent):
    assert 0 < len(agent_in_words(agent)) <= 60
