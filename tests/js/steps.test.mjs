import assert from "node:assert/strict"
import { test } from "node:test"

import { firstInView, heading, insteadOfSending, isWorthIt, list, ways, within } from "../../static/js/logic/steps.js"

const steps = (...refused) =>
  ["Name", "Traffic", "Limit", "Rest"].map((title, n) => ({ title, hasError: refused.includes(n) }))

test("a form begins with its first step", () => {
  assert.equal(firstInView(steps(), undefined), 0)
  assert.equal(firstInView(steps(), null), 0)
})

test("a form that is come back to shows the step that was left", () => {
  assert.equal(firstInView(steps(), 2), 2)
})

test("the first step that holds an error comes before the one that was left", () => {
  assert.equal(firstInView(steps(1, 3), 2), 1)
})

test("what is left of another form leads to a step that there is", () => {
  assert.equal(firstInView(steps(), 17), 3)
  assert.equal(firstInView(steps(), "nonsense"), 0)
  assert.equal(within(-1, 4), 0)
  assert.equal(within(1.7, 4), 1)
})

test("a form of two steps is seen at once", () => {
  assert.equal(isWorthIt(2), false)
  assert.equal(isWorthIt(3), true)
})

test("a step says which it is and what lies beside it", () => {
  assert.equal(heading(steps(), 1), "Step 2 of 4: Traffic")
  assert.deepEqual(ways(steps(), 0), { back: "", next: "Traffic" })
  assert.deepEqual(ways(steps(), 1), { back: "Name", next: "Limit" })
  assert.deepEqual(ways(steps(), 3), { back: "Limit", next: "" })
})

test("Enter in a field leads on until the last step, and sends there", () => {
  assert.equal(insteadOfSending(0, 4, false), 1)
  assert.equal(insteadOfSending(2, 4, false), 3)
  assert.equal(insteadOfSending(3, 4, false), null)
})

test("a key that is pressed sends from every step", () => {
  assert.equal(insteadOfSending(0, 4, true), null)
})

test("the list names the step in view and those to be corrected", () => {
  const rows = list(steps(2), 1)

  assert.deepEqual(rows.map((row) => row.text), ["1. Name", "2. Traffic", "3. Limit", "4. Rest"])
  assert.deepEqual(rows.map((row) => row.isCurrent), [false, true, false, false])
  assert.deepEqual(rows.map((row) => row.note), ["", "", "to be corrected", ""])
})
