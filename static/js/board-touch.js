/** A plan of work by touch: a finger that rests on a piece of work takes hold of it, and drops it on another day. */

import { edgeScroll, heldPress } from "./logic/held-press.js"

/**
 * @param {HTMLElement} board
 * @param {{stopOf: (node: Element) => HTMLElement | null, dayOf: (node: Element) => HTMLElement | null,
 *   mark: (day: HTMLElement | null) => void, drop: (stop: HTMLElement, day: HTMLElement) => void}} by
 */
export function enhanceTouch(board, { stopOf, dayOf, mark, drop }) {
  const press = heldPress()
  let stop = null
  let timer = 0
  let finger = null
  let frame = 0

  function dayUnder() {
    const node = document.elementFromPoint(finger.clientX, finger.clientY)
    return node && board.contains(node) ? dayOf(node) : null
  }

  /** While it is held near an edge the page goes on, so that days out of sight are reached. */
  function follow() {
    window.scrollBy(0, edgeScroll(finger.clientY, window.innerHeight))
    mark(dayUnder())
    frame = requestAnimationFrame(follow)
  }

  function take() {
    if (press.rested() !== "holding") return
    stop.classList.add("board__stop--held")
    navigator.vibrate?.(30)
    follow()
  }

  function release() {
    clearTimeout(timer)
    cancelAnimationFrame(frame)
    stop?.classList.remove("board__stop--held")
    mark(null)
    return press.up()
  }

  board.addEventListener("touchstart", (event) => {
    release()
    stop = event.target.closest("a, button, input, select, summary") ? null : stopOf(event.target)
    if (!stop) return
    finger = event.touches[0]
    if (press.down(finger.clientX, finger.clientY, event.touches.length) === "resting") {
      timer = setTimeout(take, press.holdMs)
    }
  }, { passive: true })
  board.addEventListener("touchmove", (event) => {
    finger = event.touches[0]
    if (press.move(finger.clientX, finger.clientY) === "holding") event.preventDefault()
    else if (press.state === "scrolling") clearTimeout(timer)
  }, { passive: false })
  board.addEventListener("touchend", (event) => {
    const day = press.state === "holding" ? dayUnder() : null
    if (release() !== "holding") return
    event.preventDefault() // no tap on what lies beneath
    if (day && day !== dayOf(stop)) drop(stop, day)
  })
  board.addEventListener("touchcancel", release)
  board.addEventListener("contextmenu", (event) => {
    if (press.state === "holding") event.preventDefault()
  })
}
