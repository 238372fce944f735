/* The switchboard: a data- attribute on the page calls for its module, also in parts fetched later. */

const DRAFTS = "form[data-edit-guard], [data-sign-in]" // comes last: what it fills in, the others must hear of

const MODULES = {
  "[data-theme-switch]": () => import("./theme.js"),
  "[data-menu]": () => import("./menu.js"),
  "[data-chart]": () => import("./chart.js"),
  "[data-error-summary]": () => import("./error-summary.js"),
  "form[data-edit-guard]": () => import("./edit-guard.js"),
  [DRAFTS]: () => import("./drafts.js"),
  "[data-stopwatch]": () => import("./stopwatch.js"),
  "form[data-ring-form]": () => import("./ring-form.js"),
  "form[data-field-form]": () => import("./field-form.js"),
  "form[data-plan-form]": () => import("./plan-form.js"),
  "[data-print]": () => import("./print.js"),
}

const seen = Object.fromEntries(Object.keys(MODULES).map((selector) => [selector, new WeakSet()]))

function unseen(scope, selector) {
  const found = [...scope.querySelectorAll(selector)]
  if (scope instanceof Element && scope.matches(selector)) found.unshift(scope)
  const fresh = found.filter((element) => !seen[selector].has(element))
  fresh.forEach((element) => seen[selector].add(element))
  return fresh
}

async function enhanceEach(elements, load) {
  const module = await load()
  elements.forEach((element) => module.enhance(element))
}

/** Each on its own: a module that fails to arrive must not take the others with it. */
function enhanceAll(found) {
  return Promise.all(
    found.map(([selector, elements]) =>
      enhanceEach(elements, MODULES[selector]).catch((error) => console.error(selector, error)),
    ),
  )
}

async function enhanceWithin(scope) {
  const found = Object.keys(MODULES)
    .map((selector) => [selector, unseen(scope, selector)])
    .filter(([, elements]) => elements.length > 0)
  await enhanceAll(found.filter(([selector]) => selector !== DRAFTS))
  await enhanceAll(found.filter(([selector]) => selector === DRAFTS))
}

document.addEventListener("htmx:load", (event) => enhanceWithin(event.detail.elt))
enhanceWithin(document).then(() => {
  document.documentElement.dataset.ready = "" // every module has taken hold of its part of the page
})
