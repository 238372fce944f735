/**
 * Tells a finger that takes hold of something from one that scrolls or taps.
 *
 * A finger that rests for `holdMs` within `slopPx` of where it came down has taken hold; one that moves further before
 * that scrolls, and stays a scroll however long it rests afterwards.
 *
 * @param {{holdMs?: number, slopPx?: number}} [by]
 */
export function heldPress({ holdMs = 400, slopPx = 10 } = {}) {
  let began = null
  let state = "none"

  return {
    /** @returns {"none" | "resting" | "holding" | "scrolling"} */
    get state() {
      return state
    },
    holdMs,
    /** A finger came down at x, y. A second one ends the press: two fingers zoom. */
    down(x, y, fingers = 1) {
      began = { x, y }
      state = fingers === 1 ? "resting" : "scrolling"
      return state
    },
    /** It moved. */
    move(x, y) {
      if (state === "resting" && Math.hypot(x - began.x, y - began.y) > slopPx) state = "scrolling"
      return state
    },
    /** It has rested for `holdMs`. */
    rested() {
      if (state === "resting") state = "holding"
      return state
    },
    /** It was lifted or taken away; tells what it had been. */
    up() {
      const was = state
      state = "none"
      return was
    },
  }
}

/**
 * How far to scroll while something is held near the upper or lower edge of the window.
 *
 * @param {number} y - of the finger, px from the top of the window
 * @param {number} height - of the window, px
 * @param {number} [edge] - px within which it scrolls
 * @returns {number} px, below 0 for up
 */
export function edgeScroll(y, height, edge = 60) {
  if (y < edge) return Math.round((y - edge) / 4)
  if (y > height - edge) return Math.round((y - height + edge) / 4)
  return 0
}
