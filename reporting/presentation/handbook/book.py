"""The handbook: one text for the page and the paper, whose figures come from the code that works with them."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache

from core.calc.format import day
from core.calc.glossary import terms_by_word
from core.calc.term import Term
from core.calc.translation import gettext as _
from core.calc.translation import gettext_noop, language, pgettext
from core.calc.units import UnitSystem
from qa.presentation.drawing.section import draw_section
from qa.presentation.drawing.wording import describe
from reporting.calc.handbook_example import build_up, example
from reporting.presentation.decline_svg import decline_svg, decline_words
from reporting.presentation.handbook import advice, building, figures, people, sharing, testing, work
from reporting.presentation.handbook.blocks import Block, Chapter
from reporting.presentation.pdf import Paper
from reporting.presentation.words import worded

TITLE = gettext_noop("Handbook")
WORDS_KEY, WORDS_TITLE = "words", gettext_noop("Words and figures")
NUMBERS_TITLE = gettext_noop("Numbers to have at hand")
NUMBERS = (  # to be written in by hand, on paper
    gettext_noop("Emergency"),
    gettext_noop("Office"),
    gettext_noop("Utilities, before digging"),
    gettext_noop("Authority for stormwater"),
    gettext_noop("Waste and wash water"),
    gettext_noop("Engineer in charge"),
)
USUAL_CURRENCY = "EUR"  # for who acts for no firm


@dataclass(frozen=True, slots=True)
class Handbook:
    """All of it in a reader's units. drawings: SVG text by the name of its block; words: the glossary."""

    units: str
    chapters: tuple[Chapter, ...]
    drawings: Mapping[str, str]
    words: tuple[Term, ...]

    @property
    def words_number(self) -> int:
        """Of the chapter that holds the glossary."""
        return len(self.chapters) + 1

    @property
    def drawn(self) -> tuple[Chapter, ...]:
        """The chapters with their drawings in them, for the page."""
        return tuple(
            replace(chapter, blocks=tuple(map(self._drawn, chapter.blocks))) for chapter in self.chapters
        )

    def _drawn(self, block: Block) -> Block:
        return replace(block, svg=self.drawings[block.key]) if block.is_picture else block


def handbook(units: str, currency: str, *, for_paper: bool) -> Handbook:
    """The handbook in the reader's language. units, currency: its own. for_paper: drawings in plain colours."""
    return written(language(), units, currency, for_paper=for_paper)


@lru_cache(maxsize=128)  # the languages, two systems of units, and the currencies of the firms of a server
def written(_tongue: str, units: str, currency: str, *, for_paper: bool) -> Handbook:
    """The same, kept for each language: the reader's is the one it is written in."""
    system, seen = UnitSystem(units), example()
    chapters = (
        people.aim(),
        people.people(),
        people.first_hour(),
        building.building(),
        testing.testing(system),
        figures.meaning(seen, system),
        figures.forecast(seen, system),
        advice.advice(seen, system, currency),
        work.cleaning(system),
        work.days(),
        work.signal(),
        sharing.owners(),
        sharing.data(),
        sharing.safety(),
    )
    drawings = {
        "section": draw_section(build_up(), system=system, css_variables=not for_paper, id_prefix="handbook"),
        "decline": decline_svg(seen.record, units, for_paper=for_paper),
    }
    return Handbook(units, chapters, drawings, tuple(terms_by_word()))


def handbook_paper(book: Handbook, firm: str, made_on: date) -> Paper:
    """The handbook as a paper. firm: for whom it is printed, empty for who acts for none."""
    system = UnitSystem(book.units)
    words = {
        "title": _(TITLE),
        "firm": firm,
        "units": book.units,
        "on": day(made_on),
        "made": [made_on.year, made_on.month, made_on.day],
        "chapters": worded(book.chapters, book.units),
        "words_title": _(WORDS_TITLE),
        "words": worded(book.words, book.units),
        "alts": {
            "section": describe(build_up(), system),
            "decline": decline_words(example().record, book.units),
        },
        "numbers_title": _(NUMBERS_TITLE),
        "numbers": list(map(_, NUMBERS)),
        "said": _said_on_paper(),
    }
    return Paper("handbook.typ", words, book.drawings)


def _said_on_paper() -> dict[str, str | list[str]]:
    """What the paper says beside the blocks."""
    return {
        "about": _(
            "To be read once, then kept where the work is. Its figures are those of the edition that printed it."
        ),
        "caution": _("Caution."),
        "computed": _("Worked out:"),
        "who": [_("Who"), _("Name"), pgettext("of a telephone", "Number")],
    }
