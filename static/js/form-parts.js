import { PROCEDURES, standing, threeDigits } from "./logic/ring-test.js"

/** A number typed on any keyboard, or null where there is none. A comma is taken for a point. */
export function numberOf(text) {
  const plain = String(text).trim().replace(",", ".")
  return plain === "" || !Number.isFinite(Number(plain)) ? null : Number(plain)
}

/** The unit system chosen in a form; SI while nothing that is known is. */
export function systemOf(chosen) {
  return chosen in PROCEDURES ? chosen : "si"
}

export function part(tag, className, text) {
  return Object.assign(document.createElement(tag), { className, textContent: text })
}

/** A rate in large figures with its unit, "<" or ">" before a mere bound. */
export function rateValue(sign, rate, system) {
  const value = part("span", "live-rate__value", `${sign} ${threeDigits(rate)} `.trimStart())
  value.append(part("span", "unit", PROCEDURES[system].units.rate))
  return value
}

/**
 * Put deviations into a list, what they do to the result first; what stands there already is not said again to who
 * listens. Where the result would suffer, offer to keep it all the same.
 */
export function sayEach(list, found) {
  if (!list) return
  const worst = standing(found)
  const said = [...(worst ? [worst] : []), ...found.map(({ message }) => message)]
  if (list.dataset.shown === said.join("\n")) return
  list.dataset.shown = said.join("\n")
  list.replaceChildren(...said.map((message) => part("li", message === worst ? "deviations__effect" : "", message)))
  const keep = list.closest("form")?.querySelector("[data-keep-anyway]")
  if (keep) keep.hidden = worst === null
}
