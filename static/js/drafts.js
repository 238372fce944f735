import { isOffered, kept, keyOf, turnedAway, worthKeeping } from "./logic/drafts.js"
import { gettext as _ } from "./words.js"

const CHOICES = ["radio", "checkbox"]
const here = () => keyOf(location.pathname + location.search)

// Storage may be closed to the page (private windows): then nothing is kept, and nothing else fails.
function read(key) {
  try {
    return JSON.parse(sessionStorage.getItem(key))
  } catch {
    return null
  }
}

function write(key, draft) {
  try {
    if (draft) sessionStorage.setItem(key, JSON.stringify(draft))
    else sessionStorage.removeItem(key)
  } catch {
    /* the form works without */
  }
}

/** On the sign-in page: what was being sent to the address it leads back to has not arrived. */
function keepThrough() {
  const next = new URLSearchParams(location.search).get("next")
  if (next) write(keyOf(next), turnedAway(read(keyOf(next)), Date.now()))
}

function send(control) {
  for (const name of ["input", "change"]) control.dispatchEvent(new Event(name, { bubbles: true }))
}

/** Put entries into the controls of a form that are wanted. */
function fill(form, entries, wanted) {
  for (const control of [...form.elements].filter((c) => c.name && wanted(c))) {
    const value = kept(entries, control.name, control.type, control.value)
    const holds = CHOICES.includes(control.type) ? "checked" : "value"
    if (value === undefined || control[holds] === value) continue
    control[holds] = value
    send(control)
  }
}

/** Fill a form with what was typed before: choices first, since they change the rest, and last, since the rest changes some. */
export function fillAgain(form, entries) {
  const isTyped = (control) => !["file", "password"].includes(control.type) && control.name !== "csrfmiddlewaretoken"
  fill(form, entries, (control) => CHOICES.includes(control.type))
  fill(form, entries, (control) => isTyped(control) && !CHOICES.includes(control.type))
  fill(form, entries, (control) => CHOICES.includes(control.type))
}

function say(form) {
  const note = document.createElement("div")
  note.className = "notice"
  note.setAttribute("role", "status")
  const text = document.createElement("p")
  text.textContent =
    _("You had to sign in again, so nothing was stored. What you typed is filled in below: check it and save it.") +
    " " +
    _("Files must be chosen again.")
  note.append(text)
  form.before(note)
}

/** Keep what is sent, and fill it in again where the sending ended at the sign-in page. */
export function enhance(form) {
  if (form.matches("[data-sign-in]")) return keepThrough()
  const draft = read(here())
  write(here(), null)
  if (isOffered(draft, Date.now()) && !form.querySelector("[data-error-summary]")) {
    fillAgain(form, draft.entries)
    say(form)
  }
  const secret = [...form.querySelectorAll("input[type=password]")].map((control) => control.name)
  form.addEventListener("submit", (event) => {
    if (event.defaultPrevented) return // kept by the queue of this device
    const entries = worthKeeping(new FormData(form), secret)
    write(here(), { entries, sentAt: Date.now() })
  })
}
