import { gettext as _ } from "../words.js"

/** Which theme is shown: the one chosen by hand, else the device's. */
export function shownTheme(chosen, deviceIsDark) {
  if (chosen === "light" || chosen === "dark") return chosen
  return deviceIsDark ? "dark" : "light"
}

/**
 * What a press of the switch leads to.
 *
 * Going back to what the device shows anyway forgets the choice, so that the page
 * follows the device again at dusk.
 *
 * @returns {{shown: "light" | "dark", stored: "light" | "dark" | null}}
 */
export function afterSwitch(chosen, deviceIsDark) {
  const shown = shownTheme(chosen, deviceIsDark) === "dark" ? "light" : "dark"
  return { shown, stored: shown === (deviceIsDark ? "dark" : "light") ? null : shown }
}

/** The label says where the press leads, not where one is. */
export function switchLabel(shown) {
  return shown === "dark" ? _("Light colours") : _("Dark colours")
}
