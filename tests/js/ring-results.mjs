/* Reads readings of the ring or of another method as JSON on standard input, writes what the page would show. */
import { readFileSync } from "node:fs"
import { rateSoFar } from "../../static/js/logic/field-tests.js"
import { boundSign, deviations, requiredTestMass, ringRate } from "../../static/js/logic/ring-test.js"

function shown(reading) {
  if (reading.method) return rateSoFar(reading.method, reading.once, reading.runs, reading.system)
  const { system, ringDiameter: diameter, testMass: mass, elapsedS, prewetTimeS, ended } = reading
  return {
    rate: ringRate({ mass, diameter, elapsedS, system }),
    bound: boundSign(ended) || "=",
    mass: prewetTimeS === null ? null : requiredTestMass(prewetTimeS, system),
    deviations: deviations(reading),
  }
}

process.stdout.write(JSON.stringify(JSON.parse(readFileSync(0, "utf8")).map(shown)))
