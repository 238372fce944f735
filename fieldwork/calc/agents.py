"""What a phone is, in words: the browser and the system that its browser names.

Browsers name those they descend from as well, so the most particular comes first. Of what the field is made: RFC 9110,
section 10.1.5, from memory; which words the browsers use: common practice, no source.
"""

import re

from core.calc.translation import gettext as _

_BROWSERS = (
    ("Edg(?:e|A|iOS)?", "Edge"),
    ("OPR|Opera", "Opera"),
    ("SamsungBrowser", "Samsung Internet"),
    ("Firefox|FxiOS", "Firefox"),
    ("HeadlessChrome|Chrome|CriOS", "Chrome"),
    ("Version(?=.*Safari)", "Safari"),
)
_SYSTEMS = (
    ("iPhone", "iPhone"),
    ("iPad", "iPad"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("Macintosh", "Mac"),
    ("CrOS", "ChromeOS"),
    ("Linux", "Linux"),
)
_LONGEST = 60


def agent_in_words(agent: str) -> str:
    """Such as "Chrome 156 on Android". One without a browser we know is given as it is, cut; "Phone" for nothing."""
    browser = next((found for pattern in _BROWSERS if (found := _browser(pattern, agent))), "")
    system = next((words for pattern, words in _SYSTEMS if re.search(pattern, agent)), "")
    if not browser:
        return agent.strip()[:_LONGEST] or _("Phone")
    return _("{browser} on {system}").format(browser=browser, system=system) if system else browser


def _browser(pattern: tuple[str, str], agent: str) -> str:
    named = re.search(rf"\b(?:{pattern[0]})/(\d+)", agent)
    return f"{pattern[1]} {named[1]}" if named else ""
