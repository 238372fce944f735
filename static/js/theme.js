import { afterSwitch, shownTheme, switchLabel } from "./logic/theme.js"

const device = matchMedia("(prefers-color-scheme: dark)")
const root = document.documentElement

function store(theme) {
  try {
    if (theme === null) localStorage.removeItem("theme")
    else localStorage.setItem("theme", theme)
  } catch {
    // storage refused: the choice holds until the next page
  }
}

function chosen() {
  return root.dataset.theme ?? null
}

function show(theme) {
  if (theme === null) delete root.dataset.theme
  else root.dataset.theme = theme
  for (const button of document.querySelectorAll("[data-theme-switch]")) relabel(button)
  document.dispatchEvent(new CustomEvent("themechange"))
}

function relabel(button) {
  button.textContent = switchLabel(shownTheme(chosen(), device.matches))
}

function press() {
  const next = afterSwitch(chosen(), device.matches)
  store(next.stored)
  show(next.stored)
}

/** Show the switch and let it work; without JavaScript the device decides. */
export function enhance(button) {
  button.addEventListener("click", press)
  button.hidden = false
  relabel(button)
}

device.addEventListener("change", () => show(chosen()))
