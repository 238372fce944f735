/* On the page of a surface: keep its forms on this phone, or no longer. */

import { keepPages, pin } from "./pages.js"
import * as store from "./store.js"
import { gettext as _ } from "../words.js"

export async function enhance(button) {
  if (!isSecureContext || !("caches" in self)) return
  const surface = button.dataset.pin
  const isKept = async () => ((await store.fact("pinned")) ?? []).includes(surface)
  const label = async () =>
    (button.textContent = (await isKept()) ? _("Keep no longer on this phone") : _("Keep on this phone"))
  button.addEventListener("click", async () => {
    await pin(surface, !(await isKept()))
    button.textContent = _("Fetching its pages …")
    await keepPages(document.body.dataset.person, { force: true })
    await label()
  })
  await label()
  button.hidden = false
}
