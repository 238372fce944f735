/*
 * A stopwatch as plain data: each press gives a new state, which keeps the one before it,
 * so that a press with wet fingers can be taken back.
 *
 * @typedef {{status: "idle" | "running" | "stopped", startedAt: number | null, stoppedAt: number | null, before: State | null}} State
 * Times are milliseconds of one clock that only goes forward.
 */

export const IDLE = Object.freeze({ status: "idle", startedAt: null, stoppedAt: null, before: null })

/** A glove that slips or bounces presses twice; nobody means two things within this time. */
export const BOUNCE_MS = 700

/** Whether a press is one with the press before it. */
export function isBounce(pressedAt, now) {
  return pressedAt !== null && now >= pressedAt && now - pressedAt < BOUNCE_MS
}

/** Only one step can be taken back; a longer past would be stored for nothing. */
function remembered(state) {
  return { ...state, before: null }
}

/** Start, or start afresh when there is already a reading. */
export function start(state, now) {
  if (state.status === "running") return state
  return { status: "running", startedAt: now, stoppedAt: null, before: remembered(state) }
}

export function stop(state, now) {
  if (state.status !== "running") return state
  return { status: "stopped", startedAt: state.startedAt, stoppedAt: now, before: remembered(state) }
}

/** Take back the last press: a stop that came too early runs on as if it had not been. */
export function undo(state) {
  return state.before ?? state
}

export function elapsedMs(state, now) {
  if (state.status === "idle") return 0
  return Math.max(0, (state.status === "running" ? now : state.stoppedAt) - state.startedAt)
}

/** Seconds to 0.1 s, as the ring test is recorded. */
export function seconds(ms) {
  return Math.round(ms / 100) / 10
}

/** Minutes and seconds for reading at arm's length: 0:07.3, 12:40.0. */
export function clockFace(ms) {
  const tenths = Math.round(ms / 100)
  const minutes = Math.floor(tenths / 600)
  const rest = ((tenths % 600) / 10).toFixed(1).padStart(4, "0")
  return `${minutes}:${rest}`
}

function isMoment(value) {
  return typeof value === "number" && Number.isFinite(value)
}

function isState(state) {
  if (state?.status === "idle") return true
  if (state?.status === "running") return isMoment(state.startedAt)
  return state?.status === "stopped" && isMoment(state.startedAt) && isMoment(state.stoppedAt)
}

/** The longest ring test worth waiting for lasts under three hours. */
const OLDEST_MS = 4 * 3600 * 1000

/** A reading must not slip into another test: only a reload brings a stopped clock back. */
function stillMeant(state, now, anew) {
  if (state.status === "idle" || now - state.startedAt > OLDEST_MS) return false
  return state.status === "running" || !anew
}

/**
 * The state that was stored before a reload, or idle when there is none that can be trusted.
 *
 * @param {string | null} text - what was stored
 * @param {number} now - ms on the same clock
 * @param {boolean} anew - the page was opened by a link, not reloaded
 */
export function restored(text, now, anew) {
  try {
    const state = JSON.parse(text)
    if (!isState(state) || !stillMeant(state, now, anew)) return IDLE
    return { ...state, before: isState(state.before) ? state.before : null }
  } catch {
    return IDLE
  }
}
