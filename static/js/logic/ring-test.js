/*
 * The constant-head single-ring test while it is being taken. The server computes the result
 * that is kept; this shows it early, in the same words.
 *
 * Source: ASTM C1701/C1701M and C1781/C1781M; constants and tolerances from memory, verify
 * against the current edition.
 */

const PREWET_SWITCH_S = 30
export const LONGEST_START_DELAY_S = 120

/** Lengths in mm or in, masses in kg or lb; constant K in rate = K·M/(D²·t). */
export const PROCEDURES = {
  si: {
    constant: 4583666000,
    diameter: { nominal: 300, least: 290, most: 310 },
    small: { mass: 3.6, tolerance: 0.05 },
    large: { mass: 18, tolerance: 0.05 },
    units: { length: "mm", mass: "kg", rate: "mm/h" },
    mmPerHour: 1,
  },
  us: {
    constant: 126870,
    diameter: { nominal: 12, least: 11.5, most: 12.5 },
    small: { mass: 8, tolerance: 0.1 },
    large: { mass: 40, tolerance: 0.1 },
    units: { length: "in", mass: "lb", rate: "in/h" },
    mmPerHour: 25.4,
  },
}

/** Mass for the test, kg or lb: the large one when prewetting took under 30 s. */
export function requiredTestMass(prewetTimeS, system) {
  const { small, large } = PROCEDURES[system]
  return prewetTimeS < PREWET_SWITCH_S ? large.mass : small.mass
}

/** Rate in mm/h or in/h, or null while a number is missing or not above zero. */
export function ringRate({ mass, diameter, elapsedS, system }) {
  if (![mass, diameter, elapsedS].every((value) => Number.isFinite(value) && value > 0)) return null
  return (PROCEDURES[system].constant * mass) / (diameter ** 2 * elapsedS)
}

/** Seconds after which water still standing shows that the rate is below `rateMmH`; null without mass or ring. */
export function secondsToShowBelow(rateMmH, { mass, diameter, system }) {
  const atOneSecond = ringRate({ mass, diameter, elapsedS: 1, system })
  return atOneSecond === null ? null : (atOneSecond * PROCEDURES[system].mmPerHour) / rateMmH
}

const SIGN = { drained: "", still_ponded: "<", too_fast: ">" }

/** "<" or ">" when the test only bounds the rate, "" when it measured it. */
export function boundSign(ending) {
  return SIGN[ending] ?? ""
}

/** Six significant digits without padding, as the server writes numbers. */
function plain(value) {
  return String(Number(value.toPrecision(6)))
}

function within(value, { mass, tolerance }) {
  return Math.abs(value - mass) <= tolerance + 1e-9
}

function massRange({ mass, tolerance }, unit) {
  return `${(mass - tolerance).toFixed(2)} to ${(mass + tolerance).toFixed(2)} ${unit}`
}

function checkDiameter({ ringDiameter, system }) {
  const { diameter, units } = PROCEDURES[system]
  if (ringDiameter === null || (ringDiameter >= diameter.least && ringDiameter <= diameter.most)) return null
  return (
    `Ring diameter ${plain(ringDiameter)} ${units.length} is outside ` +
    `${plain(diameter.least)} to ${plain(diameter.most)} ${units.length}. ` +
    "Use a ring of the standard size; the rate was computed with the diameter as measured."
  )
}

function checkPrewetMass({ prewetMass, prewetTimeS, system }) {
  const { small, units } = PROCEDURES[system]
  if (prewetTimeS === null || prewetMass === null || within(prewetMass, small)) return null
  return (
    `Prewet mass ${plain(prewetMass)} ${units.mass} is outside ${massRange(small, units.mass)}. ` +
    "Weigh the prewet water; its time decides the test mass."
  )
}

function nearest(testMass, { small, large }) {
  return testMass > (small.mass + large.mass) / 2 ? large : small
}

function checkTestMass({ testMass, system }) {
  const { small, large, units } = PROCEDURES[system]
  if (testMass === null || within(testMass, nearest(testMass, PROCEDURES[system]))) return null
  return (
    `Test mass ${plain(testMass)} ${units.mass} is outside ` +
    `${massRange(small, units.mass)} or ${massRange(large, units.mass)}. ` +
    "The rate was computed with the mass as recorded; weigh the water next time."
  )
}

function checkMassRule({ prewetTimeS, testMass, system }) {
  if (prewetTimeS === null || testMass === null) return null
  const required = requiredTestMass(prewetTimeS, system)
  if (nearest(testMass, PROCEDURES[system]).mass === required) return null
  const unit = PROCEDURES[system].units.mass
  return (
    `Prewetting took ${plain(prewetTimeS)} s, which asks for ${plain(required)} ${unit}, but the test used ` +
    `${plain(testMass)} ${unit}. Repeat with ${plain(required)} ${unit} ` +
    `(${PREWET_SWITCH_S} s or more: the small mass; less: the large mass).`
  )
}

function checkStartDelay({ startDelayS }) {
  if (startDelayS === null || startDelayS <= LONGEST_START_DELAY_S) return null
  return (
    `The test started ${plain(startDelayS)} s after prewetting ended; at most ${LONGEST_START_DELAY_S} s is allowed. ` +
    "Prewet again and start sooner, since a surface that dries takes water faster."
  )
}

const CHECKS = [checkDiameter, checkPrewetMass, checkTestMass, checkMassRule, checkStartDelay]

/**
 * Every departure from the method that can be seen so far, in words.
 *
 * @param reading {system, ringDiameter, prewetMass, prewetTimeS, startDelayS, testMass}; null for what is not there yet
 * @returns {string[]}
 */
export function deviations(reading) {
  return CHECKS.map((check) => check(reading)).filter((message) => message !== null)
}

/** What a field should hold after the unit system changed: a nominal value follows, a measured one stays. */
export function nominalInstead(field, value, from, to) {
  const nominal = (system) =>
    field === "ring_diameter" ? PROCEDURES[system].diameter.nominal : PROCEDURES[system].small.mass
  return value === nominal(from) ? nominal(to) : value
}
