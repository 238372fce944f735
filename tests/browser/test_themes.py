"""By day and by night: the device's colours, those a person chose, and those of a chart, which a script draws."""

import pytest

from qa.models import Surface
from tests.browser.conftest import DESK, settle, until
from tests.factories import LayerFactory

DAY, NIGHT = "rgb(250, 251, 249)", "rgb(20, 27, 26)"  # the sheet of tokens.css


@pytest.fixture
def page_with_a_chart(firm, open_page):
    """The water of a surface, whose chart of where the rain goes is drawn."""
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=300)
    Surface.objects.filter(pk=firm.surface.pk).update(soil_rate_mm_h=10)

    def opened(scheme):
        page = open_page(
            firm.technician, f"/surfaces/{firm.surface.pk}/water/", color_scheme=scheme, size=DESK
        )
        see_chart(page)
        return page

    return opened


def see_chart(page):
    """On a wide screen it answers to the pointer once it is seen."""
    settle(page)
    page.locator("[data-chart='fate-data']").scroll_into_view_if_needed()
    page.locator("#fate .main-svg").first.wait_for()


def sheet_and_chart(page):
    see_chart(page)
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


def test_paper_is_light_and_shows_the_first_picture_whatever_the_screen_shows(page_with_a_chart):
    page = page_with_a_chart("dark")

    page.emulate_media(media="print", color_scheme="dark")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")

    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.evaluate("getComputedStyle(document.documentElement).colorScheme") == "light"
    assert page.locator("[data-chart='fate-data'] [data-chart-still] svg").is_visible()
    assert not page.locator("#fate").is_visible()
    assert page.evaluate("getComputedStyle(document.querySelector('.chart__frame')).backgroundColor") == DAY


def test_a_narrow_screen_asks_for_the_drawing_library_only_when_a_chart_is_pressed(firm, open_page):
    LayerFactory(surface=firm.surface, kind="base", thickness_mm=300)
    Surface.objects.filter(pk=firm.surface.pk).update(soil_rate_mm_h=10)
    path = f"/surfaces/{firm.surface.pk}/water/"
    unscripted = open_page(firm.technician, path, java_script_enabled=False)
    assert unscripted.locator("[data-chart='fate-data'] svg").is_visible()
    assert unscripted.get_by_role("button", name="Read values from the chart").count() == 0

    page, asked = open_page(firm.technician, path), []
    page.on("request", lambda request: asked.append(request.url) if "plotly" in request.url else None)
    page.locator("[data-chart='fate-data']").scroll_into_view_if_needed()
    page.wait_for_timeout(300)
    assert asked == []

    button = page.get_by_role("button", name="Read values from the chart (Where the water goes)")
    button.focus()
    page.keyboard.press("Enter")
    page.locator("#fate .main-svg").first.wait_for()
    assert len(asked) == 1
    assert not page.locator("[data-chart='fate-data'] [data-chart-still]").is_visible()
    assert page.evaluate("document.activeElement.id") == "fate"
