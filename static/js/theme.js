import { afterSwitch, shownTheme, switchLabel } from "./logic/theme.js"

const device = matchMedia("(prefers-color-scheme: dark)")

function store(theme) {
  try {
    if (theme === null) localStorage.removeItem("theme")
    else localStorage.setItem("theme", theme)
  } catch {
    // storage refused: the choice holds until the next page
  }
}

function chosen() {
  return document.documentElement.dataset.theme ?? null
}

function announce() {
  document.dispatchEvent(new CustomEvent("themechange"))
}

function relabel() {
  const shown = shownTheme(chosen(), device.matches)
  for (const button of document.querySelectorAll("[data-theme-switch]")) {
    button.textContent = switchLabel(shown)
    button.hidden = false
  }
}

function press() {
  const next = afterSwitch(chosen(), device.matches)
  if (next.stored === null) delete document.documentElement.dataset.theme
  else document.documentElement.dataset.theme = next.stored
  store(next.stored)
  relabel()
  announce()
}

/** Show the switch and let it work; nothing to do without JavaScript, where the device decides. */
export function enhance(button) {
  button.addEventListener("click", press)
  relabel()
}

device.addEventListener("change", () => {
  relabel()
  announce()
})
