/*
 * A second test at a spot on one day. The spots tested so far come with the page: by location or
 * "spot <words>", how many tests, when the first ended (ms since 1970 or null), and what it gave.
 */

import { gettext as _ } from "../words.js"

/** The tests made before at this spot; null when there are none. */
export function earlierAtSpot(spots, location, words) {
  return spots[location || `spot ${words}`] ?? null
}

function minutesAndSeconds(ms) {
  const whole = Math.ceil(ms / 1000)
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`
}

/**
 * What a repeat has to look out for, in words.
 *
 * @param {{tests: number, ended_ms: number | null}} earlier
 * @param {number} startMs - when the repeat started, or now while it has not
 * @param {number} allowedMin - minutes after the first within which no new prewetting is needed
 */
export function repeatText(earlier, startMs, allowedMin) {
  const { tests: count, ended_ms: endedMs } = earlier
  if (count > 1) return _("{count} tests were made at this spot in this round. Choose another spot.", { count })
  const said = _("Second test at this spot; the mean of the two counts.")
  return `${said} ${whetherToPrewet(endedMs, startMs, allowedMin)}`
}

function whetherToPrewet(endedMs, startMs, allowedMin) {
  if (endedMs === null) return _("The end of the first was not recorded: prewet again.")
  const left = endedMs + allowedMin * 60000 - startMs
  if (left < 0) return _("The first ended more than {minutes} min ago: prewet again.", { minutes: allowedMin })
  return _("Start within {time} and no new prewetting is needed.", { time: minutesAndSeconds(left) })
}
