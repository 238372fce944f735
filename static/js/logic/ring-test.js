/*
 * The constant-head single-ring test while it is being taken. The server computes the result
 * that is kept; this shows it early, in the same words.
 *
 * Source: ASTM C1701/C1701M and C1781/C1781M; constants and tolerances from memory, verify
 * against the current edition.
 */

const PREWET_SWITCH_S = 30
export const LONGEST_START_DELAY_S = 120
export const LONGEST_REPEAT_GAP_MIN = 5
const MOST_TESTS_PER_SPOT_AND_DAY = 2
const LEAST_PREWET_SHARE = 0.5
const FASTEST_MM_H = 200_000

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

/** Three digits, as rates are shown once they are stored: no powers of ten, a narrow space between thousands. */
export function threeDigits(rate) {
  const shown = Number(rate.toPrecision(3))
  if (Math.abs(shown) < 10_000) return shown.toFixed(10).replace(/\.?0+$/, "")
  return shown.toLocaleString("en", { maximumFractionDigits: 0 }).replaceAll(",", "\u202f")
}

/** The mean of a second test with the first at the spot, in words; null without a first one. */
export function meanOfTwo(first, rate, ending, system) {
  if (!first || first.tests !== 1 || first.rate_mm_h === null) return null
  const { units, mmPerHour } = PROCEDURES[system]
  const mean = (first.rate_mm_h / mmPerHour + rate) / 2
  const signs = new Set([first.bound === "=" ? "" : first.bound, boundSign(ending)].filter((sign) => sign !== ""))
  if (signs.size > 1) return `Mean of the two: about ${threeDigits(mean)} ${units.rate}, bounded on both sides`
  return `Mean of the two: ${[...signs, threeDigits(mean)].join(" ")} ${units.rate}`
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
  const message =
    `Ring diameter ${plain(ringDiameter)} ${units.length} is outside ` +
    `${plain(diameter.least)} to ${plain(diameter.most)} ${units.length}. ` +
    "Use a ring of the standard size; the rate was computed with the diameter as measured."
  return ["ring_diameter", message]
}

function checkPrewetMass({ prewetMass, prewetTimeS, system }) {
  const { small, units } = PROCEDURES[system]
  if (prewetTimeS === null || prewetMass === null || within(prewetMass, small)) return null
  const message =
    `Prewet mass ${plain(prewetMass)} ${units.mass} is outside ${massRange(small, units.mass)}. ` +
    "Weigh the prewet water; its time decides the test mass."
  return [prewetMass < LEAST_PREWET_SHARE * small.mass ? "prewet_too_little" : "prewet_mass", message]
}

function nearest(testMass, { small, large }) {
  return testMass > (small.mass + large.mass) / 2 ? large : small
}

function checkTestMass({ testMass, system }) {
  const { small, large, units } = PROCEDURES[system]
  if (testMass === null || within(testMass, nearest(testMass, PROCEDURES[system]))) return null
  const message =
    `Test mass ${plain(testMass)} ${units.mass} is outside ` +
    `${massRange(small, units.mass)} or ${massRange(large, units.mass)}. ` +
    "The rate was computed with the mass as recorded; weigh the water next time."
  return ["test_mass", message]
}

/** A repeat without prewetting takes the mass that the first test's prewet time chose. */
function decidingPrewetTime({ prewetTimeS, rewetted, firstPrewetTimeS }) {
  return prewetTimeS !== null || rewetted !== false ? prewetTimeS : (firstPrewetTimeS ?? null)
}

function checkMassRule(reading) {
  const { testMass, system } = reading
  const time = decidingPrewetTime(reading)
  if (time === null || testMass === null) return null
  const required = requiredTestMass(time, system)
  const used = nearest(testMass, PROCEDURES[system]).mass
  if (used === required) return null
  const unit = PROCEDURES[system].units.mass
  const message =
    `Prewetting took ${plain(time)} s, which asks for ${plain(required)} ${unit}, but the test used ` +
    `${plain(testMass)} ${unit}. Repeat with ${plain(required)} ${unit} ` +
    `(${PREWET_SWITCH_S} s or more: the small mass; less: the large mass).`
  return [required > used ? "mass_for_prewet_time" : "more_water_than_asked", message]
}

function checkStartDelay({ startDelayS, rewetted }) {
  if (startDelayS === null || rewetted === false || startDelayS <= LONGEST_START_DELAY_S) return null
  const message =
    `The test started ${plain(startDelayS)} s after prewetting ended; at most ${LONGEST_START_DELAY_S} s is allowed. ` +
    "Prewet again and start sooner, since a surface that dries takes water faster."
  return ["start_delay", message]
}

function checkRepeats({ sequence }) {
  if (sequence === null || sequence === undefined || sequence <= MOST_TESTS_PER_SPOT_AND_DAY) return null
  const message =
    `This is test ${sequence} at this spot that day; at most ${MOST_TESTS_PER_SPOT_AND_DAY} tests a day are allowed. ` +
    "Test another spot, or come back on another day."
  return ["too_many_tests", message]
}

function checkRepeatGap({ sequence, rewetted, minutesSinceFirst, testStarted }) {
  if (!testStarted || rewetted !== false) return null
  if (sequence === 1) {
    return [
      "not_prewetted",
      "The first test at a spot was run without prewetting. Prewet the spot and repeat the test.",
    ]
  }
  if (minutesSinceFirst !== null && minutesSinceFirst <= LONGEST_REPEAT_GAP_MIN) return null
  const said = minutesSinceFirst === null ? "at an unrecorded time" : `${plain(minutesSinceFirst)} min`
  const message =
    `The repeat without new prewetting started ${said} after the first test; ` +
    `at most ${LONGEST_REPEAT_GAP_MIN} min after the first is allowed. Prewet again before a later repeat.`
  return ["repeat_gap", message]
}

function checkPrewetMissing({ prewetTimeS, rewetted, testStarted, system }) {
  if (!testStarted || rewetted === false || prewetTimeS !== null) return null
  const { small, units } = PROCEDURES[system]
  const message =
    `No prewetting was recorded. Prewet with ${plain(small.mass)} ${units.mass} and time it, ` +
    "so that the right test mass can be chosen."
  return ["prewet_missing", message]
}

function checkLeak({ leakSeen }) {
  if (!leakSeen) return null
  const message =
    "Water left past the seal, so the rate is at most this. Seal again and repeat the test, then set this one aside."
  return ["leak", message]
}

function checkFastest({ testMass, ringDiameter, elapsedS, system }) {
  const rate = ringRate({ mass: testMass, diameter: ringDiameter, elapsedS, system })
  const { units, mmPerHour } = PROCEDURES[system]
  if (rate === null || rate * mmPerHour <= FASTEST_MM_H) return null
  const message =
    `${threeDigits(rate)} ${units.rate} is faster than open gravel drains ` +
    `(${threeDigits(FASTEST_MM_H / mmPerHour)} ${units.rate}). ` +
    "Check mass or volume, sizes and time, and correct them; until then this test does not count."
  return ["faster_than_gravel", message]
}

const CHECKS = [
  checkDiameter,
  checkPrewetMissing,
  checkPrewetMass,
  checkTestMass,
  checkMassRule,
  checkStartDelay,
  checkRepeats,
  checkRepeatGap,
  checkLeak,
  checkFastest,
]

const EFFECTS = {
  mass_for_prewet_time: "voids",
  too_many_tests: "voids",
  faster_than_gravel: "voids",
  bounded_both_ways: "voids",
  prewet_missing: "bounds",
  not_prewetted: "bounds",
  prewet_too_little: "bounds",
  start_delay: "bounds",
  repeat_gap: "bounds",
  leak: "bounds",
}

const BOTH_WAYS =
  "The water drained too fast to hold the head, so the rate is at least this, and another deviation makes " +
  "it at most this: the test says nothing. Repeat it by the method."

function effectOf(key) {
  return EFFECTS[key] ?? "note"
}

/**
 * Every deviation from the method that can be seen so far: its key, what it does to the result, and words.
 *
 * @param reading {system, ringDiameter, prewetMass, prewetTimeS, startDelayS, testMass, elapsedS, ended, sequence,
 *   rewetted, minutesSinceFirst, firstPrewetTimeS, leakSeen, testStarted}; null for what is not there yet. Before the
 *   test has started, what is missing can still be done, and is not said.
 * @returns {{key: string, effect: "voids" | "bounds" | "note", message: string}[]}
 */
export function deviations(reading) {
  const found = CHECKS.map((check) => check(reading)).filter((each) => each !== null)
  const bounds = found.some(([key]) => effectOf(key) === "bounds")
  if (bounds && reading.ended === "too_fast") found.push(["bounded_both_ways", BOTH_WAYS])
  return found.map(([key, message]) => ({ key, effect: effectOf(key), message }))
}

/** The sign before a rate once its deviations are known: "<" where it is at most what was read. */
export function signWith(ending, found) {
  if (!found.some(({ effect }) => effect === "bounds")) return boundSign(ending)
  return ending === "too_fast" ? "~" : "<"
}

const SAID = {
  voids: "This test will not count.",
  bounds: "This test will count as an upper bound only: it can show that the surface fails, never that it passes.",
}

/** What the deviations found do to the result, the worst first; null while there are only notes. */
export function standing(found) {
  for (const effect of ["voids", "bounds"]) {
    if (found.some((each) => each.effect === effect)) return `${SAID[effect]} Correct it now if you can.`
  }
  return null
}

/** What a field should hold after the unit system changed: a nominal value follows, a measured one stays. */
export function nominalInstead(field, value, from, to) {
  const nominal = (system) =>
    field === "ring_diameter" ? PROCEDURES[system].diameter.nominal : PROCEDURES[system].small.mass
  return value === nominal(from) ? nominal(to) : value
}
