/* Says how the search key stands on this device, and turns it. */

import { isOn, turn } from "./logic/search-key.js"
import { gettext as _ } from "./words.js"

function label(button) {
  button.textContent = isOn(localStorage) ? _("Turn the key off") : _("Turn the key on")
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
