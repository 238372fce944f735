import assert from "node:assert/strict"
import { test } from "node:test"
import { boardOf, cornerAt, cornersOf, faultOf, faultSoFar, stepOf, textOf, unitOf } from "../../static/js/logic/outline.js"

const BOW_TIE = [[0, 0], [10, 10], [10, 0], [0, 10]]
const YARD = [[0, 0], [40, 0], [40, 25], [0, 25]]

test("an outline reads back as it was written, and half-typed lines are left out", () => {
  const corners = [[0, 0], [12.5, 0], [12.5, 8]]

  assert.deepEqual(cornersOf(textOf(corners)), corners)
  assert.deepEqual(cornersOf("0 0\n5;0\n5, 5\n7"), [[0, 0], [5, 0], [5, 5]])
})

test("a press on the board is a corner on the grid", () => {
  const board = boardOf([[0, 0], [40, 25]])

  assert.ok(board.size >= 40)
  const [x, y] = cornerAt(board, 0.5, 0.5)
  assert.equal(x % (stepOf(board.size) / 2), 0)
  assert.ok(Math.abs(x - (board.left + board.size / 2)) <= stepOf(board.size) / 2)
  assert.ok(Math.abs(y - (board.bottom + board.size / 2)) <= stepOf(board.size) / 2)
})

test("a crossing is found with its sides and its place, whichever way the outline goes", () => {
  assert.deepEqual(faultOf(BOW_TIE, "si"), { kind: "cross", numbers: [1, 3], at: [[5, 5]] })
  assert.deepEqual(faultOf(BOW_TIE.toReversed(), "si").at, [[5, 5]])
})

test("an outline that goes round once has no fault", () => {
  assert.equal(faultOf(YARD, "si"), null)
  assert.equal(faultOf(YARD, "us"), null)
})

test("a millimetre is a millimetre in feet too", () => {
  const notched = (gap) => [[0, 0], [10, 0], [10, 10], [5, gap], [0, 10]]

  assert.equal(faultOf(notched(0.0032), "us").kind, "touch")
  assert.equal(faultOf(notched(0.0034), "us"), null)
  assert.equal(faultOf(notched(0.0034), "si"), null)
  assert.equal(faultOf(notched(0.0009), "si").kind, "touch")
})

test("nothing is said before there is a shape, nor while a line cannot be read", () => {
  assert.equal(faultSoFar("", "si"), null)
  assert.equal(faultSoFar("0 0\n10 10", "si"), null)
  assert.equal(faultSoFar(`${textOf(BOW_TIE)}\n7`, "si"), null)
})

test("a fault that further corners may mend is told as such", () => {
  const onALine = faultSoFar("0 0\n5 0\n9 0", "si")
  const closing = faultSoFar("0 0\n4 0\n4 4\n8 4\n8 1", "si")
  const gone = faultSoFar("0 0\n10 0\n10 10\n5 10\n5 -5", "si")

  assert.match(onALine.words, /^If the outline ended here: The outline has no area/)
  assert.match(closing.words, /^If the outline ended here: Sides 2 and 5 cross at 4 m, 0.5 m/)
  assert.equal(faultSoFar("0 0\n4 0\n4 4\n8 4\n8 -4\n0 -4", "si"), null)
  assert.match(gone.words, /^Sides 1 and 4 cross at 5 m, 0 m/)
  assert.deepEqual([onALine.unfinished, closing.unfinished, gone.unfinished], [true, true, false])
})

test("the unit is that of the reader", () => {
  assert.deepEqual([unitOf("si"), unitOf("us")], ["m", "ft"])
  assert.match(faultSoFar(textOf(BOW_TIE), "us").words, /cross at 5 ft, 5 ft/)
})
