import { gettext as _ } from "../words.js"

/**
 * How long there is still to begin.
 *
 * @param {number} from - moment the count began, ms
 * @param {number} now - ms on the same clock
 * @param {number} allowedS - seconds there are in all
 * @returns {{late: boolean, leftS: number, text: string}} whole seconds, "1:45" or "0:12 too late"
 */
export function countdown(from, now, allowedS) {
  const left = allowedS - (now - from) / 1000
  const late = left < 0
  const whole = late ? Math.floor(-left) : Math.ceil(left)
  const face = `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, "0")}`
  return { late, leftS: left, text: late ? _("{time} too late", { time: face }) : face }
}
