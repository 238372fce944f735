/**
 * A part of the page that is fetched anew while what it tells of goes on: `data-ask-again` names its address.
 *
 * With `data-then-anew` the whole page is, once that has ended: what was made is on other parts of it.
 */

const PAUSES_MS = [1000, 1000, 2000, 3000]
const LATER_MS = 5000

/** The part as it is now; null while there is no answer, or one that is a page of another kind. */
async function fetched(address) {
  const response = await fetch(address, { headers: { Accept: "text/html" } }).catch(() => null)
  if (!response?.ok || response.redirected) return null
  return response.text()
}

async function askAgain(part, times) {
  const html = document.hidden ? null : await fetched(part.dataset.askAgain)
  if (html !== null) part.innerHTML = html
  if (part.querySelector("[data-unfinished]")) soon(part, times + 1)
  else if ("thenAnew" in part.dataset) location.reload()
}

function soon(part, times) {
  setTimeout(askAgain, PAUSES_MS[times] ?? LATER_MS, part, times)
}

export function enhance(part) {
  soon(part, 0)
}
