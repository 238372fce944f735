"""A phone in the hands of a technician: its pages kept, its signal taken away, what it holds read out."""

from contextlib import contextmanager

from playwright.sync_api import Page

from tests.browser.conftest import settle, until

STORE = "/static/js/queue/store.js"
ENTRIES = f"async () => (await import('{STORE}')).entries()"
HAS_PAGES = """async (address) => {
  for (const name of await caches.keys())
    if (name.startsWith("kept-") && (await (await caches.open(name)).match(address))) return true
  return false
}"""
HAS_WORKER = "async () => Boolean((await navigator.serviceWorker.getRegistration())?.active)"
COUNT = (
    f"async (state) => (await (await import('{STORE}')).entries()).filter((e) => e.state === state).length"
)
SEND = "async () => (await import('/static/js/queue/send.js')).drainNow()"


class Phone:
    """A page on a phone, with what its queue holds."""

    def __init__(self, page: Page):
        self.page, self.context = page, page.context

    def keep(self, *addresses: str) -> None:
        """Wait until the worker answers and the pages are kept; as a phone that lay in the office for a while."""
        until(self.page, HAS_WORKER)
        for address in addresses:
            until(self.page, HAS_PAGES, address)

    def open(self, address: str) -> Page:
        self.page.goto(address)
        settle(self.page)
        return self.page

    def entries(self) -> list[dict]:
        found = self.page.evaluate(ENTRIES)
        return sorted(found, key=lambda entry: (entry["madeAt"], entry["number"]))

    def states(self) -> list[str]:
        return [entry["state"] for entry in self.entries()]

    def await_states(self, **counts: int) -> None:
        """Wait until so many entries are in each of the states that are named."""
        for state, count in counts.items():
            until(self.page, f"async ([state, count]) => (await ({COUNT})(state)) === count", [state, count])

    def send(self) -> None:
        """As when the signal comes back, or somebody presses "Send now"."""
        self.page.evaluate(SEND)

    @contextmanager
    def without_signal(self):
        self.context.set_offline(True)
        yield self
        self.context.set_offline(False)

    def save(self, button: str) -> None:
        """Press what saves, and wait until the page says that it is kept."""
        self.page.get_by_role("button", name=button, exact=True).click()
        self.page.get_by_role("heading", name="kept on this phone").wait_for()


def fill(page: Page, **values: str) -> None:
    """Type values into fields by their names, whatever is folded over them; choices by their value."""
    page.evaluate("document.querySelectorAll('main details').forEach((each) => (each.open = true))")
    for name, value in values.items():
        field = page.locator(f'[name="{name}"]')
        if field.first.get_attribute("type") == "radio":
            page.locator(f'[name="{name}"][value="{value}"]').check()
        elif field.first.evaluate("(each) => each.tagName") == "SELECT":
            field.select_option(value)
        else:
            field.fill(value)


def fill_cleaning(page: Page, **values: str) -> None:
    fill(page, method="vacuum", **values)


def fill_ring(page: Page, elapsed_s: str, **values: str) -> None:
    fill(page, prewet_time_s="25", test_mass="18", elapsed_s=elapsed_s, **values)
