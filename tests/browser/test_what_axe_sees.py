"""The control of all those tests in which axe finds nothing: it looks, each time, and says what it found where."""

import pytest
from django.urls import reverse

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_picture_without_words_is_found_also_on_a_page_that_was_looked_at_before(open_page, accessible):
    page = open_page(None, reverse("account_login"))
    accessible(page)
    page.evaluate("document.querySelector('main').append(new Image(20, 20))")

    with pytest.raises(AssertionError, match=r"image-alt: .*<img"):
        accessible(page)


def test_pale_words_are_found_in_the_colours_of_the_night_alone(open_page, accessible_by_day_and_night):
    page = open_page(None, reverse("account_login"))
    page.evaluate(
        """() => {
          const words = Object.assign(document.createElement("p"), { textContent: "pale by night" })
          words.style.color = "light-dark(#000, #444)"
          words.style.background = "light-dark(#fff, #333)"
          document.querySelector("main").append(words)
        }"""
    )

    with pytest.raises(AssertionError, match="color-contrast"):
        accessible_by_day_and_night(page)
