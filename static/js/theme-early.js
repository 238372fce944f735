/* Runs before the first paint, so that a chosen theme never flashes; hence a plain script, not a module. */
;(() => {
  try {
    const chosen = localStorage.getItem("theme")
    if (chosen === "light" || chosen === "dark") document.documentElement.dataset.theme = chosen
  } catch {
    // storage is refused in some private windows: the device's own setting stays
  }
})()
