import { firstInView, heading, insteadOfSending, isWorthIt, list, ways, within } from "./logic/steps.js"
import { gettext as _ } from "./words.js"

const REFUSED = ".field__error, [aria-invalid=true]"

function element(tag, attributes, text = "") {
  const made = Object.assign(document.createElement(tag), { textContent: text })
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value)
  return made
}

// A key that has the page drawn anew, and stores nothing, leads back to the step it was pressed on.
const memory = () => `step ${location.pathname}`

function remember(step) {
  try {
    sessionStorage.setItem(memory(), step)
  } catch {
    /* storage is closed to the page: the form begins anew */
  }
}

function remembered() {
  try {
    const step = sessionStorage.getItem(memory())
    sessionStorage.removeItem(memory())
    return step
  } catch {
    return null
  }
}

/** A fold that is a step by itself stands open: what would open it is the step. */
function unfold(part) {
  for (const fold of part.querySelectorAll(":scope > details")) {
    fold.open = true
    fold.querySelector("summary").hidden = true
  }
}

/** Names of the steps, the heading of the one in view and the keys, which exist only with JavaScript. */
function build(form, parts) {
  const nav = element("nav", { class: "steps", "aria-label": _("Steps of this form") })
  const names = element("ol", { class: "steps__list" })
  const head = element("h2", { class: "steps__head", tabindex: "-1" })
  const back = element("button", { type: "button", class: "button button--quiet" })
  const next = element("button", { type: "button", class: "button" })
  const keys = element("div", { class: "steps__keys" })
  nav.append(names)
  keys.append(back, next)
  parts[0].before(nav, head)
  parts.at(-1).after(keys)
  return { names, head, back, next }
}

function paintNames(names, rows, go) {
  const lines = rows.map((row, n) => {
    const key = element("button", { type: "button", class: "steps__name" }, row.text)
    if (row.isCurrent) key.setAttribute("aria-current", "step")
    if (row.note) key.append(element("span", { class: "steps__note" }, ` (${row.note})`))
    key.addEventListener("click", () => go(n))
    const line = element("li", {})
    line.append(key)
    return line
  })
  names.replaceChildren(...lines)
}

function paintKey(key, said, title) {
  key.hidden = !title
  key.textContent = title ? said(title) : ""
}

/** Show one step of a long form at a time; it is sent as a whole, at the end. */
export function enhance(form) {
  const parts = [...form.querySelectorAll("[data-step]")]
  if (!isWorthIt(parts.length)) return
  const steps = parts.map((part) => ({ title: part.dataset.step, hasError: part.querySelector(REFUSED) !== null }))
  const built = build(form, parts)
  const actions = form.querySelector(".form__actions")
  const asked = remembered() // taken away also where it is not followed
  let at = firstInView(steps, history.state?.step ?? asked)
  let pressed = null // the key that was pressed with a pointer, which sends; Enter in a field presses one too, from afar

  function show(step) {
    at = within(step, steps.length)
    parts.forEach((part, n) => (part.hidden = n !== at))
    actions.hidden = form.dataset.steps !== "free" && at < steps.length - 1
    built.head.textContent = heading(steps, at)
    paintNames(built.names, list(steps, at), go)
    paintKey(built.back, (title) => _("Back: {title}", { title }), ways(steps, at).back)
    paintKey(built.next, (title) => _("Next: {title}", { title }), ways(steps, at).next)
  }

  /** To another step, which the browser's own way back leads away from again. */
  function go(step) {
    if (step !== at) history.pushState({ step }, "")
    show(step)
    built.head.focus({ preventScroll: true })
    built.head.scrollIntoView({ block: "start" })
  }

  built.back.addEventListener("click", () => go(at - 1))
  built.next.addEventListener("click", () => go(at + 1))
  addEventListener("popstate", (event) => {
    if (event.state?.step !== undefined || !location.hash) show(event.state?.step ?? 0)
  })
  form.addEventListener("click", (event) => {
    pressed = event.detail > 0 ? event.target.closest("button") : null
    leadTo(event.target.closest("a[href^='#']"))
  })
  form.addEventListener("submit", (event) => refuse(event), { capture: true }) // before whoever keeps or sends it

  /** A link of the list of errors opens the step of its field. */
  function leadTo(link) {
    const target = link && document.getElementById(decodeURIComponent(link.hash.slice(1)))
    const step = parts.findIndex((part) => target && part.contains(target))
    if (step >= 0) show(step)
  }

  function refuse(event) {
    const by = event.submitter // none where a script sends the form
    const isPressed = by === null || by === pressed || by === document.activeElement
    const next = insteadOfSending(at, steps.length, isPressed || form.dataset.steps === "free")
    if (next === null) return by?.name && remember(at)
    event.preventDefault()
    event.stopImmediatePropagation()
    go(next)
  }

  parts.forEach(unfold)
  form.dataset.stepped = ""
  history.replaceState({ ...history.state, step: at }, "")
  show(at)
}
