/* The switchboard: a data- attribute on the page calls for its module. */

const DRAFTS = "form[data-edit-guard], [data-sign-in]"
const FIRST = { "body[data-queued]": () => import("./queue/spots.js") } // changes what the others read from the page
// What these fill in, the others must hear of.
const LAST = { [DRAFTS]: () => import("./drafts.js"), "body[data-queued]": () => import("./queue/form.js") }

const MODULES = {
  "body[data-person]": () => import("./queue/keeper.js"),
  "[data-phone]": () => import("./queue/phone.js"),
  "[data-pin]": () => import("./queue/pin.js"),
  "[data-sign-in]": () => import("./queue/leave.js"),
  "[data-theme-switch]": () => import("./theme.js"),
  "[data-search]": () => import("./search.js"),
  "[data-search-key]": () => import("./search-key.js"),
  "[data-menu]": () => import("./menu.js"),
  "[data-chart]": () => import("./chart.js"),
  "form[data-steps]": () => import("./steps.js"),
  "[data-error-summary]": () => import("./error-summary.js"),
  "form[data-edit-guard]": () => import("./edit-guard.js"),
  "form[method=post]": () => import("./send-once.js"),
  "[data-made-at]": () => import("./made-at.js"),
  "[data-stopwatch]": () => import("./stopwatch.js"),
  "form[data-ring-form]": () => import("./ring-form.js"),
  "form[data-field-form]": () => import("./field-form.js"),
  "[data-asked-by]": () => import("./asked-by-method.js"),
  "[data-contents]": () => import("./contents.js"),
  "[data-fold]": () => import("./folds.js"),
  "[data-chosen-spot]": () => import("./chosen-spot.js"),
  "form[data-plan-form]": () => import("./plan-form.js"),
  "[data-ask-again]": () => import("./ask-again.js"),
  "[data-board]": () => import("./board.js"),
  "form[data-passkey]": () => import("./passkey.js"),
  "[data-print]": () => import("./print.js"),
}

async function enhanceEach(selector, load) {
  const elements = [...document.querySelectorAll(selector)]
  if (elements.length === 0) return
  const module = await load()
  await Promise.all(elements.map((element) => module.enhance(element)))
}

/** Each on its own: a module that fails to arrive must not take the others with it. */
function enhanceAll(modules) {
  return Promise.all(
    Object.entries(modules).map(([selector, load]) =>
      enhanceEach(selector, load).catch((error) => console.error(selector, error)),
    ),
  )
}

for (const modules of [FIRST, MODULES, LAST]) await enhanceAll(modules)
document.documentElement.dataset.ready = "" // every module has taken hold of its part of the page
