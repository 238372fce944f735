"""The languages that pages, mails and documents are written in."""

from core.calc.choices import TextChoice
from core.calc.translation import SOURCE_LANGUAGE


class Language(TextChoice):
    """A language by its code of BCP 47, in small letters as Django writes it, and by its own name."""

    ENGLISH = SOURCE_LANGUAGE, "English"
    FRENCH = "fr", "Français"
