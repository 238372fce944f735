/* Says on the page of a form why what was saved is not stored, where a person looks and hears it. */

import { part } from "../form-parts.js"
import { gettext as _ } from "../words.js"

/** Take away what was said before. */
export function clear(form) {
  form.querySelectorAll("[data-queue-error]").forEach((each) => each.remove())
  document.querySelectorAll("[data-queue-notice]").forEach((each) => each.remove())
  form.querySelectorAll("[data-queue-invalid]").forEach((control) => {
    control.removeAttribute("aria-invalid")
    delete control.dataset.queueInvalid
  })
}

/** A notice above the form; it is moved to, since the person may be far below. */
export function notice(form, lines, { isFault = true, heading = "" } = {}) {
  const box = part("div", isFault ? "error-summary" : "notice", "")
  box.dataset.queueNotice = ""
  box.tabIndex = -1
  const inner = part("div", "", "")
  if (heading) inner.append(part("h2", "", heading))
  inner.append(...lines.map((line) => part("p", "", line)))
  box.append(inner)
  form.before(box)
  if (isFault) box.focus()
  return inner
}

function firstControl(form, name) {
  const found = name ? form.elements.namedItem(name) : null
  return found instanceof RadioNodeList ? found[0] : found
}

function mark(form, error) {
  const control = firstControl(form, error.field)
  if (!control || control.type === "hidden") return null
  control.closest("details:not([open])")?.setAttribute("open", "")
  control.closest("[hidden]")?.removeAttribute("hidden") // a tick that is asked for only now
  control.setAttribute("aria-invalid", "true")
  control.dataset.queueInvalid = ""
  const said = part("div", "field__error", error.text)
  said.dataset.queueError = ""
  ;(control.closest(".field") ?? control.parentElement).append(said)
  return control
}

/** What the server refused: a list on top, each line leading to its field, and the words beside the field. */
export function show(form, entry, asIs) {
  clear(form)
  const { errors = [], asks = [], text = "" } = entry.answer
  const inner = notice(form, [], { heading: _("Not stored yet: please correct this") })
  const list = part("ul", "", "")
  for (const error of errors) {
    const control = mark(form, error)
    const words = error.label ? `${error.label}: ${error.text}` : error.text
    const line = part("li", "", control?.id ? "" : words)
    if (control?.id) line.append(Object.assign(part("a", "", words), { href: `#${control.id}` }))
    list.append(line)
  }
  if (errors.length === 0) list.append(part("li", "", text))
  inner.append(list)
  if (asks.length) {
    const button = Object.assign(part("button", "button", _("Keep it as it is")), { type: "button" })
    button.addEventListener("click", asIs)
    inner.append(button)
  }
  inner.append(part("p", "soft", _("It is kept on this phone until it is stored or you take it away.")))
  inner.parentElement.dataset.errorSummary = ""
  inner.parentElement.setAttribute("role", "alert")
  inner.parentElement.focus()
}
