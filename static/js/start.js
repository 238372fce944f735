/* The switchboard: a data- attribute on the page calls for its module, also in parts fetched later. */

const MODULES = {
  "[data-theme-switch]": () => import("./theme.js"),
  "[data-menu]": () => import("./menu.js"),
  "[data-chart]": () => import("./chart.js"),
  "form[data-edit-guard], [data-error-summary]": () => import("./forms.js"),
  "[data-stopwatch]": () => import("./stopwatch.js"),
  "form[data-ring-form]": () => import("./ring-form.js"),
  "[data-print]": () => import("./print.js"),
}

const done = new WeakMap()

/** True the first time for this element and selector. */
function first(element, selector) {
  const seen = done.get(element) ?? new Set()
  if (seen.has(selector)) return false
  done.set(element, seen.add(selector))
  return true
}

function matching(root, selector) {
  const found = [...root.querySelectorAll(selector)]
  if (root instanceof Element && root.matches(selector)) found.unshift(root)
  return found.filter((element) => first(element, selector))
}

async function enhanceWithin(root) {
  for (const [selector, load] of Object.entries(MODULES)) {
    const elements = matching(root, selector)
    if (elements.length === 0) continue
    const module = await load()
    elements.forEach((element) => module.enhance(element))
  }
}

document.addEventListener("htmx:load", (event) => enhanceWithin(event.detail.elt))
enhanceWithin(document)
