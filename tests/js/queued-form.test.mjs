import assert from "node:assert/strict"
import { test } from "node:test"
import * as form from "../../static/js/logic/queued-form.js"

const A = "aaaaaaaa-0000-4000-8000-000000000000"
const B = "bbbbbbbb-0000-4000-8000-000000000000"
const MADE = "2026-05-04T09:00:00.000Z"
const value = (entries, name) => entries.find(([field]) => field === name)?.[1]

test("the server is sent the address without what is for the page alone", () => {
  assert.equal(form.plainAddress(`/x/?method=ring&queued=${A}`), "/x/?method=ring")
  assert.equal(form.plainAddress("/x/?entry=1"), "/x/")
  assert.equal(form.plainAddress("/x/?next=%2Fmy-day%2F"), "/x/?next=%2Fmy-day%2F")
})

test("a form of a round that is still here goes to that entry", () => {
  const pattern = "/rounds/{parent}/tests/new/?method=ring"

  assert.equal(
    form.targetOf(`/field/surfaces/1/tests/new/?method=ring&entry=${A}`, pattern),
    `/rounds/{entry:${A}}/tests/new/?method=ring`,
  )
  assert.equal(form.targetOf("/field/surfaces/1/tests/new/?method=ring", pattern), null)
  assert.equal(form.targetOf("/surfaces/1/rounds/new/", ""), "/surfaces/1/rounds/new/")
})

test("fields are kept without files and token, with the time where the form asks for it", () => {
  const file = { name: "a.jpg", size: 3 }
  const kept = form.fieldsOf(
    [
      ["csrfmiddlewaretoken", "t"],
      ["photos", file],
      ["made_at", ""],
      ["note", "x"],
    ],
    MADE,
  )

  assert.deepEqual(kept, [
    ["made_at", MADE],
    ["note", "x"],
  ])
  assert.equal(value(form.fieldsOf([["2-made_at", "earlier"]], MADE), "2-made_at"), "earlier")
})

const newId = () => {
  const ids = [A, B, "c", "d"]
  return () => ids.shift()
}

const COMMON = { path: "/checks/1/record/", title: "Check", page: "/checks/1/record/", madeAt: MADE }
const FILES = [{ field: "photos", name: "a.jpg", number: 0 }]
const FIELDS = [
  ["reading", "3"],
  ["keep_location", "on"],
]

test("readings go first, and their photos by themselves to the row they made", () => {
  const [first, photos] = form.entriesOf(COMMON, FIELDS, FILES, "/findings/{row}/files/new/", newId())

  assert.deepEqual([first.id, first.files, first.fields], [A, [], FIELDS])
  assert.deepEqual([photos.id, photos.path, photos.onlyFiles], [B, `/findings/{entry:${A}}/files/new/`, true])
  assert.deepEqual(photos.fields, [["keep_location", "on"]])
  assert.ok(photos.number > first.number)
})

test("photos stay with their readings where nothing else takes them, and with nothing chosen there is one entry", () => {
  assert.deepEqual(form.entriesOf(COMMON, FIELDS, FILES, "", newId())[0].files, FILES)
  assert.equal(form.entriesOf(COMMON, FIELDS, [], "/findings/{row}/files/new/", newId()).length, 1)
})

test("many photos go a few at a time", () => {
  const many = Array.from({ length: 7 }, (_, number) => ({ field: "photos", number }))
  const parts = form.entriesOf(COMMON, FIELDS, many, "/findings/{row}/files/new/", newId()).slice(1)

  assert.deepEqual(
    parts.map(({ number, files }) => [number, files.length]),
    [
      [1, 3],
      [2, 3],
      [3, 1],
    ],
  )
})

const SAVED = {
  path: "/x/",
  chosen: "[]",
  fields: [
    ["device_id", "d"],
    ["note", "n"],
    ["made_at", "1"],
  ],
}
const again = (...changes) => [["device_id", "d"], ["note", "n"], ["made_at", "2"], ...changes]

test("a second tap on the same page is the same saving", () => {
  assert.equal(form.earlierSaving([SAVED], "/x/", again(), "[]", false), SAVED)
})

for (const [what, path, fields, chosen, isKeptPage] of [
  ["another value", "/x/", again(["more", "1"]), "[]", false],
  ["other files", "/x/", again(), "[1]", false],
  ["another address", "/y/", again(), "[]", false],
  [
    "another page",
    "/x/",
    [
      ["device_id", "e"],
      ["note", "n"],
    ],
    "[]",
    false,
  ],
  ["a kept page, whose id is always the same", "/x/", again(), "[]", true],
]) {
  test(`${what} is another saving`, () => {
    assert.equal(form.earlierSaving([SAVED], path, fields, chosen, isKeptPage), null)
  })
}

test("a link leads nowhere else", () => {
  assert.equal(form.ownAddress("/my-day/?on=1", "https://a.example"), "/my-day/?on=1")
  assert.equal(form.ownAddress("//evil.example/x", "https://a.example"), null)
  assert.equal(form.ownAddress(null, "https://a.example"), null)
})

test("a form of files alone may be divided", () => {
  assert.equal(form.entriesOf({ ...COMMON, isFiles: true }, [], FILES, "", newId())[0].onlyFiles, true)
  assert.equal(Boolean(form.entriesOf(COMMON, FIELDS, FILES, "", newId())[0].onlyFiles), false)
})

test("round and method of a test are told from its path", () => {
  assert.deepEqual(form.roundOf("/rounds/7/tests/new/?method=falling_head"), { round: "7", method: "falling_head" })
  assert.deepEqual(form.roundOf(`/rounds/{entry:${A}}/tests/new/`), { round: `{entry:${A}}`, method: "ring" })
  assert.deepEqual(form.roundOf("/rounds/7/tests/new/?location=3&method=ring"), { round: "7", method: "ring" })
  assert.equal(form.roundOf("/surfaces/7/rounds/new/"), null)
})

const ring = (location, changes = {}) => ({
  path: "/rounds/7/tests/new/?method=ring",
  madeAt: MADE,
  state: "waiting",
  person: "7",
  fields: [
    ["location", location],
    ["prewet_time_s", "25"],
    ["test_mass", "18"],
    ["finished_at", "2026-05-04T08:59:00.000Z"],
  ],
  ...changes,
})

test("tests of the round that its page does not know are counted, others are not", () => {
  const made = Date.parse(MADE)
  const sent = (sentAt) => ring("1", { state: "sent", sentAt })
  const other = ring("1", { path: "/rounds/8/tests/new/" })

  const held = form.testsHeld(
    [ring("1"), sent(made + 1), sent(made - 1), other, ring("1", { person: "8" })],
    "7",
    made,
    "7",
  )

  assert.deepEqual(
    held.map(({ state, sentAt }) => [state, sentAt]),
    [
      ["waiting", undefined],
      ["sent", made + 1],
    ],
  )
})

test("a spot tested here is a repeat for the page", () => {
  const spots = form.withHeld({}, [ring("1"), ring("1")])

  assert.equal(spots["1"].tests, 2)
  assert.deepEqual([spots["1"].prewet_time_s, spots["1"].test_mass], [25, 18])
  assert.equal(spots["1"].ended_ms, Date.parse("2026-05-04T08:59:00.000Z"))
})

test("what the page knows of a spot stays, and tests by other methods are no repeats", () => {
  const known = { 1: { tests: 1, ended_ms: 5 } }
  const head = ring("2", { path: "/rounds/7/tests/new/?method=falling_head" })

  assert.deepEqual(form.withHeld(known, [ring("1"), head]), { 1: { tests: 2, ended_ms: 5 } })
  assert.equal(known[1].tests, 1)
})

test("the next spot is the first that was not tested", () => {
  assert.equal(form.nextPlace("1", ["", "1", "2", "3"], ["1", "2"]), "3")
  assert.equal(form.nextPlace("2", ["", "1", "2"], ["1"]), "2")
  assert.equal(form.nextPlace("1", ["", "1"], ["1"]), "1")
  assert.equal(form.nextPlace("", ["", "1"], []), "")
})

const DAY = Date.parse("2026-05-04T09:00:00Z")

test("a page kept on Monday shows Wednesday when it is opened on Wednesday", () => {
  assert.equal(form.dayInstead("2026-05-04", DAY, new Date(2026, 4, 6, 9)), "2026-05-06")
})

test("a day that is not the page's own stays, and so does a page of this morning", () => {
  assert.equal(form.dayInstead("2026-04-01", DAY, new Date(2026, 4, 6, 9)), null)
  assert.equal(form.dayInstead("2026-05-05", DAY, new Date(DAY + 3_600_000)), null)
  assert.equal(form.dayInstead("", DAY, new Date(2026, 4, 6, 9)), null)
})

test("an entry is found again by a link to its form, whatever the link asks besides", () => {
  const entry = { page: "/surfaces/1/cleanings/new/?method=vacuum", state: "waiting" }

  assert.equal(form.isAbout(entry, "/surfaces/1/cleanings/new/?next=/my-day/"), true)
  assert.equal(form.isAbout({ ...entry, state: "sent" }, "/surfaces/1/cleanings/new/"), false)
  assert.equal(form.isAbout(entry, "/surfaces/2/cleanings/new/"), false)
})

test("a link to the form of another method, or to the entry itself, is not marked", () => {
  const entry = { page: "/rounds/1/tests/new/?method=ring&location=2", state: "waiting" }

  assert.equal(form.isAbout(entry, "/rounds/1/tests/new/?method=ring"), true)
  assert.equal(form.isAbout(entry, "/rounds/1/tests/new/"), true)
  assert.equal(form.isAbout(entry, "/rounds/1/tests/new/?method=flooding"), false)
  assert.equal(form.isAbout(entry, "/rounds/1/tests/new/?method=ring&queued=7"), false)
})
