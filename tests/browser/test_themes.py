"""By day and by night: the device's colours, those a person chose, and those of a chart, which a script draws."""

import pytest

from qa.models import Surface
from tests.browser.conftest import settle, until
from tests.factories import LayerFactory

DAY, NIGHT = "rgb(250, 251, 249)", "rgb(20, 27, 26)"  # the sheet of tokens.css


@pytest.fixture
def page_with_a_chart(firm, open_page):
    """The water of a surface, whose chart of where the rain goes is drawn."""
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=300)
    Surface.objects.filter(pk=firm.surface.pk).update(soil_rate_mm_h=10)

    def opened(scheme):
        page = open_page(firm.technician, f"/surfaces/{firm.surface.pk}/water/", color_scheme=scheme)
        page.locator("#fate .main-svg").first.wait_for()
        return page

    return opened


def sheet_and_chart(page):
    settle(page)
    page.locator("#fate .main-svg").first.wait_for()
    return page.evaluate(
        """[document.querySelector("main"), document.querySelector("#fate .main-svg")].map(
            (element) => getComputedStyle(element).backgroundColor
        )"""
    )


@pytest.mark.parametrize(("scheme", "shown"), [("light", DAY), ("dark", NIGHT)])
def test_page_and_chart_follow_the_device(page_with_a_chart, scheme, shown):
    page = page_with_a_chart(scheme)

    assert sheet_and_chart(page) == [shown, shown]


@pytest.mark.parametrize(
    ("scheme", "button", "shown"), [("light", "Dark colours", NIGHT), ("dark", "Light colours", DAY)]
)
def test_what_a_person_chose_holds_against_the_device_and_on_the_next_page(
    page_with_a_chart, scheme, button, shown
):
    page = page_with_a_chart(scheme)

    page.locator("footer").get_by_role("button", name=button).click()
    until(
        page,
        "shown => getComputedStyle(document.querySelector('#fate .main-svg')).backgroundColor === shown",
        arg=shown,
    )
    page.reload()

    assert sheet_and_chart(page) == [shown, shown]


def test_paper_is_light_whatever_the_screen_shows(page_with_a_chart):
    page = page_with_a_chart("dark")

    page.emulate_media(media="print", color_scheme="dark")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    until(
        page,
        "shown => getComputedStyle(document.querySelector('#fate .main-svg')).backgroundColor === shown",
        arg=DAY,
    )

    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.documentElement).colorScheme") == "light"
