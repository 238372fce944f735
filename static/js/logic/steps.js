/*
 * A long form in short steps, as plain data: which step is in view, where one goes from it, and what sending means there.
 *
 * @typedef {{title: string, hasError: boolean}} Step
 */

import { gettext as _ } from "../words.js"

/** A step that there is, however far a press or an old address would lead. */
export function within(at, count) {
  return Math.min(Math.max(Math.trunc(Number(at)) || 0, 0), count - 1)
}

/**
 * The step to begin with: the first that holds an error, else the one that was left, else the first.
 *
 * @param {Step[]} steps
 * @param {number | null | undefined} left - the step that was in view when the page was left
 */
export function firstInView(steps, left) {
  const refused = steps.findIndex((step) => step.hasError)
  return refused >= 0 ? refused : within(left ?? 0, steps.length)
}

/** Whether a form of so many steps is worth dividing: one or two are seen at once. */
export function isWorthIt(count) {
  return count > 2
}

/** What stands above a step. */
export function heading(steps, at) {
  return _("Step {number} of {count}: {title}", { number: at + 1, count: steps.length, title: steps[at].title })
}

/** The keys below a step: the titles they lead to, empty where there is none. */
export function ways(steps, at) {
  return { back: steps[at - 1]?.title ?? "", next: steps[at + 1]?.title ?? "" }
}

/**
 * Where sending leads: to the next step where Enter was pressed before the last one, null where the form is to be sent.
 *
 * @param {boolean} isPressed - a key that can be seen was pressed, not Enter in a field
 */
export function insteadOfSending(at, count, isPressed) {
  return isPressed || at >= count - 1 ? null : at + 1
}

/** The list of steps: each with its number and what it is to who hears it; the one in view is the current one. */
export function list(steps, at) {
  return steps.map((step, n) => ({
    text: `${n + 1}. ${step.title}`,
    isCurrent: n === at,
    note: step.hasError ? _("to be corrected") : "",
  }))
}
