/* Reads ring readings as JSON on standard input, writes what the page would show. */
import { readFileSync } from "node:fs"
import { boundSign, deviations, requiredTestMass, ringRate } from "../../static/js/logic/ring-test.js"

function shown(reading) {
  const { system, ringDiameter: diameter, testMass: mass, elapsedS, prewetTimeS, ended } = reading
  return {
    rate: ringRate({ mass, diameter, elapsedS, system }),
    bound: boundSign(ended) || "=",
    mass: prewetTimeS === null ? null : requiredTestMass(prewetTimeS, system),
    deviations: deviations(reading),
  }
}

process.stdout.write(JSON.stringify(JSON.parse(readFileSync(0, "utf8")).map(shown)))
