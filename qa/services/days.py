"""Days that cannot be."""

from datetime import date

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from core.calc.format import day as day_words
from qa.models import Site

FUTURE = gettext_noop("%(day)s is in the future at the site.")


def refuse_future(site: Site, name: str, day: date, instead: str) -> None:
    """Raise ValidationError beside the field `name` for a day that is still to come where the site is.

    instead: what to enter, as a sentence.
    """
    if day > site.today():
        said = " ".join((_(FUTURE), _(instead)))
        raise ValidationError({name: ValidationError(said, params={"day": day_words(day)})})
