import assert from "node:assert/strict"
import { test } from "node:test"
import { edgeScroll, heldPress } from "../../static/js/logic/held-press.js"

test("a finger that rests takes hold", () => {
  const press = heldPress()
  press.down(10, 10)

  assert.equal(press.move(14, 13), "resting")
  assert.equal(press.rested(), "holding")
  assert.equal(press.move(200, 300), "holding")
  assert.equal(press.up(), "holding")
})

test("a finger that moves first scrolls, however long it rests afterwards", () => {
  const press = heldPress()
  press.down(10, 10)

  assert.equal(press.move(10, 21), "scrolling")
  assert.equal(press.rested(), "scrolling")
  assert.equal(press.up(), "scrolling")
})

test("a tap is over before it holds", () => {
  const press = heldPress()
  press.down(10, 10)

  assert.equal(press.up(), "resting")
  assert.equal(press.rested(), "none")
})

test("two fingers zoom", () => {
  const press = heldPress()

  assert.equal(press.down(10, 10, 2), "scrolling")
  assert.equal(press.rested(), "scrolling")
})

test("the slop is a way in any direction", () => {
  const press = heldPress({ slopPx: 5 })
  press.down(0, 0)

  assert.equal(press.move(3, 4), "resting")
  assert.equal(press.move(4, 4), "scrolling")
})

test("near the edges of the window the page goes on, faster the nearer", () => {
  assert.equal(edgeScroll(400, 800), 0)
  assert.equal(edgeScroll(60, 800), 0)
  assert.equal(edgeScroll(20, 800), -10)
  assert.equal(edgeScroll(0, 800), -15)
  assert.equal(edgeScroll(740, 800), 0)
  assert.equal(edgeScroll(780, 800), 10)
})
