/** One string for all that a form holds, so that two moments can be compared. */
export function snapshot(entries) {
  return JSON.stringify([...entries].map(([name, value]) => [name, asText(value)]))
}

/** A chosen file is told by its name and size; its content is not read. */
function asText(value) {
  return typeof value === "string" ? value : `${value.name} ${value.size}`
}

/**
 * Whether leaving would lose something.
 *
 * @param {string} before - snapshot when the page was opened
 * @param {string} now - snapshot at this moment
 * @param {boolean} sending - the form is on its way to the server
 */
export function wouldLose(before, now, sending) {
  return !sending && before !== now
}
