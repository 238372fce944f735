import { clockFace, elapsedMs, IDLE, isBounce, restored, seconds, start, stop, undo } from "./logic/stopwatch.js"
import { gettext as _, marked } from "./words.js"

const REFRESH_MS = 100
const states = new WeakMap()
let pressedAt = null // of all clocks of the page: what the first of two presses moves must not catch the second

/** Goes forward only, and goes on over a reload. */
export function clock() {
  return performance.timeOrigin + performance.now()
}

/** The state of a stopwatch on the page, idle before it is ready. */
export function stateOf(box) {
  return states.get(box) ?? IDLE
}

function element(tag, attributes, text = "") {
  const made = Object.assign(document.createElement(tag), { textContent: text })
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value)
  return made
}

/** Display and keys exist only with JavaScript; without it the field is filled by hand. */
function build(box) {
  const face = element("span", { class: "stopwatch__time", role: "timer" })
  const go = element("button", { type: "button", class: "stopwatch__key stopwatch__key--go" })
  const back = element("button", { type: "button", class: "stopwatch__key stopwatch__key--back" }, _("Undo"))
  const top = element("div", { class: "stopwatch__top" })
  const said = element("span", { class: "visually-hidden", role: "status" })
  top.append(face, back) // away from the other key, so that no second press on that one takes anything back
  box.prepend(top, go, said)
  return { face, go, back, said }
}

function memory(key) {
  const guarded = (action) => {
    try {
      return action()
    } catch {
      return null // storage refused: a reload loses the clock, the field keeps what was typed
    }
  }
  return {
    load: () => guarded(() => sessionStorage.getItem(key)),
    save: (state) => guarded(() => sessionStorage.setItem(key, JSON.stringify(state))),
    clear: () => guarded(() => sessionStorage.removeItem(key)),
  }
}

/** False after a reload or a step back, when the form is the one that was left. */
function arrivedAnew() {
  return performance.getEntriesByType("navigation")[0]?.type === "navigate"
}

/** A screen that goes dark in mid-test costs the test. */
async function keepAwake(awake, lock) {
  if (awake) return lock ?? (await navigator.wakeLock?.request("screen").catch(() => null)) ?? null
  lock?.release()
  return null
}

/** Only a stopped clock has a reading; while it runs an old one must not be sent. */
function fill(input, state) {
  input.value = state.status === "stopped" ? seconds(elapsedMs(state, 0)).toFixed(1) : ""
  input.dispatchEvent(new Event("input", { bubbles: true }))
}

/** After a reading the key says that it would be overwritten. */
function goLabel(box, status) {
  if (status === "running") return box.dataset.stopLabel ?? _("Stop")
  return status === "stopped" ? (box.dataset.againLabel ?? _("Start again")) : (box.dataset.startLabel ?? _("Start"))
}

function paint(box, parts, state) {
  const running = state.status === "running"
  box.classList.toggle("stopwatch--running", running)
  parts.face.textContent = clockFace(elapsedMs(state, clock()))
  parts.go.textContent = goLabel(box, state.status)
  parts.back.disabled = state.before === null
}

/** What the press did, for those who hear the page. */
function spoken(state) {
  if (state.status === "running") return _("Clock running")
  if (state.status === "idle") return _("Clock at zero")
  return _("Stopped at {time} seconds", { time: marked(seconds(elapsedMs(state, 0)).toFixed(1)) })
}

/**
 * Turn the box into a stopwatch that fills the input named by `data-stopwatch`.
 *
 * Tells others with a bubbling "stopwatchchange" event whose detail is the new state.
 */
export function enhance(box) {
  const form = box.closest("form")
  const input = form.elements.namedItem(box.dataset.stopwatch)
  const store = memory(`stopwatch ${location.pathname} ${box.dataset.stopwatch}`)
  const parts = build(box)
  let ticking = 0
  let lock = null

  async function become(state) {
    states.set(box, state)
    clearInterval(ticking)
    if (state.status === "running") ticking = setInterval(() => paint(box, parts, state), REFRESH_MS)
    paint(box, parts, state)
    box.dispatchEvent(new CustomEvent("stopwatchchange", { bubbles: true, detail: state }))
    lock = await keepAwake(state.status === "running", lock)
  }

  /** @param {(state: object, now: number) => object} change */
  function press(change) {
    const now = clock()
    if (isBounce(pressedAt, now)) return
    pressedAt = now
    const next = change(stateOf(box), now)
    if (next === stateOf(box)) return
    store.save(next)
    fill(input, next)
    parts.said.textContent = spoken(next)
    navigator.vibrate?.(30)
    become(next)
  }

  parts.go.addEventListener("click", () =>
    press((state, now) => (state.status === "running" ? stop(state, now) : start(state, now))),
  )
  parts.back.addEventListener("click", () => press(undo))
  box.addEventListener("stopwatchstop", () => press(stop)) // asked for by another key of the form
  form.addEventListener("submit", () => store.clear())

  const found = restored(store.load(), clock(), arrivedAnew())
  if (found.status === "stopped" && input.value === "") fill(input, found)
  become(found)
}
