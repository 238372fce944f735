import assert from "node:assert/strict"
import { test } from "node:test"
import { BOUNCE_MS, clockFace, elapsedMs, IDLE, isBounce, restored, seconds, start, stop, undo } from "../../static/js/logic/stopwatch.js"

const HOUR = 3600 * 1000

test("a reading is the time between start and stop", () => {
  const state = stop(start(IDLE, 1000), 13345)

  assert.equal(elapsedMs(state, 99999), 12345)
})

test("a running clock goes on with the time", () => {
  const state = start(IDLE, 1000)

  assert.equal(elapsedMs(state, 4000), 3000)
})

test("starting a running clock does not lose the start", () => {
  const running = start(IDLE, 1000)

  assert.equal(start(running, 2000), running)
})

test("stopping a clock that does not run changes nothing", () => {
  assert.equal(stop(IDLE, 1000), IDLE)
})

test("taking back a stop lets the clock run on from its first start", () => {
  const state = undo(stop(start(IDLE, 1000), 2000))

  assert.equal(state.status, "running")
  assert.equal(elapsedMs(state, 5000), 4000)
})

test("taking back a start that overwrote a reading brings the reading back", () => {
  const read = stop(start(IDLE, 1000), 2000)

  const state = undo(start(read, 9000))

  assert.equal(state.status, "stopped")
  assert.equal(elapsedMs(state, 9999), 1000)
})

test("with nothing before it, taking back changes nothing", () => {
  assert.equal(undo(IDLE), IDLE)
})

test("seconds are rounded to a tenth", () => {
  assert.deepEqual([0, 49, 50, 12345, 59999].map(seconds), [0, 0, 0.1, 12.3, 60])
})

test("the face carries tenths over to seconds and minutes", () => {
  assert.deepEqual([0, 7340, 59960, 760000].map(clockFace), ["0:00.0", "0:07.3", "1:00.0", "12:40.0"])
})

test("a running clock survives a reload", () => {
  const state = restored(JSON.stringify(start(IDLE, 1000)), 61000, false)

  assert.equal(elapsedMs(state, 61000), 60000)
})

test("a stopped clock comes back after a reload and can still be taken back", () => {
  const state = restored(JSON.stringify(stop(start(IDLE, 1000), 2000)), 3000, false)

  assert.equal(state.status, "stopped")
  assert.equal(undo(state).status, "running")
})

test("an old reading does not slip into a form that was opened anew", () => {
  const text = JSON.stringify(stop(start(IDLE, 1000), 2000))

  assert.equal(restored(text, 3000, true), IDLE)
})

test("a clock that still runs is found again when one returns by a link", () => {
  const text = JSON.stringify(start(IDLE, 1000))

  assert.equal(restored(text, 3000, true).status, "running")
})

test("a clock left running overnight is not believed", () => {
  const text = JSON.stringify(start(IDLE, 0))

  assert.equal(restored(text, 5 * HOUR, false), IDLE)
})

for (const text of [null, "", "{", "[]", '{"status":"running"}', '{"status":"stopped","startedAt":1,"stoppedAt":"x"}']) {
  test(`stored text ${JSON.stringify(text)} is not believed`, () => {
    assert.equal(restored(text, 0, false), IDLE)
  })
}

test("a press within 0.7 s of the one before is the same press", () => {
  assert.equal(BOUNCE_MS, 700)
  assert.equal(isBounce(1000, 1000), true)
  assert.equal(isBounce(1000, 1699), true)
  assert.equal(isBounce(1000, 1700), false)
})

test("the first press counts, and so does one after a clock that was set back", () => {
  assert.equal(isBounce(null, 5), false)
  assert.equal(isBounce(9000, 100), false)
})
