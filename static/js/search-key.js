/* Says how the search key stands on this device, and turns it. */

import { isOn, turn } from "./logic/search-key.js"

function label(button) {
  button.textContent = isOn(localStorage) ? "Turn the key off" : "Turn the key on"
}

/** @param line - the sentence with its button; without scripts there is no key, and no sentence */
export function enhance(line) {
  const button = line.querySelector("button")
  button.addEventListener("click", () => {
    turn(localStorage, !isOn(localStorage))
    label(button)
  })
  label(button)
  line.hidden = false
}
