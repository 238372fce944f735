import { PROCEDURES, threeDigits } from "./logic/ring-test.js"

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

/** Put sentences into a list; what stands there already is not said again to who listens. */
export function sayEach(list, found) {
  if (!list || list.dataset.shown === found.join("\n")) return
  list.dataset.shown = found.join("\n")
  list.replaceChildren(...found.map((message) => part("li", "", message)))
}
