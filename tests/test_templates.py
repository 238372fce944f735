"""Every template can be read by the engine, so that no page breaks before its view is asked."""

from pathlib import Path

from django.template import TemplateSyntaxError
from django.template.loader import get_template

TEMPLATES = Path(__file__).parents[1] / "templates"


def unreadable(name):
    try:
        get_template(name)
    except TemplateSyntaxError as error:
        return f"{name}: {error}"
    return ""


def test_every_template_can_be_read():
    names = [path.relative_to(TEMPLATES).as_posix() for path in sorted(TEMPLATES.rglob("*.html"))]

    assert len(names) > 100
    assert [problem for problem in map(unreadable, names) if problem] == []
