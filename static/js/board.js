/** A plan of work with a mouse: a piece of work is dragged onto another day. By keyboard and touch there is a form. */

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

  for (const stop of board.querySelectorAll(STOP)) stop.draggable = stop.querySelector("form") !== null
  for (const link of board.querySelectorAll(`${STOP} a`)) link.draggable = false // the work is dragged by it, not its address

  function mark(day) {
    for (const other of board.querySelectorAll(DAY)) other.classList.toggle("board__day--target", other === day)
  }

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
