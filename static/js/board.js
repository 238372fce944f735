/** A plan of work by hand: a piece of work is dragged onto another day, by mouse or touch. By keyboard there is a form. */

import { enhanceTouch } from "./board-touch.js"

const STOP = "[data-board-stop]"
const DAY = "[data-board-on]"

/** Send the form of the piece of work with the day it was dropped on. */
function sendTo(stop, day) {
  const form = stop.querySelector("form")
  form.elements.crew.value = day.dataset.boardCrew
  form.elements.on.value = day.dataset.boardOn
  form.requestSubmit()
}

export function enhance(board) {
  let dragged = null

  const stopOf = (node) => {
    const stop = node.closest(STOP)
    return stop?.querySelector("form") ? stop : null
  }

  for (const stop of board.querySelectorAll(STOP)) stop.draggable = stopOf(stop) !== null
  for (const link of board.querySelectorAll(`${STOP} a`)) link.draggable = false // the work is dragged by it, not its address

  function mark(day) {
    for (const other of board.querySelectorAll(DAY)) other.classList.toggle("board__day--target", other === day)
  }

  // A finger has its own way of dragging: the browser's own would take the touch away from it.
  board.addEventListener("pointerdown", (event) => {
    const stop = stopOf(event.target)
    if (stop) stop.draggable = event.pointerType !== "touch"
  })
  enhanceTouch(board, { stopOf, dayOf: (node) => node.closest(DAY), mark, drop: sendTo })

  board.addEventListener("dragstart", (event) => {
    dragged = event.target.closest(STOP)
    event.dataTransfer.effectAllowed = "move"
    event.dataTransfer.setData("text/plain", dragged?.dataset.boardStop ?? "") // some browsers drag nothing that is empty
  })
  board.addEventListener("dragover", (event) => {
    const day = event.target.closest(DAY)
    mark(dragged ? day : null)
    if (dragged && day) event.preventDefault()
  })
  board.addEventListener("drop", (event) => {
    const day = event.target.closest(DAY)
    event.preventDefault()
    if (dragged && day && day !== dragged.closest(DAY)) sendTo(dragged, day)
  })
  board.addEventListener("dragend", () => {
    dragged = null
    mark(null)
  })
}
