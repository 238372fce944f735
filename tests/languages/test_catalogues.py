"""The catalogues of texts: what the sources say is in them and nothing else, translated whole, and compiled."""

import re
from collections import Counter, defaultdict
from io import BytesIO
from itertools import chain

import pytest
from babel.messages.mofile import write_mo
from django.conf import settings

from core.services.catalogues import (
    BESIDE,
    LANGUAGES,
    catalogue_path,
    open_texts,
    read,
    texts_of,
    texts_of_scripts,
)
from tests.test_architecture import PACKAGES

# What a text has places for, in either way of writing them; "%" itself; sizes in pairs, where words may need none.
_HOLE = re.compile(r"%\(\w+\)[a-z]|%%|\{\w+\}|\{[^{}|]*\d[^{}|]*\|[^{}|]*\}")
_TAG = re.compile(r"</?[a-z]+[^<>]*>")
# In French a space that breaks no line stands before these and within quotation marks; letters are parted by ’.
_NOT_FRENCH = re.compile(r" [:;!?»]|« |[^\W\d_]'[^\W\d_]")
APPS = [folder for folder in PACKAGES if folder not in chain(*BESIDE.values())]
CATALOGUES = [
    *((language, app, "django") for language in LANGUAGES for app in APPS),
    *((language, "core", "djangojs") for language in LANGUAGES),
]
EACH = pytest.mark.parametrize(("language", "app", "domain"), CATALOGUES)


def stored(language, app, domain):
    return read(catalogue_path(settings.BASE_DIR, app, language, domain), language)


def said(language, app, domain):
    """Text and translation of each message."""
    return [(message.id, message.string) for message in stored(language, app, domain) if message.id]


def forms(text):
    return text if isinstance(text, tuple | list) else (text,)


def keys(catalogue):
    return {(message.context, message.id) for message in catalogue if message.id}


@EACH
def test_what_the_sources_say_is_in_the_catalogue_and_nothing_else(language, app, domain):
    found = texts_of(settings.BASE_DIR, app) if domain == "django" else texts_of_scripts(settings.BASE_DIR)
    there, wanted = keys(stored(language, app, domain)), keys(found)

    assert {"missing": wanted - there, "left over": there - wanted} == {"missing": set(), "left over": set()}


@EACH
def test_everything_is_translated(language, app, domain):
    catalogue = stored(language, app, domain)

    assert [message.id for message in open_texts(catalogue)] == []
    assert [message.id for message in catalogue if message.id and message.fuzzy] == []


@EACH
def test_each_has_as_many_forms_as_its_text(language, app, domain):
    texts = said(language, app, domain)

    assert [text for text, put in texts if len(forms(text)) != len(forms(put))] == []


@EACH
def test_places_for_values_and_tags_are_those_of_the_text(language, app, domain):
    """The form for one thing may leave the number out, as English does at times."""
    texts = said(language, app, domain)

    assert [(text, put) for text, put in texts if not alike(_HOLE, forms(text), forms(put))] == []
    assert [(text, put) for text, put in texts if not alike(_TAG, forms(text), forms(put))] == []


def alike(pattern, texts, put):
    """Whether the last forms hold the same, and those before nothing else."""
    wanted, *found = (Counter(map(_figures, pattern.findall(form))) for form in (texts[-1], *put))
    return found[-1] == wanted and all(form <= wanted for form in found)


def _figures(place):
    """A place for a value as it is; of a pair of units the figures alone, whose marks are the language's."""
    return re.sub(r"[^\d|]", "", place) if "|" in place else place


@EACH
def test_the_server_reads_what_is_stored(language, app, domain):
    path, made = catalogue_path(settings.BASE_DIR, app, language, domain), BytesIO()
    write_mo(made, stored(language, app, domain))

    # Said without the contents: to lay two files of that size side by side takes a quarter of an hour.
    is_as_stored = not path.exists() or path.with_suffix(".mo").read_bytes() == made.getvalue()
    assert is_as_stored, f"{path} is not what its .mo holds: make catalogues"


@pytest.mark.parametrize(
    ("app", "domain"), [(app, domain) for tongue, app, domain in CATALOGUES if tongue == "fr"]
)
def test_french_is_set_as_french_is(app, domain):
    texts = [form for _, put in said("fr", app, domain) for form in forms(put)]

    assert [text for text in texts if _NOT_FRENCH.search(_TAG.sub("", text))] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_one_text_is_said_one_way_in_every_app(language):
    """All are looked up in one catalogue: of two translations one would be seen nowhere. Else give it a context."""
    ways = defaultdict(lambda: defaultdict(set))
    for app in APPS:
        for message in stored(language, app, "django"):
            if message.id and all(forms(message.string)):
                ways[message.context, forms(message.id)[0]][forms(message.string)].add(app)

    several = {
        text: {put: sorted(apps) for put, apps in found.items()}
        for text, found in ways.items()
        if len(found) > 1
    }
    assert several == {}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("{count} of %(total)s, 5 %%", ["%%", "%(total)s", "{count}"]),
        ("at least {100 mm|4 in} thick", ["{100 mm|4 in}"]),
        ('send {"name": "Yard"}', []),
    ],
)
def test_a_place_for_a_value_is_known(text, found):
    assert sorted(_HOLE.findall(text)) == found
