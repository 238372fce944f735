"""A word that is not plain explains itself on the page where it stands as a heading or a label."""

import re
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from django.urls import reverse

from core.calc.glossary import TERMS

WORDED = ("reporting:", "maintenance:", "qa:", "planning:")  # the apps whose pages have such words
TEMPLATES = Path(__file__).parents[1] / "templates"
LABELS = {"th", "dt", "h1", "h2", "h3", "legend"}

# What stands there -> the words of the glossary of which one has to be within reach.
WORDS = {
    r"\brates?\b": {"rate", "rate_after", "acceptance", "soil_rate"},
    r"\blimit\b": {
        "limit",
        "chance_below",
        "chance_lasts",
        "cost_within",
        "reached_by",
        "years_until",
        "worth_within",
        "frontier",
    },
    r"\bchance\b": {"chance_below", "chance_lasts"},
    r"80 % range": {"range_80"},
    r"\bporosity\b|\bvoids\b": {"porosity"},
    r"\bd(10|15|50|60|85)\b": {"size_d"},
    r"\bcu\b": {"uniformity"},
    r"\bpassing\b": {"percent_passing"},
    r"\bgain\b": {"gain"},
    r"months below": {"months_below"},
    r"\bprogramme\b": {"programme"},
    r"\bin all, \d+ years": {"in_all"},
    r"waiting costs": {"waiting"},
    r"hold point": {"hold_point"},
    r"\bdeviations?\b": {"deviation"},
    r"run-on": {"run_on"},
    r"\boverflow\b": {"overflow"},
    r"\bacceptance\b": {"acceptance"},
    r"(?<!snow )\bstorage\b": {"storage"},
    r"\bband\b": {"band"},
    r"log score": {"log_score"},
    r"told by records": {"told_by_records"},
    r"\bconductivity\b": {"conductivity"},
    r"crew hours": {"crew_hours"},
    r"\bscreening\b": {"screening"},
    r"\bcbr\b": {"cbr"},
    r"\brandom seed\b": {"random_seed"},
    r"within all ten years|cost a year\b": {"cost_a_year", "cost_within"},
}
USED = re.compile(r"{% (?:term|words) ([^%]*)%}")
PART = re.compile(r"""{% (?:include|extends) ["']([^"']+)["']""")


class Labels(HTMLParser):
    """The text of headings and labels, without the meanings that open behind their words."""

    def __init__(self):
        super().__init__()
        self.within, self.in_meaning, self.found = "", False, []

    def handle_starttag(self, tag, attributes):
        given = dict(attributes).get("class") or ""
        self.in_meaning = self.in_meaning or "term__meaning" in given
        if not self.within and (tag in LABELS or "figure__label" in given):
            self.within = tag
            self.found.append("")

    def handle_endtag(self, tag):
        if tag == "div":
            self.in_meaning = False
        if tag == self.within:
            self.within = ""

    def handle_data(self, data):
        if self.within and not self.in_meaning:
            self.found[-1] += data


def labels_of(markup):
    reader = Labels()
    reader.feed(markup)
    return [" ".join(label.split()) for label in reader.found]


def plain(template):
    """A template without what fills it in."""
    return re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}", " ", template)


def wanted_by(labels):
    """Each word found in a label, with the words of the glossary of which one explains it."""
    return {
        (label, frozenset(keys))
        for label in labels
        for pattern, keys in WORDS.items()
        if re.search(pattern, label.lower())
    }


@cache
def sources():
    return {
        path.relative_to(TEMPLATES).as_posix(): path.read_text("utf-8") for path in TEMPLATES.rglob("*.html")
    }


def explains(template):
    return {key for used in USED.findall(template) for key in re.findall(r'"([a-z0-9_]+)"', used)}


def is_explained(name, keys, seen=frozenset()):
    """Whether a template explains one of these, or every template that shows it does."""
    if keys & explains(sources()[name]):
        return True
    above = {
        other
        for other, text in sources().items()
        if name in PART.findall(text) and other not in {*seen, name}
    }
    return bool(above) and all(is_explained(other, keys, {*seen, name}) for other in above)


def unexplained(name):
    return [
        label for label, keys in wanted_by(labels_of(plain(sources()[name]))) if not is_explained(name, keys)
    ]


@pytest.mark.parametrize("name", sorted(sources()))
def test_what_a_template_heads_or_labels_is_explained_where_it_is_shown(name):
    assert unexplained(name) == []


def test_every_word_that_is_asked_for_is_in_the_glossary():
    assert {key for keys in WORDS.values() for key in keys} <= set(TERMS)


def words_missing(page):
    """What a page heads or labels without its explanation; `tests/test_permissions.py` asks it of those it opens."""
    opens = set(re.findall(rf'href="{reverse("glossary")}#([a-z0-9_]+)"|<dt id="([a-z0-9_]+)"', page))
    opens = {key for found in opens for key in found}
    return [label for label, keys in wanted_by(labels_of(page)) if not keys & opens]


def test_a_label_without_its_word_is_found():
    bare = (
        '<dl><dt>Rate now</dt></dl><p>The limit</p><span class="figure__label">Drain time</span><h2>Gain</h2>'
    )
    explained = bare + f'<a href="{reverse("glossary")}#rate"></a>'

    assert sorted(words_missing(bare)) == ["Gain", "Rate now"]
    assert words_missing(explained) == ["Gain"]
