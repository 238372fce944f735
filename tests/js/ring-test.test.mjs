import assert from "node:assert/strict"
import { test } from "node:test"
import {
  boundSign,
  deviations,
  nominalInstead,
  requiredTestMass,
  ringRate,
  secondsToShowBelow,
  signWith,
  standing,
} from "../../static/js/logic/ring-test.js"

const GOOD = { system: "si", ringDiameter: 300, prewetMass: 3.6, prewetTimeS: 20, startDelayS: 60, testMass: 18 }

function near(actual, expected, share = 1e-4) {
  assert.ok(Math.abs(actual / expected - 1) < share, `${actual} is not near ${expected}`)
}

test("the large mass follows a prewetting under 30 s, the small one from 30 s on", () => {
  assert.equal(requiredTestMass(29.9, "si"), 18)
  assert.equal(requiredTestMass(30, "si"), 3.6)
  assert.equal(requiredTestMass(29.9, "us"), 40)
  assert.equal(requiredTestMass(30, "us"), 8)
})

test("the rate agrees with the depth of water over the ring's area and time", () => {
  // 18 kg is 18e6 mm3 of water; over the area of a 300 mm ring in 60 s, as mm/h
  const depthRate = (18e6 / (Math.PI * 150 ** 2) / 60) * 3600

  near(ringRate({ mass: 18, diameter: 300, elapsedS: 60, system: "si" }), depthRate)
})

test("the same pour gives the same rate in both unit systems", () => {
  const si = ringRate({ mass: 18, diameter: 300, elapsedS: 100, system: "si" })
  const us = ringRate({ mass: 18 / 0.45359237, diameter: 300 / 25.4, elapsedS: 100, system: "us" })

  near(us * 25.4, si)
})

test("there is no rate while a number is missing or not above zero", () => {
  for (const wrong of [{ mass: null }, { diameter: 0 }, { elapsedS: 0 }, { elapsedS: -1 }, { mass: NaN }]) {
    assert.equal(ringRate({ mass: 18, diameter: 300, elapsedS: 60, system: "si", ...wrong }), null)
  }
})

test("the time that shows a rate to be below the limit gives that very limit as rate", () => {
  const setting = { mass: 8, diameter: 12, system: "us" }

  const elapsedS = secondsToShowBelow(254, setting)

  near(ringRate({ ...setting, elapsedS }) * 25.4, 254)
  near(elapsedS, 704.8)
})

test("without a mass there is no such time", () => {
  assert.equal(secondsToShowBelow(254, { mass: null, diameter: 300, system: "si" }), null)
})

test("a test to the method has no deviations", () => {
  assert.deepEqual(deviations(GOOD), [])
})

test("masses at the very edge of the tolerance are allowed", () => {
  assert.deepEqual(deviations({ ...GOOD, prewetMass: 3.65, testMass: 18.05 }), [])
})

test("what has not been entered yet is no deviation", () => {
  const empty = { system: "us", ringDiameter: null, prewetMass: null, prewetTimeS: null, startDelayS: null, testMass: null }

  assert.deepEqual(deviations(empty), [])
})

test("a start after two minutes is said with its time and the remedy", () => {
  const [{ message, effect }] = deviations({ ...GOOD, startDelayS: 120.1 })

  assert.match(message, /started 120\.1 s .* at most 120 s .* Prewet again/)
  assert.equal(effect, "bounds")
})

test("a start at two minutes is allowed", () => {
  assert.deepEqual(deviations({ ...GOOD, startDelayS: 120 }), [])
})

test("the wrong mass for the prewet time is told with the right one", () => {
  const [{ message }, ...rest] = deviations({ ...GOOD, prewetTimeS: 45 })

  assert.match(message, /took 45 s, which asks for 3\.6 kg, but the test used 18 kg/)
  assert.deepEqual(rest, [])
})

test("each thing that is off is named once", () => {
  const found = deviations({ ...GOOD, ringDiameter: 280, prewetMass: 4, testMass: 17, startDelayS: 200 })

  assert.deepEqual(
    found.map(({ message }) => message.split(" ").slice(0, 2).join(" ")),
    ["Ring diameter", "Prewet mass", "Test mass", "The test"],
  )
})

test("what a departure does to the result is told with the worst first, and a note does nothing", () => {
  const void_ = deviations({ ...GOOD, testMass: 3.6, leakSeen: true })

  assert.match(standing(void_), /^This test will not count\. Correct it now/)
  assert.match(standing(deviations({ ...GOOD, leakSeen: true })), /^This test will count as an upper bound only/)
  assert.equal(standing(deviations({ ...GOOD, prewetMass: 4 })), null)
})

test("too fast to hold the head and a leak besides bound the rate on both sides", () => {
  const found = deviations({ ...GOOD, leakSeen: true, ended: "too_fast" })

  assert.equal(found.at(-1).key, "bounded_both_ways")
  assert.equal(signWith("too_fast", found), "~")
  assert.equal(signWith("drained", deviations({ ...GOOD, leakSeen: true })), "<")
})

test("only the ending decides whether the rate is a bound", () => {
  assert.deepEqual(["drained", "still_ponded", "too_fast", ""].map(boundSign), ["", "<", ">", ""])
})

test("a nominal value follows the unit system and a measured one stays", () => {
  assert.equal(nominalInstead("ring_diameter", 300, "si", "us"), 12)
  assert.equal(nominalInstead("prewet_mass", 8, "us", "si"), 3.6)
  assert.equal(nominalInstead("ring_diameter", 298, "si", "us"), 298)
})
