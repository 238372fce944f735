/* The switchboard: a data- attribute on the page calls for its module. */

const MODULES = {
  "[data-theme-switch]": () => import("./theme.js"),
  "[data-menu]": () => import("./menu.js"),
  "[data-chart]": () => import("./chart.js"),
  "[data-error-summary]": () => import("./error-summary.js"),
  "form[data-edit-guard]": () => import("./edit-guard.js"),
  "form[data-edit-guard], [data-sign-in]": () => import("./drafts.js"),
  "[data-stopwatch]": () => import("./stopwatch.js"),
  "form[data-ring-form]": () => import("./ring-form.js"),
  "form[data-field-form]": () => import("./field-form.js"),
  "form[data-plan-form]": () => import("./plan-form.js"),
  "[data-ask-again]": () => import("./ask-again.js"),
  "[data-print]": () => import("./print.js"),
}

async function enhanceEach(selector, load) {
  const elements = document.querySelectorAll(selector)
  if (elements.length === 0) return
  const module = await load()
  elements.forEach((element) => module.enhance(element))
}

// each on its own: a module that fails to arrive must not take the others with it
const underWay = Object.entries(MODULES).map(([selector, load]) =>
  enhanceEach(selector, load).catch((error) => console.error(selector, error)),
)

Promise.all(underWay).then(() => {
  document.documentElement.dataset.ready = "" // every module has taken hold of its part of the page
})
