/*
 * The constant-head single-ring test while it is being taken. The server computes the result
 * that is kept; this shows it early, in the same words.
 *
 * Source: ASTM C1701/C1701M and C1781/C1781M; constants and tolerances from memory, verify
 * against the current edition.
 */

import { gettext as _, marked } from "../words.js"

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
  if (Math.abs(shown) < 10_000) return marked(shown.toFixed(10).replace(/\.?0+$/, ""))
  return shown.toLocaleString("en", { maximumFractionDigits: 0 }).replaceAll(",", "\u202f")
}

/** The mean of a second test with the first at the spot, in words; null without a first one. */
export function meanOfTwo(first, rate, ending, system) {
  if (!first || first.tests !== 1 || first.rate_mm_h === null) return null
  const { units, mmPerHour } = PROCEDURES[system]
  const mean = (first.rate_mm_h / mmPerHour + rate) / 2
  const signs = new Set([first.bound === "=" ? "" : first.bound, boundSign(ending)].filter((sign) => sign !== ""))
  const said = `${threeDigits(mean)} ${units.rate}`
  if (signs.size > 1) return _("Mean of the two: about {rate}, bounded on both sides", { rate: said })
  return _("Mean of the two: {rate}", { rate: [...signs, said].join(" ") })
}

/** Six significant digits without padding, as the server writes numbers. */
function plain(value) {
  return marked(String(Number(value.toPrecision(6))))
}

function within(value, { mass, tolerance }) {
  return Math.abs(value - mass) <= tolerance + 1e-9
}

function massRange({ mass, tolerance }, unit) {
  const [least, most] = [mass - tolerance, mass + tolerance].map((each) => marked(each.toFixed(2)))
  return _("{least} to {most} {unit}", { least, most, unit })
}

function checkDiameter({ ringDiameter, system }) {
  const { diameter, units } = PROCEDURES[system]
  if (ringDiameter === null || (ringDiameter >= diameter.least && ringDiameter <= diameter.most)) return null
  const message = _(
    "Ring diameter {diameter} {unit} is outside {least} to {most} {unit}. " +
      "Use a ring of the standard size; the rate was computed with the diameter as measured.",
    {
      diameter: plain(ringDiameter),
      least: plain(diameter.least),
      most: plain(diameter.most),
      unit: units.length,
    },
  )
  return ["ring_diameter", message]
}

function checkPrewetMass({ prewetMass, prewetTimeS, system }) {
  const { small, units } = PROCEDURES[system]
  if (prewetTimeS === null || prewetMass === null || within(prewetMass, small)) return null
  const message = _(
    "Prewet mass {mass} {unit} is outside {range}. Weigh the prewet water; its time decides the test mass.",
    { mass: plain(prewetMass), unit: units.mass, range: massRange(small, units.mass) },
  )
  return [prewetMass < LEAST_PREWET_SHARE * small.mass ? "prewet_too_little" : "prewet_mass", message]
}

function nearest(testMass, { small, large }) {
  return testMass > (small.mass + large.mass) / 2 ? large : small
}

function checkTestMass({ testMass, system }) {
  const { small, large, units } = PROCEDURES[system]
  if (testMass === null || within(testMass, nearest(testMass, PROCEDURES[system]))) return null
  const message = _(
    "Test mass {mass} {unit} is outside {small} or {large}. " +
      "The rate was computed with the mass as recorded; weigh the water next time.",
    {
      mass: plain(testMass),
      unit: units.mass,
      small: massRange(small, units.mass),
      large: massRange(large, units.mass),
    },
  )
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
  const message = _(
    "Prewetting took {time} s, which asks for {required} {unit}, but the test used {used} {unit}. " +
      "Repeat with {required} {unit} ({switch} s or more: the small mass; less: the large mass).",
    {
      time: plain(time),
      required: plain(required),
      unit: PROCEDURES[system].units.mass,
      used: plain(testMass),
      switch: PREWET_SWITCH_S,
    },
  )
  return [required > used ? "mass_for_prewet_time" : "more_water_than_asked", message]
}

function checkStartDelay({ startDelayS, rewetted }) {
  if (startDelayS === null || rewetted === false || startDelayS <= LONGEST_START_DELAY_S) return null
  const message = _(
    "The test started {delay} s after prewetting ended; at most {longest} s is allowed. " +
      "Prewet again and start sooner, since a surface that dries takes water faster.",
    { delay: plain(startDelayS), longest: LONGEST_START_DELAY_S },
  )
  return ["start_delay", message]
}

function checkRepeats({ sequence }) {
  if (sequence === null || sequence === undefined || sequence <= MOST_TESTS_PER_SPOT_AND_DAY) return null
  const message = _(
    "This is test {number} at this spot that day; at most {most} tests a day are allowed. " +
      "Test another spot, or come back on another day.",
    { number: sequence, most: MOST_TESTS_PER_SPOT_AND_DAY },
  )
  return ["too_many_tests", message]
}

function repeatStarted(minutesSinceFirst) {
  const longest = LONGEST_REPEAT_GAP_MIN
  if (minutesSinceFirst === null)
    return _(
      "The repeat without new prewetting started at an unrecorded time after the first test; " +
        "at most {longest} min after the first is allowed.",
      { longest },
    )
  return _(
    "The repeat without new prewetting started {minutes} min after the first test; " +
      "at most {longest} min after the first is allowed.",
    { minutes: plain(minutesSinceFirst), longest },
  )
}

function checkRepeatGap({ sequence, rewetted, minutesSinceFirst, testStarted }) {
  if (!testStarted || rewetted !== false) return null
  if (sequence === 1) {
    return [
      "not_prewetted",
      _("The first test at a spot was run without prewetting. Prewet the spot and repeat the test."),
    ]
  }
  if (minutesSinceFirst !== null && minutesSinceFirst <= LONGEST_REPEAT_GAP_MIN) return null
  return ["repeat_gap", [repeatStarted(minutesSinceFirst), _("Prewet again before a later repeat.")].join(" ")]
}

function checkPrewetMissing({ prewetTimeS, rewetted, testStarted, system }) {
  if (!testStarted || rewetted === false || prewetTimeS !== null) return null
  const { small, units } = PROCEDURES[system]
  const message = _(
    "No prewetting was recorded. Prewet with {mass} {unit} and time it, so that the right test mass can be chosen.",
    { mass: plain(small.mass), unit: units.mass },
  )
  return ["prewet_missing", message]
}

function checkLeak({ leakSeen }) {
  if (!leakSeen) return null
  const message = _(
    "Water left past the seal, so the rate is at most this. Seal again and repeat the test, then set this one aside.",
  )
  return ["leak", message]
}

function checkFastest({ testMass, ringDiameter, elapsedS, system }) {
  const rate = ringRate({ mass: testMass, diameter: ringDiameter, elapsedS, system })
  const { units, mmPerHour } = PROCEDURES[system]
  if (rate === null || rate * mmPerHour <= FASTEST_MM_H) return null
  const message = _(
    "{rate} {unit} is faster than open gravel drains ({fastest} {unit}). " +
      "Check mass or volume, sizes and time, and correct them; until then this test does not count.",
    { rate: threeDigits(rate), unit: units.rate, fastest: threeDigits(FASTEST_MM_H / mmPerHour) },
  )
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

const bothWays = () =>
  _(
    "The water drained too fast to hold the head, so the rate is at least this, and another deviation makes " +
      "it at most this: the test says nothing. Repeat it by the method.",
  )

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
  if (bounds && reading.ended === "too_fast") found.push(["bounded_both_ways", bothWays()])
  return found.map(([key, message]) => ({ key, effect: effectOf(key), message }))
}

/** The sign before a rate once its deviations are known: "<" where it is at most what was read. */
export function signWith(ending, found) {
  if (!found.some(({ effect }) => effect === "bounds")) return boundSign(ending)
  return ending === "too_fast" ? "~" : "<"
}

function saidOf(effect) {
  if (effect === "voids") return _("This test will not count.")
  return _("This test will count as an upper bound only: it can show that the surface fails, never that it passes.")
}

/** What the deviations found do to the result, the worst first; null while there are only notes. */
export function standing(found) {
  const worst = ["voids", "bounds"].find((effect) => found.some((each) => each.effect === effect))
  return worst ? [saidOf(worst), _("Correct it now if you can.")].join(" ") : null
}

/** What a field should hold after the unit system changed: a nominal value follows, a measured one stays. */
export function nominalInstead(field, value, from, to) {
  const nominal = (system) =>
    field === "ring_diameter" ? PROCEDURES[system].diameter.nominal : PROCEDURES[system].small.mass
  return value === nominal(from) ? nominal(to) : value
}
