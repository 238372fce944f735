import assert from "node:assert/strict"
import { test } from "node:test"
import { hints, rateSoFar } from "../../static/js/logic/field-tests.js"
import { earlierAtSpot, repeatText } from "../../static/js/logic/repeats.js"
import { deviations, meanOfTwo } from "../../static/js/logic/ring-test.js"

test("a rate shows as soon as one run is complete, and is the mean of those that are", () => {
  const once = { inner_side: 1000, drop: 20, outer_level: true }

  assert.equal(rateSoFar("square_double_ring", once, [{ elapsed_s: null }], "si"), null)
  assert.equal(rateSoFar("square_double_ring", once, [{ elapsed_s: 240 }, { elapsed_s: null }], "si"), 300)
  assert.equal(rateSoFar("square_double_ring", once, [{ elapsed_s: 240 }, { elapsed_s: 120 }], "si"), 450)
})

test("screening and relative methods show no rate", () => {
  assert.equal(rateSoFar("spreading_area", { volume: 10, wetted_area: 2 }, [], "si"), null)
  assert.equal(rateSoFar("outflow_meter", { outlet_only_s: 2 }, [{ outflow_s: 12 }], "si"), null)
})

test("the floodings that are missing are counted", () => {
  const run = { level_start: 90, level_end: 60, elapsed_s: 720 }
  const empty = { level_start: null, level_end: null, elapsed_s: null }

  assert.deepEqual(hints("flooding", { dam_tight: true }, [run, empty, empty], "si"), [
    { effect: "bounds", message: "1 of at least 3 floodings. Flood 2 more." },
  ])
  assert.deepEqual(hints("flooding", { dam_tight: true }, [run, run, run], "si"), [])
})

test("floodings before the rate has levelled off stay out of the rate, and more are asked for until three agree", () => {
  const run = (elapsed_s) => ({ level_start: 90, level_end: 60, elapsed_s })
  const falling = [run(300), run(500), run(720), run(720)]

  assert.equal(rateSoFar("flooding", { dam_tight: true }, falling, "si"), 150)
  assert.deepEqual(hints("flooding", { dam_tight: true }, falling, "si"), [
    { effect: "bounds", message: "The rate has not levelled off. Flood 1 more, until three in a row agree." },
  ])
  assert.deepEqual(hints("flooding", { dam_tight: true }, [...falling, run(720)], "si"), [])
})

test("a reading faster than open gravel is told before it is saved, by each method's own measure", () => {
  const square = [{ elapsed_s: 0.3 }]

  assert.equal(hints("square_double_ring", { drop: 20, outer_level: true }, square, "si")[0].effect, "voids")
  assert.deepEqual(hints("square_double_ring", { drop: 20, outer_level: true }, [{ elapsed_s: 0.4 }], "si"), [])
})

test("a spot is found again by its location or its words", () => {
  const spots = { "id-1": { tests: 1 }, "spot gate": { tests: 2 } }

  assert.equal(earlierAtSpot(spots, "id-1", "").tests, 1)
  assert.equal(earlierAtSpot(spots, "", "gate").tests, 2)
  assert.equal(earlierAtSpot(spots, "id-2", "gate"), null)
})

test("a repeat is told how long it may still start without new prewetting", () => {
  const earlier = { tests: 1, ended_ms: 0 }

  assert.match(repeatText(earlier, 60_000, 5), /Start within 4:00/)
  assert.match(repeatText(earlier, 301_000, 5), /more than 5 min ago: prewet again/)
  assert.match(repeatText({ tests: 1, ended_ms: null }, 0, 5), /not recorded: prewet again/)
  assert.match(repeatText({ tests: 2, ended_ms: 0 }, 0, 5), /Choose another spot/)
})

test("the mean of the two carries the bound of either", () => {
  const first = { tests: 1, rate_mm_h: 400, bound: "=" }

  assert.equal(meanOfTwo(first, 600, "drained", "si"), "Mean of the two: 500 mm/h")
  assert.equal(meanOfTwo(first, 600, "still_ponded", "si"), "Mean of the two: < 500 mm/h")
  assert.match(meanOfTwo({ ...first, bound: ">" }, 600, "still_ponded", "si"), /bounded on both sides/)
  assert.equal(meanOfTwo(null, 600, "drained", "si"), null)
})

test("what is missing is said only once the test has started", () => {
  const reading = { system: "si", ringDiameter: 300, prewetMass: 3.6, prewetTimeS: null, startDelayS: null, testMass: null, sequence: 1, rewetted: true, minutesSinceFirst: null, leakSeen: false }

  assert.deepEqual(deviations({ ...reading, testStarted: false }), [])
  assert.match(deviations({ ...reading, testStarted: true })[0].message, /No prewetting was recorded/)
  assert.match(deviations({ ...reading, rewetted: false, testStarted: true })[0].message, /run without prewetting/)
})
