/*
 * Reads readings of the ring or of another method as JSON on standard input, writes what the page would show;
 * or calls one function of the ring's module by name; or says what is wrong with an outline.
 */
import { readFileSync } from "node:fs"
import { rateSoFar } from "../../static/js/logic/field-tests.js"
import { faultOf, faultSoFar, faultWords } from "../../static/js/logic/outline.js"
import * as ring from "../../static/js/logic/ring-test.js"

const { deviations, requiredTestMass, ringRate, signWith } = ring

function wrongWith({ outline, system }) {
  const fault = faultOf(outline, system)
  return fault && faultWords(fault, outline.length, system)
}

function shown(reading) {
  if (reading.outline) return wrongWith(reading)
  if (reading.typed) return faultSoFar(reading.typed, reading.system)?.words ?? null
  if (reading.call) return ring[reading.call](...reading.with)
  if (reading.method) return rateSoFar(reading.method, reading.once, reading.runs, reading.system)
  const { system, ringDiameter: diameter, testMass: mass, elapsedS, prewetTimeS, ended } = reading
  const found = deviations(reading)
  return {
    rate: ringRate({ mass, diameter, elapsedS, system }),
    bound: signWith(ended, found) || "=",
    mass: prewetTimeS === null ? null : requiredTestMass(prewetTimeS, system),
    deviations: found,
  }
}

process.stdout.write(JSON.stringify(JSON.parse(readFileSync(0, "utf8")).map(shown)))
