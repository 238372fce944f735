import { boardOf, cornerAt, cornersOf, faultSoFar, stepOf, textOf, unitOf } from "./logic/outline.js"
import { gettext as _, marked as asWritten } from "./words.js"

const SIZE = 300
const NS = "http://www.w3.org/2000/svg"

function shape(tag, attributes) {
  const made = document.createElementNS(NS, tag)
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value)
  return made
}

function button(text) {
  return Object.assign(document.createElement("button"), { type: "button", className: "button button--small", textContent: text })
}

function grid(board) {
  const step = stepOf(board.size)
  const lines = []
  for (let at = Math.ceil(board.left / step) * step; at < board.left + board.size; at += step) {
    const x = ((at - board.left) / board.size) * SIZE
    lines.push(shape("line", { x1: x, y1: 0, x2: x, y2: SIZE, class: "plan-board__grid" }))
  }
  for (let at = Math.ceil(board.bottom / step) * step; at < board.bottom + board.size; at += step) {
    const y = SIZE - ((at - board.bottom) / board.size) * SIZE
    lines.push(shape("line", { x1: 0, y1: y, x2: SIZE, y2: y, class: "plan-board__grid" }))
  }
  return lines
}

function onBoard(corners, board) {
  return corners.map(([x, y]) => [
    ((x - board.left) / board.size) * SIZE,
    SIZE - ((y - board.bottom) / board.size) * SIZE,
  ])
}

function drawn(corners, board) {
  const points = onBoard(corners, board)
  const outline = shape("polygon", { points: points.map((p) => p.join(",")).join(" "), class: "plan-board__outline" })
  const marks = points.flatMap(([x, y], i) => {
    const [nx, ny] = points[(i + 1) % points.length]
    const number = shape("text", { x: (x + nx) / 2, y: (y + ny) / 2, class: "plan-board__side" })
    number.textContent = points.length > 1 ? String(i + 1) : ""
    return [shape("circle", { cx: x, cy: y, r: 5, class: "plan-board__corner" }), number]
  })
  return [outline, ...marks]
}

/** Rings about the places that are wrong, and the sides that meet there. */
function marked(fault, corners, board) {
  if (!fault) return []
  const rings = onBoard(fault.at, board).map(([cx, cy]) => shape("circle", { cx, cy, r: 11, class: "plan-board__fault" }))
  if (fault.kind === "same_corner" || fault.at.length === 0) return rings
  const sides = fault.numbers.map((number) => {
    const [[x1, y1], [x2, y2]] = onBoard([corners[number - 1], corners[number % corners.length]], board)
    return shape("line", { x1, y1, x2, y2, class: "plan-board__fault" })
  })
  return [...sides, ...rings]
}

/** The fault in words: as an error, or softly where further corners may yet mend it. */
function said(fault) {
  if (!fault) return []
  const className = fault.unfinished ? "soft" : "field__error"
  return [Object.assign(document.createElement("p"), { className, textContent: fault.words })]
}

/** A board above the list of corners: a press adds a corner, sides show their numbers. The list stays the truth. */
export function enhance(form) {
  const list = form.querySelector("[data-plan-corners]")
  const svg = shape("svg", { viewBox: `0 0 ${SIZE} ${SIZE}`, class: "plan-board", "aria-hidden": "true" })
  const system = list.dataset.planCorners
  const warning = document.createElement("div")
  warning.setAttribute("role", "status")
  const caption = Object.assign(document.createElement("p"), { className: "soft" })
  const keys = Object.assign(document.createElement("div"), { className: "inline" })
  const [clear, back] = [button(_("Start over")), button(_("Take back the last corner"))]
  keys.append(back, clear)
  let board = boardOf(cornersOf(list.value))

  function paint() {
    const corners = cornersOf(list.value)
    const fault = faultSoFar(list.value, system)
    svg.replaceChildren(...grid(board), ...drawn(corners, board), ...marked(fault, corners, board))
    const step = `${asWritten(String(stepOf(board.size)))} ${unitOf(system)}`
    caption.textContent = _("Press to add a corner, or type below. Grid {step}. Numbers name the sides.", { step })
    if (warning.textContent !== (fault?.words ?? "")) warning.replaceChildren(...said(fault))
  }

  function become(corners) {
    list.value = textOf(corners)
    list.dispatchEvent(new Event("input", { bubbles: true }))
  }

  svg.addEventListener("click", (event) => {
    const box = svg.getBoundingClientRect()
    const corner = cornerAt(board, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height)
    become([...cornersOf(list.value), corner])
  })
  back.addEventListener("click", () => become(cornersOf(list.value).slice(0, -1)))
  clear.addEventListener("click", () => become([]))
  list.addEventListener("input", paint)
  list.addEventListener("change", () => {
    board = boardOf(cornersOf(list.value)) // typed corners may lie outside; presses never do
    paint()
  })
  form.querySelector(".fieldset")?.before(caption, svg, warning, keys)
  paint()
}
