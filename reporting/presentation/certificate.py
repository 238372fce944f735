"""The certificate of a test round as text for its paper."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from reporting.calc.certificate import CertificateSnapshot, ResultPart
from reporting.calc.parts import AskedRate
from reporting.calc.values import BoundedRate
from reporting.presentation.handover import NO_RATE_ASKED
from reporting.presentation.pdf import Paper
from reporting.presentation.sources import unverified_words
from reporting.presentation.words import rate_words, worded


def certificate_words(snapshot: CertificateSnapshot, units: str) -> dict[str, Any]:
    """What the certificate says, in the reader's units, as its paper takes it."""
    words: dict[str, Any] = worded(snapshot, units)
    return words | {
        "units": units,
        **unverified_words(snapshot),
        "tone": _tone(snapshot.result),
        "mean": _rate(snapshot, snapshot.mean, units),
        "lowest": _rate(snapshot, snapshot.lowest, units),
        "limit": _asked(snapshot.limit, units),
        "asked": _asked(snapshot.asked, units)
        if snapshot.asked
        else {"said": _(NO_RATE_ASKED), "source": ""},
        "set_aside": _set_aside(snapshot.set_aside),
    }


def certificate_paper(snapshot: CertificateSnapshot, words: Mapping[str, Any]) -> Paper:
    """The certificate as a paper, in the units of its words."""
    made = snapshot.made_on
    return Paper("certificate.typ", dict(words) | {"made": [made.year, made.month, made.day]})


def _tone(result: ResultPart) -> str:
    if result.reached is None:
        return "partly"
    return "passed" if result.reached else "failed"


def _rate(snapshot: CertificateSnapshot, rate: BoundedRate | None, units: str) -> str:
    """A rate with the method it was measured by."""
    if rate is None:
        return _("none: no test with a rate counts")
    return _("{rate} by {method}").format(rate=rate_words(rate, units), method=snapshot.by_method)


def _asked(asked: AskedRate, units: str) -> dict[str, str]:
    """The rate with why it is asked, and what the reason has not named of its source."""
    return {"said": worded(asked.reason or BoundedRate(asked.rate_mm_h), units), "source": asked.source}


def _set_aside(tests: int) -> str:
    if not tests:
        return ""
    return ngettext(
        "{count} test of this round was replaced or set aside and not counted.",
        "{count} tests of this round were replaced or set aside and not counted.",
        tests,
    ).format(count=tests)
