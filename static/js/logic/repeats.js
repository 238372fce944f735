/*
 * A second test at a spot on one day. The spots tested so far come with the page: by location or
 * "spot <words>", how many tests, when the first ended (ms since 1970 or null), and what it gave.
 */

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
  if (earlier.tests > 1) return `${earlier.tests} tests were made at this spot in this round. Choose another spot.`
  const start = "Second test at this spot; the mean of the two counts."
  if (earlier.ended_ms === null) return `${start} The end of the first was not recorded: prewet again.`
  const left = earlier.ended_ms + allowedMin * 60000 - startMs
  if (left < 0) return `${start} The first ended more than ${allowedMin} min ago: prewet again.`
  return `${start} Start within ${minutesAndSeconds(left)} and no new prewetting is needed.`
}
