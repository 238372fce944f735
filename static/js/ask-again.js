/** A part of the page that is fetched anew while what it tells of goes on: `data-ask-again` names its address. */

const EVERY_MS = 5000

/** The part as it is now; null while there is no answer, or one that is a page of another kind. */
async function fetched(address) {
  const response = await fetch(address, { headers: { Accept: "text/html" } }).catch(() => null)
  if (!response?.ok || response.redirected) return null
  return response.text()
}

async function askAgain(part) {
  const html = document.hidden ? null : await fetched(part.dataset.askAgain)
  if (html !== null) part.innerHTML = html
  if (part.querySelector("[data-unfinished]")) setTimeout(askAgain, EVERY_MS, part)
}

export function enhance(part) {
  setTimeout(askAgain, EVERY_MS, part)
}
