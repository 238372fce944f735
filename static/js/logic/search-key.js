/* The key that puts the cursor into the search field. */

const STORED = "search-key"
const WRITES = "input, textarea, select, [contenteditable]"

/**
 * Whether a press of a key means to search: the bare key, not while somebody writes.
 *
 * @param {{key: string, ctrlKey: boolean, metaKey: boolean, altKey: boolean, defaultPrevented: boolean}} event
 * @param {{matches: (selector: string) => boolean}} target - where the press went
 */
export function meansSearch(event, target) {
  if (event.key !== "/" || event.defaultPrevented) return false
  return !(event.ctrlKey || event.metaKey || event.altKey || target.matches(WRITES))
}

/** Whether the key is on; it is until somebody turns it off (who speaks to the machine would press it by words). */
export function isOn(store) {
  try {
    return store.getItem(STORED) !== "off"
  } catch {
    return true
  }
}

/** Turn the key on or off; where storage is refused it stays as it is. */
export function turn(store, on) {
  try {
    if (on) store.removeItem(STORED)
    else store.setItem(STORED, "off")
  } catch {
    // nothing can be kept here
  }
}
