/*
 * Tests by methods other than the ring while they are being taken. The server computes the result
 * that is kept; this shows the rate early, from the same formulas (sources: qa/calc/methods.py).
 */

import { gettext as _ } from "../words.js"

const TO_SI = { si: { length: 1, area: 1, volume: 1 }, us: { length: 25.4, area: 0.09290304, volume: 3.785411784 } }
const S_PER_H = 3600
const FEWEST_FLOODINGS = 3
const LEVEL_WITHIN = 1.25
const FASTEST_MM_H = { falling_head: 2_000_000 }
const FASTEST_OTHERS_MM_H = 200_000

function mean(values) {
  return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length
}

function allPositive(...values) {
  return values.every((value) => Number.isFinite(value) && value > 0)
}

function dropRate(dropMm, elapsedS) {
  return allPositive(dropMm, elapsedS) ? (dropMm / elapsedS) * S_PER_H : null
}

function fallingHead({ standpipe_diameter: pipe, contact_diameter: base, layer_thickness: layer }, run) {
  const { head_start: high, head_end: low, elapsed_s: time } = run
  if (!allPositive(pipe, base, layer, high, low, time) || high <= low) return null
  return ((pipe ** 2 * layer) / (base ** 2 * time)) * Math.log(high / low) * S_PER_H
}

function frame({ volume, length, width, elapsed_s: time }) {
  return allPositive(volume, length, width) ? dropRate((volume * 1e6) / (length * width), time) : null
}

/** The rate of one run in mm/h from readings in SI; null while something is missing. */
const RUN_RATES = {
  falling_head: (once, run, k) =>
    fallingHead(
      {
        standpipe_diameter: once.standpipe_diameter * k.length,
        contact_diameter: once.contact_diameter * k.length,
        layer_thickness: once.layer_thickness * k.length,
      },
      { head_start: run.head_start * k.length, head_end: run.head_end * k.length, elapsed_s: run.elapsed_s },
    ),
  square_double_ring: (once, run, k) => dropRate(once.drop * k.length, run.elapsed_s),
  flooding: (once, run, k) => dropRate((run.level_start - run.level_end) * k.length, run.elapsed_s),
  frame: (once, run, k) =>
    frame({
      volume: once.volume * k.volume,
      length: once.length * k.length,
      width: once.width * k.length,
      elapsed_s: once.elapsed_s,
    }),
}

/** The last floodings that agree: the build-up is saturated by then, and only they count. */
function levelledOff(rates) {
  let count = 0
  while (count < rates.length) {
    const last = rates.slice(-(count + 1))
    if (Math.max(...last) > LEVEL_WITHIN * Math.min(...last) * (1 + 1e-12)) break
    count += 1
  }
  return rates.slice(rates.length - count)
}

function runRates(method, once, runs, system) {
  const rate = RUN_RATES[method]
  if (!rate) return []
  const all = method === "frame" ? [{}] : runs
  return all.map((run) => rate(once, run, TO_SI[system])).filter((value) => value !== null)
}

/**
 * The rate so far in mm/h, the mean of the runs that are complete and count; null for methods without a rate.
 *
 * @param {string} method
 * @param {Object} once - readings made once, by key, null where empty
 * @param {Object[]} runs - readings of each run
 * @param {"si" | "us"} system
 */
export function rateSoFar(method, once, runs, system) {
  const rates = runRates(method, once, runs, system)
  return mean(method === "flooding" ? levelledOff(rates) : rates)
}

function floodingHints(once, rates) {
  const level = levelledOff(rates).length
  const found = []
  if (rates.length > 0 && rates.length < FEWEST_FLOODINGS) {
    found.push([
      "bounds",
      _("{count} of at least 3 floodings. Flood {more} more.", { count: rates.length, more: FEWEST_FLOODINGS - level }),
    ])
  } else if (rates.length > 0 && level < FEWEST_FLOODINGS) {
    found.push([
      "bounds",
      _("The rate has not levelled off. Flood {more} more, until three in a row agree.", {
        more: FEWEST_FLOODINGS - level,
      }),
    ])
  }
  if (once.dam_tight === false) found.push(["bounds", _("Water left past the dam. Seal it and flood again.")])
  return found
}

function fastestHint(method, rate) {
  if (rate === null || rate <= (FASTEST_MM_H[method] ?? FASTEST_OTHERS_MM_H)) return []
  return [["voids", _("That is faster than open gravel drains. Check volume, sizes and time, and correct them.")]]
}

/**
 * What is missing or off while it can still be corrected, with what it does to the result.
 *
 * @returns {{effect: "voids" | "bounds" | "note", message: string}[]}
 */
export function hints(method, once, runs, system) {
  const rates = runRates(method, once, runs, system)
  const found = []
  if (method === "flooding") found.push(...floodingHints(once, rates))
  if (method === "falling_head" && rates.length === 1) {
    found.push(["note", _("1 fall. Fill again and repeat until two falls agree.")])
  }
  if (method === "square_double_ring" && once.outer_level === false) {
    found.push(["bounds", _("Keep the outer frame level with the inner one and repeat.")])
  }
  if (method === "outflow_meter" && once.frozen) {
    found.push(["voids", _("Not on a frozen surface. Test after the thaw.")])
  }
  if (once.leak_seen) found.push(["bounds", _("Water left past the seal. Seal again and repeat.")])
  found.push(...fastestHint(method, rateSoFar(method, once, runs, system)))
  return found.map(([effect, message]) => ({ effect, message }))
}
