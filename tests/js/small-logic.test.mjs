import assert from "node:assert/strict"
import { test } from "node:test"
import { layoutTemplate, resolveColours, themed } from "../../static/js/logic/chart-theme.js"
import { countdown } from "../../static/js/logic/countdown.js"
import { isOffered, kept, keyOf, turnedAway, worthKeeping } from "../../static/js/logic/drafts.js"
import { snapshot, wouldLose } from "../../static/js/logic/edits.js"
import { maySend, UNANSWERED_MS } from "../../static/js/logic/send-once.js"
import { afterSwitch, shownTheme, switchLabel } from "../../static/js/logic/theme.js"

const lookup = (token) => `<${token}>`

test("the device decides the theme until one is chosen", () => {
  assert.equal(shownTheme(null, true), "dark")
  assert.equal(shownTheme(null, false), "light")
  assert.equal(shownTheme("light", true), "light")
})

test("the switch stores a choice against the device and forgets it on the way back", () => {
  assert.deepEqual(afterSwitch(null, false), { shown: "dark", stored: "dark" })
  assert.deepEqual(afterSwitch("dark", false), { shown: "light", stored: null })
  assert.deepEqual(afterSwitch(null, true), { shown: "light", stored: "light" })
})

test("the switch names where it leads", () => {
  assert.equal(switchLabel("dark"), "Light colours")
  assert.equal(switchLabel("light"), "Dark colours")
})

test("the countdown starts at the whole time allowed", () => {
  assert.equal(countdown(5000, 5000, 120).text, "2:00")
})

test("the countdown does not show zero while there is time left", () => {
  assert.deepEqual(countdown(0, 119900, 120), { late: false, leftS: 120 - 119.9, text: "0:01" })
})

test("the countdown says how late it is", () => {
  const late = countdown(0, 132500, 120)

  assert.equal(late.late, true)
  assert.equal(late.text, "0:12 too late")
})

test("an untouched form can be left", () => {
  const before = snapshot([["rate", "12"]])

  assert.equal(wouldLose(before, snapshot([["rate", "12"]]), false), false)
})

test("an edited form is guarded unless it is being sent", () => {
  const before = snapshot([["rate", "12"]])
  const now = snapshot([["rate", "13"]])

  assert.equal(wouldLose(before, now, false), true)
  assert.equal(wouldLose(before, now, true), false)
})

test("a chosen file counts as an edit", () => {
  const none = snapshot([["photo", { name: "", size: 0 }]])
  const one = snapshot([["photo", { name: "ring.jpg", size: 1024 }]])

  assert.notEqual(none, one)
})

test("tokens anywhere in a figure become colours and all else stays", () => {
  const figure = { data: [{ y: [1, null], line: { color: "var(--chart-line)" }, name: "var of it" }] }

  assert.deepEqual(resolveColours(figure, lookup), {
    data: [{ y: [1, null], line: { color: "<--chart-line>" }, name: "var of it" }],
  })
})

test("the figure itself is not changed, so that it can be drawn again in the other theme", () => {
  const figure = { data: [{ line: { color: "var(--chart-line)" } }], layout: { title: "x" } }

  themed(figure, lookup)

  assert.deepEqual(figure, { data: [{ line: { color: "var(--chart-line)" } }], layout: { title: "x" } })
})

test("what the figure says about its layout goes before the template", () => {
  const { layout } = themed({ data: [], layout: { yaxis: { type: "log" }, width: 700 } }, lookup)

  assert.equal(layout.yaxis.type, "log")
  assert.equal(layout.width, undefined)
  assert.equal(layout.template.layout.paper_bgcolor, "<--chart-paper>")
})

test("the chart is as large as its holder, whatever size its figure names", () => {
  const { layout } = themed({ data: [], layout: { width: 640, height: 320 } }, lookup)

  assert.deepEqual([layout.width, layout.height, layout.autosize], [undefined, undefined, true])
})

test("the template names six different colours", () => {
  assert.equal(new Set(layoutTemplate(lookup).layout.colorway).size, 6)
})

test("a draft keeps text, but no token, file or password", () => {
  const entries = [["rate", "12"], ["csrfmiddlewaretoken", "x"], ["photo", { name: "a.jpg", size: 3 }], ["secret", "y"]]
  assert.deepEqual(worthKeeping(entries, ["secret"]), [["rate", "12"]])
})

test("a draft comes back only if its sending was answered by the sign-in page at once", () => {
  const draft = { entries: [], sentAt: 1000 }
  assert.equal(isOffered(draft, 2000), false)
  assert.equal(isOffered(turnedAway(draft, 2000), 3000), true)
  assert.equal(turnedAway(draft, 1000 + 61_000), null)
  assert.equal(isOffered({ ...draft, turnedAway: true }, 1000 + 13 * 3_600_000), false)
  assert.equal(isOffered(turnedAway(null, 0), 0), false)
})

test("a control takes back its own text or choice, and is left alone where nothing was sent", () => {
  const entries = [["unit", "us"], ["mass", "40"]]
  assert.equal(kept(entries, "unit", "radio", "us"), true)
  assert.equal(kept(entries, "unit", "radio", "si"), false)
  assert.equal(kept(entries, "mass", "number", "18"), "40")
  assert.equal(kept(entries, "note", "textarea", ""), undefined)
  assert.notEqual(keyOf("/a/"), keyOf("/b/"))
})

test("a form is sent once, and again only when no answer came", () => {
  assert.equal(maySend(null, 5000), true)
  assert.equal(maySend(5000, 5300), false)
  assert.equal(maySend(5000, 5000 + UNANSWERED_MS), true)
})
