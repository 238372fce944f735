import assert from "node:assert/strict"
import { test } from "node:test"
import * as queue from "../../static/js/logic/queue.js"

const ME = "7"
const NOW = Date.parse("2026-05-04T10:00:00Z")
const A = "aaaaaaaa-0000-4000-8000-000000000000"
const B = "bbbbbbbb-0000-4000-8000-000000000000"

const entry = (changes = {}) => ({
  id: A,
  path: "/rounds/1/tests/new/",
  madeAt: "2026-05-04T09:00:00.000Z",
  number: 0,
  person: ME,
  state: queue.WAITING,
  fields: [["note", "x"]],
  files: [],
  title: "Ring test",
  about: "Court",
  ...changes,
})
const ids = (entries) => entries.map(({ id }) => id)

test("what waits is sent in the order it was made, also after what was being sent", () => {
  const later = entry({ id: B, madeAt: "2026-05-04T09:30:00.000Z", state: queue.SENDING })

  assert.deepEqual(ids(queue.ready([later, entry()], ME, NOW)), [A, B])
})

test("two of one moment are sent by their number", () => {
  assert.deepEqual(ids(queue.ready([entry({ id: B, number: 1 }), entry()], ME, NOW)), [A, B])
})

test("nothing of somebody else is sent", () => {
  assert.deepEqual(queue.ready([entry({ person: "8" })], ME, NOW), [])
})

test("nothing is sent before its next turn", () => {
  assert.deepEqual(queue.ready([entry({ nextAt: NOW + 1 })], ME, NOW), [])
  assert.deepEqual(ids(queue.ready([entry({ nextAt: NOW })], ME, NOW)), [A])
})

for (const state of [queue.SENT, queue.PARKED, queue.KEEPING]) {
  test(`what is ${state} is not sent`, () => {
    assert.deepEqual(queue.ready([entry({ state })], ME, NOW), [])
  })
}

for (const [state, expected] of [
  [queue.WAITING, [A]],
  [queue.PARKED, []],
  [queue.SENT, [B]],
]) {
  test(`a test waits for its round alone, which is ${state}`, () => {
    const round = entry({ path: "/surfaces/1/rounds/new/", state })
    const its = entry({ id: B, path: `/rounds/{entry:${A}}/tests/new/`, madeAt: "2026-05-04T09:10:00.000Z" })

    assert.deepEqual(ids(queue.ready([round, its], ME, NOW)), expected)
  })
}

test("a parked round does not hold back the tests of another", () => {
  const other = entry({ id: B, path: "/rounds/2/tests/new/" })

  assert.deepEqual(ids(queue.ready([entry({ state: queue.PARKED }), other], ME, NOW)), [B])
})

test("an entry whose parent is no longer kept here is sent: the server knows it", () => {
  assert.equal(queue.ready([entry({ path: `/rounds/{entry:${B}}/tests/new/` })], ME, NOW).length, 1)
})

test("a clock that was set back does not hold an entry for days", () => {
  assert.deepEqual(ids(queue.ready([entry({ nextAt: NOW + queue.LONGEST_WAIT_MS + 1 })], ME, NOW)), [A])
  assert.deepEqual(queue.ready([entry({ nextAt: NOW + queue.LONGEST_WAIT_MS })], ME, NOW), [])
})

test("what waits for a parked parent has no next turn", () => {
  const child = entry({ id: B, path: `/rounds/{entry:${A}}/tests/new/` })

  assert.equal(queue.nextTry([entry({ state: queue.PARKED }), child], ME), null)
})

test("children are found with their own", () => {
  const photos = entry({ id: "c", path: `/tests/{entry:${B}}/files/new/` })
  const its = entry({ id: B, path: `/rounds/{entry:${A}}/tests/new/` })

  assert.deepEqual(ids(queue.childrenOf([entry(), its, photos], A)), [B, "c"])
})

test("what was mended while it was being sent is sent once more", () => {
  const answer = { kind: "stored", url: "/x/" }
  const changed = queue.mended(entry({ revision: 0 }), [["note", "y"]], (name) => name === "note")

  assert.deepEqual(changed.fields, [["note", "y"]])
  assert.equal(queue.afterAnswer(changed, answer, NOW, 0).state, queue.WAITING)
  assert.equal(queue.afterAnswer(changed, answer, NOW, 1).state, queue.SENT)
})

test("what the page no longer asks stays as it was typed", () => {
  const two = entry({
    fields: [
      ["1-reading", "3"],
      ["2-reading", "4"],
    ],
  })

  assert.deepEqual(queue.mended(two, [["2-reading", "5"]], (name) => name === "2-reading").fields, [
    ["1-reading", "3"],
    ["2-reading", "5"],
  ])
})

test("an entry is kept as it is by the ticks that were asked for", () => {
  const asked = entry({ state: queue.PARKED, answer: { asks: ["keep_anyway"] } })

  assert.deepEqual(queue.keptAsIs(asked).fields, [
    ["note", "x"],
    ["keep_anyway", "on"],
  ])
  assert.equal(queue.keptAsIs(asked).state, queue.WAITING)
})

test("what was stored with a warning is to be looked at until somebody did", () => {
  const sent = queue.afterAnswer(entry(), { kind: "stored", url: "/x/", notes: ["n"], warnings: ["n"] }, NOW)

  assert.equal(queue.inWords(queue.counts([sent], ME)), "1 to look at")
})

test("the wait doubles from two seconds to five minutes", () => {
  assert.deepEqual([1, 2, 3, 8, 9, 40].map(queue.waitMs), [2000, 4000, 8000, 256000, 300000, 300000])
})

test("the next try is that of the entry whose turn is first", () => {
  assert.equal(queue.nextTry([entry({ nextAt: 9 }), entry({ nextAt: 5 }), entry({ nextAt: 1, person: "8" })], ME), 5)
  assert.equal(queue.nextTry([entry({ state: queue.PARKED })], ME), null)
})

const ANSWERS = [
  [200, { id: A, url: "/x/" }, "stored"],
  [200, null, "again"], // a page in place of an answer: a sign-in, or whoever runs the network
  [200, {}, "again"],
  [200, { id: B }, "again"], // another's answer
  [401, { code: "signed_out" }, "signedOut"],
  [403, null, "token"],
  [403, { code: "no_role" }, "refused"],
  [403, { code: "other_person" }, "otherPerson"],
  [403, { code: "second_factor" }, "signedOut"],
  [507, { code: "no_room" }, "again"],
  [404, { code: "not_found" }, "refused"],
  [404, null, "again"],
  [409, { code: "stored_otherwise" }, "refused"],
  [413, null, "tooLarge"],
  [413, { code: "too_large" }, "tooLarge"],
  [422, { code: "refused" }, "refused"],
  [424, { code: "waits_for" }, "waits"],
  [429, { code: "slow_down" }, "again"],
  [500, null, "again"],
  [502, { code: "proxy" }, "again"],
  [0, null, "again"], // a redirect, not followed
]

for (const [status, json, kind] of ANSWERS) {
  test(`${status} with ${JSON.stringify(json)} means ${kind}`, () => {
    assert.equal(queue.meaning(status, json, A).kind, kind)
  })
}

test("what was stored is kept as sent with its place and what the server said", () => {
  const after = queue.afterAnswer(
    entry({ attempts: 3 }),
    queue.meaning(200, { id: A, url: "/x/", pk: B, notes: ["n"] }, A),
    NOW,
  )

  assert.equal(after.state, queue.SENT)
  assert.equal(after.sentAt, NOW)
  assert.deepEqual(after.answer, { url: "/x/", pk: B, notes: ["n"], warnings: [], isSeen: true })
})

test("what was refused is parked with its reasons, and keeps what was typed", () => {
  const errors = [{ field: "elapsed_s", label: "Time", text: "Enter a number." }]
  const after = queue.afterAnswer(
    entry(),
    queue.meaning(422, { code: "refused", errors, asks: ["keep_anyway"], text: "Time: Enter a number." }),
    NOW,
  )

  assert.equal(after.state, queue.PARKED)
  assert.deepEqual(queue.reasons(after), ["Time: Enter a number."])
  assert.deepEqual(after.answer.asks, ["keep_anyway"])
  assert.deepEqual(after.fields, entry().fields)
})

for (const kind of ["again", "noSignal", "signedOut", "otherPerson", "token", "waits"]) {
  test(`after "${kind}" it waits, longer each time`, () => {
    const once = queue.afterAnswer(entry(), { kind }, NOW)
    const twice = queue.afterAnswer(once, { kind }, NOW)

    assert.equal(once.state, queue.WAITING)
    assert.deepEqual([once.nextAt, twice.nextAt], [NOW + 2000, NOW + 4000])
  })
}

test("what was being sent when the page went away waits again", () => {
  assert.equal(queue.takenUp(entry({ state: queue.SENDING, nextAt: 9 }), [], NOW).nextAt, 0)
  assert.equal(queue.takenUp(entry({ state: queue.SENDING }), [], NOW).state, queue.WAITING)
})

const FILES = [
  { number: 0, name: "a.jpg" },
  { number: 1, name: "b.jpg" },
]

test("what is still being kept is left alone for a minute", () => {
  const young = entry({ state: queue.KEEPING, files: FILES, madeAt: new Date(NOW - 59_000).toISOString() })

  assert.equal(queue.takenUp(young, [], NOW), young)
  assert.equal(queue.takenUp(young, FILES, NOW + 1_000).state, queue.WAITING)
  assert.equal(queue.takenUp(young, FILES, NOW - 86_400_000).state, queue.WAITING) // the clock was set back
})

test("what has all its files goes on, what lost some asks a person", () => {
  const old = entry({ state: queue.KEEPING, files: FILES })
  const lost = queue.takenUp(old, FILES.slice(1), NOW)

  assert.equal(queue.takenUp(old, FILES, NOW).state, queue.WAITING)
  assert.equal(lost.state, queue.PARKED)
  assert.deepEqual(lost.files, FILES.slice(1))
  assert.match(queue.reasons(lost)[0], /^1 of 2 files could be kept/)
})

test("files that are too much at once are divided, and keep their order", () => {
  const three = entry({ onlyFiles: true, files: [...FILES, { number: 2, name: "c.jpg" }] })
  const [first, second] = queue.halves(three, B)

  assert.deepEqual([first.id, first.files.map((f) => f.name)], [A, ["a.jpg", "b.jpg"]])
  assert.deepEqual([second.id, second.files.map((f) => f.name), second.number], [B, ["c.jpg"], 1])
})

test("two files are divided too", () => {
  assert.deepEqual(
    queue.halves(entry({ onlyFiles: true, files: FILES }), B).map(({ files }) => files.length),
    [1, 1],
  )
})

test("one file, or files with readings, cannot be divided", () => {
  assert.equal(queue.halves(entry({ onlyFiles: true, files: FILES.slice(1) }), B), null)
  assert.equal(queue.halves(entry({ files: FILES }), B), null)
})

test("the office is told what is held, with the reason of what was refused", () => {
  const parked = entry({ id: B, state: queue.PARKED, answer: { text: "Set aside.", errors: [] } })
  const held = queue.heldOf([entry(), parked, entry({ state: queue.SENT }), entry({ person: "8" })], ME)

  assert.deepEqual(
    held.map(({ id, state, reason }) => [id, state, reason]),
    [
      [A, "waiting", ""],
      [B, "parked", "Set aside."],
    ],
  )
})

test("what a restored server no longer has is sent once more", () => {
  const sent = [entry({ state: queue.SENT }), entry({ id: B, state: queue.SENT })]

  assert.deepEqual(
    queue.lostByServer(sent, [B]).map(({ id, state }) => [id, state]),
    [[B, queue.WAITING]],
  )
  assert.deepEqual(queue.lostByServer([entry({ id: B, state: queue.PARKED })], [B]), [])
})

test("what was sent is kept for thirty days, what was not for ever", () => {
  const old = { sentAt: NOW - queue.SENT_KEPT_MS - 1 }

  assert.deepEqual(
    queue.outdated([entry({ state: queue.SENT, ...old }), entry({ id: B, state: queue.PARKED, ...old })], NOW),
    [A],
  )
  assert.deepEqual(queue.outdated([entry({ state: queue.SENT, sentAt: NOW - queue.SENT_KEPT_MS })], NOW), [])
})

test("the office is told no more words than it takes, and which firm they are for", () => {
  const long = entry({ state: queue.PARKED, firm: "f", answer: { text: "x".repeat(5000) } })

  assert.equal(queue.heldOf([long], ME)[0].reason.length, 400)
  assert.equal(queue.heldOf([long], ME)[0].firm, "f")
})

test("the bar says how many are to be sent and how many were refused", () => {
  const entries = [entry(), entry({ state: queue.KEEPING }), entry({ state: queue.PARKED }), entry({ person: "8" })]

  assert.equal(queue.inWords(queue.counts(entries, ME)), "2 to send, 1 refused")
  assert.equal(queue.counts(entries, ME).ofOthers, 1)
  assert.equal(queue.inWords(queue.counts([entry({ state: queue.SENT })], ME)), "")
})

test("the offset of a clock is the server's time against the middle of asking", () => {
  assert.equal(queue.offsetMs("2026-05-04T10:00:10Z", NOW, NOW + 2000), 9000)
})

test("what goes beside an entry names its clock, and when it is sent", () => {
  const meta = queue.metaOf(entry({ byClock: ["tested_on"] }), "2026-05-04T10:00:00.000Z")

  assert.deepEqual(
    [meta.made_at, meta.sent_at, meta.by_clock],
    ["2026-05-04T09:00:00.000Z", "2026-05-04T10:00:00.000Z", ["tested_on"]],
  )
  assert.deepEqual([meta.known_offset_ms, meta.known_at], [null, null])
})
