/*
 * The outline of a surface as text, one corner a line, x and y in the reader's units, and as points to draw; and what
 * is wrong with it. The server refuses the same outlines (qa/calc/outlines.py); this says so early, in the same words.
 */

import { gettext as _, marked } from "../words.js"

const M_PER_UNIT = { si: 1, us: 0.3048 }
const UNIT = { si: "m", us: "ft" }
const SAME_PLACE_M = 0.001
const FEWEST_CORNERS = 3
const A_HAIR = 1e-6 // so that 0.125 reads the same before and after a conversion of units

function linesOf(text) {
  return text.split("\n").filter((line) => line.trim() !== "")
}

/** Corners that can be read so far; lines that are not two numbers are left out. */
export function cornersOf(text) {
  return linesOf(text)
    .map((line) => line.replaceAll(/[;,]/g, " ").trim().split(/\s+/).map(Number))
    .filter((pair) => pair.length === 2 && pair.every(Number.isFinite))
}

export function unitOf(system) {
  return UNIT[system]
}

export function textOf(corners) {
  return corners.map(([x, y]) => `${x} ${y}`).join("\n")
}

/** The window of the drawing board: all corners with room around them, never under 10 units. */
export function boardOf(corners) {
  const xs = corners.map(([x]) => x)
  const ys = corners.map(([, y]) => y)
  const left = Math.min(0, ...xs)
  const bottom = Math.min(0, ...ys)
  const size = Math.max(10, Math.max(...xs, 0) - left, Math.max(...ys, 0) - bottom)
  const room = size * 0.15
  return { left: left - room, bottom: bottom - room, size: size + 2 * room }
}

/** A round step of the grid that gives about ten lines. */
export function stepOf(size) {
  const power = 10 ** Math.floor(Math.log10(size / 10))
  return [1, 2, 5, 10].map((n) => n * power).find((step) => size / step <= 12)
}

/** A point on the board (shares of its width and height from the top left) as a corner, to half a grid step. */
export function cornerAt(board, right, down) {
  const snap = stepOf(board.size) / 2
  const corner = [board.left + right * board.size, board.bottom + (1 - down) * board.size]
  return corner.map((value) => Number((Math.round(value / snap) * snap).toFixed(3)))
}

function gap([px, py], [qx, qy]) {
  return Math.hypot(px - qx, py - qy)
}

/** Twice the area of the triangle a, b, c; above 0 where c lies to the left of the way from a to b. */
function turn([ax, ay], [bx, by], [cx, cy]) {
  return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
}

function distance([px, py], [[ax, ay], [bx, by]]) {
  const [dx, dy] = [bx - ax, by - ay]
  const t = Math.max(0, Math.min(1, ((px - ax) * dx + (py - ay) * dy) / (dx * dx + dy * dy)))
  return Math.hypot(px - ax - t * dx, py - ay - t * dy)
}

function isFlat(corners, near) {
  const first = corners[0]
  const farthest = corners.reduce((best, corner) => (gap(first, corner) > gap(first, best) ? corner : best), first)
  return corners.every((corner) => Math.abs(turn(first, farthest, corner)) / gap(first, farthest) <= near)
}

/** Whether the second of two sides that follow each other runs back over the first. */
function folded([start, corner], [, end], near) {
  if (distance(end, [start, corner]) <= near) return { kind: "overlap", at: [corner, end] }
  if (distance(start, [corner, end]) <= near) return { kind: "overlap", at: [corner, start] }
  return null
}

function crossing([a, b], [c, d]) {
  const [fromC, fromD] = [turn(a, b, c), turn(a, b, d)]
  if (fromC > 0 === fromD > 0 || turn(c, d, a) > 0 === turn(c, d, b) > 0) return null
  const share = fromC / (fromC - fromD)
  return { kind: "cross", at: [[c[0] + share * (d[0] - c[0]), c[1] + share * (d[1] - c[1])]] }
}

/** How two sides without a common corner come together: not at all, at one place, or along a stretch. */
function meeting(first, second, near) {
  const ends = [
    ...first.filter((p) => distance(p, second) <= near),
    ...second.filter((p) => distance(p, first) <= near),
  ]
  if (ends.length === 0) return crossing(first, second)
  if (ends.length === 1) return { kind: "touch", at: ends }
  const far = ends.reduce((best, p) => (gap(ends[0], p) > gap(ends[0], best) ? p : best), ends[0])
  return { kind: "overlap", at: [ends[0], far] }
}

function pairs(count) {
  return Array.from({ length: count }, (none, i) => i).flatMap((i) =>
    Array.from({ length: count - i - 1 }, (none, k) => [i, i + k + 1]),
  )
}

function sameCorner(corners, near) {
  const found = pairs(corners.length).find(([i, j]) => gap(corners[i], corners[j]) <= near)
  return found ? { kind: "same_corner", numbers: [found[0] + 1, found[1] + 1], at: [corners[found[0]]] } : null
}

// A side that runs over another also touches the sides beside it: that would be told second best.
const WORST_FIRST = ["overlap", "cross", "touch"]

function sidesMeeting(corners, near) {
  const sides = corners.map((corner, i) => [corner, corners[(i + 1) % corners.length]])
  const found = pairs(sides.length).map(([i, j]) => {
    const fault = together(sides, i, j, near)
    return fault && { ...fault, numbers: [i + 1, j + 1] }
  })
  return WORST_FIRST.map((kind) => found.find((fault) => fault?.kind === kind)).find(Boolean) ?? null
}

function together(sides, i, j, near) {
  if (j === i + 1) return folded(sides[i], sides[j], near)
  if (i === 0 && j === sides.length - 1) return folded(sides[j], sides[i], near)
  return meeting(sides[i], sides[j], near)
}

/**
 * What keeps an outline from going round a surface once, the worst first, or null.
 *
 * @param corners in the units of system; within a millimetre is taken as the same place
 * @returns {{kind: string, numbers: number[], at: number[][]} | null} numbers of corners or sides, from 1
 */
export function faultOf(corners, system) {
  const near = SAME_PLACE_M / M_PER_UNIT[system]
  if (corners.length < FEWEST_CORNERS) return { kind: "too_few", numbers: [corners.length], at: [] }
  const same = sameCorner(corners, near)
  if (same) return same
  if (isFlat(corners, near)) return { kind: "flat", numbers: [], at: [] }
  return sidesMeeting(corners, near)
}

function coordinate(value) {
  return marked(String(Math.floor(value * 100 + 0.5 + A_HAIR) / 100))
}

function place(p, system) {
  return p.map((value) => `${coordinate(value)} ${UNIT[system]}`).join(", ")
}

function whatToRemove([one, other], count) {
  if (one === 1 && other === count) return _("The outline closes by itself: remove the last corner.")
  if (other === one + 1) return _("Remove one of them.")
  return _("An outline passes no place twice: move one of them, or enter the parts as surfaces of their own.")
}

const once = () => _("An outline goes round the surface once: check the corners of both sides and their order.")

function sidesMeet(kind, named) {
  if (kind === "overlap") return _("Sides {one} and {other} lie on each other from {from} to {to}.", named)
  if (kind === "cross") return _("Sides {one} and {other} cross at {at}.", named)
  return _("Sides {one} and {other} touch at {at}.", named)
}

/** What is wrong, where, and what to do. count: corners the outline has. */
export function faultWords({ kind, numbers, at }, count, system) {
  if (kind === "too_few") {
    return _("An outline needs {fewest} corners or more, got {count}. Draw the surface again.", {
      fewest: FEWEST_CORNERS,
      count,
    })
  }
  if (kind === "flat") return _("The outline has no area: its corners lie on one line. Check them.")
  const [one, other] = numbers
  const [from, to] = at.map((p) => place(p, system))
  const named = { one, other, at: from, from, to }
  if (kind === "same_corner") {
    return [_("Corners {one} and {other} lie on each other at {at}.", named), whatToRemove(numbers, count)].join(" ")
  }
  return `${sidesMeet(kind, named)} ${once()}`
}

/**
 * What to say of an outline that is being typed or drawn: nothing before it has a shape that can be judged.
 *
 * @returns {object | null} the fault with its words; `unfinished` where further corners may yet mend it, since the
 *   side that closes the outline is only what it would be if it ended here
 */
export function faultSoFar(text, system) {
  const corners = cornersOf(text)
  if (corners.length < FEWEST_CORNERS || corners.length < linesOf(text).length) return null
  const fault = faultOf(corners, system)
  if (!fault) return null
  const unfinished = fault.kind === "flat" || (fault.kind !== "same_corner" && fault.numbers.includes(corners.length))
  const words = faultWords(fault, corners.length, system)
  return { ...fault, unfinished, words: unfinished ? _("If the outline ended here: {fault}", { fault: words }) : words }
}
