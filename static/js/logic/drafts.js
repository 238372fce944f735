/**
 * What was typed into a form is kept while the person has to sign in again.
 *
 * A draft belongs to one address. It is offered again only if its sending was answered by the sign-in page:
 * one that reached the server must not come back, or it would be stored twice.
 */
export const ANSWERED_WITHIN_MS = 60_000
export const KEPT_MS = 12 * 3_600_000

/** The fields worth keeping: no files, no passwords, no token of the page. */
export function worthKeeping(entries, secret) {
  return [...entries].filter(
    ([name, value]) => typeof value === "string" && name !== "csrfmiddlewaretoken" && !secret.includes(name),
  )
}

export function keyOf(address) {
  return `draft ${address}`
}

/** The draft as it stands after the sign-in page answered, or null where it was not sent just now. */
export function turnedAway(draft, now) {
  return draft && now - draft.sentAt <= ANSWERED_WITHIN_MS ? { ...draft, turnedAway: true } : null
}

/** Whether a draft is to be filled in again. */
export function isOffered(draft, now) {
  return Boolean(draft?.turnedAway) && now - draft.sentAt <= KEPT_MS
}

/** What a control should hold: for a choice whether it is chosen, for the others the text; undefined to leave it. */
export function kept(entries, name, type, value) {
  const values = entries.filter(([entry]) => entry === name).map(([, text]) => text)
  if (type === "checkbox" || type === "radio") return values.includes(value)
  return values[0]
}
