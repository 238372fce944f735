/* On every page of a signed-in person: the count of what waits, sending it, and keeping the pages of the days ahead. */

import { part } from "../form-parts.js"
import { counts, inWords } from "../logic/queue.js"
import { isAbout } from "../logic/queued-form.js"
import { keepPages } from "./pages.js"
import { drain, drainNow, onChange } from "./send.js"
import * as store from "./store.js"
import { gettext as _, moment, ngettext, spoken } from "../words.js"

const LOOK_EVERY_MS = 60_000
const AT_REST_MS = 2_000 // whoever goes on at once need not share the line with the pages of the days ahead
const [WORDS, WORDS_AT] = ["words", "/words.json"] // as in field-worker.js
const person = () => document.body.dataset.person

async function showCount() {
  const stone = document.querySelector("[data-queue-count]")
  const found = counts(await store.entries(), person())
  stone.hidden = !inWords(found)
  stone.querySelector("[data-words]").textContent = inWords(found)
}

/** Links to forms of which an entry waits here: the page cannot know it yet. */
async function markLinks() {
  const entries = await store.entries()
  document.querySelectorAll("[data-kept-mark]").forEach((mark) => mark.remove())
  for (const link of document.querySelectorAll("main a[href^='/']")) {
    const waiting = entries.filter((entry) => entry.person === person() && isAbout(entry, link.getAttribute("href")))
    if (waiting.length === 0) continue
    const words = ngettext("kept on this phone", "{count} kept on this phone", waiting.length)
    const mark = part("span", "tag tag--kept", words)
    mark.dataset.keptMark = ""
    link.after(" ", mark)
  }
}

/** What the server said of an entry that was sent from a form, once its page is left. */
function showNotes() {
  const { notes = [], warnings = [] } = JSON.parse(sessionStorage.getItem("field notes") ?? "{}")
  sessionStorage.removeItem("field notes")
  if (notes.length === 0) return
  const list = part("ul", "messages", "")
  list.setAttribute("aria-label", _("Messages"))
  for (const note of notes) {
    const isWarning = warnings.includes(note)
    const item = part("li", `message message--${isWarning ? "warning" : "success"}`, "")
    const words = part("span", "", note)
    words.setAttribute("role", isWarning ? "alert" : "status")
    item.append(words)
    list.append(item)
  }
  document.getElementById("main").querySelector(".heading")?.after(list)
}

function showThatItIsKept() {
  const at = document.documentElement.dataset.kept
  if (at === undefined) return
  const words = _("No signal: this is the page as it was kept on this phone at {time}.", { time: moment(at) })
  const note = part("p", "band band--kept", words)
  note.setAttribute("role", "status")
  document.getElementById("main").before(note)
}

/** The worker has no page to read its words from. */
async function tellWorker() {
  const words = spoken()
  if (words) await (await caches.open(WORDS)).put(WORDS_AT, new Response(JSON.stringify(words)))
  else await caches.delete(WORDS)
}

/** Ask the browser not to clear what is kept here when it needs room; once something is. */
async function protect() {
  if ((await store.entries()).length && !(await navigator.storage?.persisted?.())) await navigator.storage?.persist?.()
}

const quietly = (promise) => promise.catch((error) => console.error(error))

async function look() {
  await drain()
  await keepPages(person())
}

/** Begin, where the browser lets a page keep anything. */
export async function enhance() {
  showThatItIsKept()
  if (!isSecureContext || !("indexedDB" in self) || !("locks" in navigator)) return
  showNotes()
  const show = () => quietly(Promise.all([showCount(), markLinks()]))
  onChange(show)
  await show()
  navigator.serviceWorker?.register("/field-worker.js").catch((error) => console.error(error))
  if ("caches" in self) quietly(tellWorker())
  addEventListener("online", () => quietly(drainNow()))
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && quietly(look()))
  setInterval(() => document.visibilityState === "visible" && quietly(look()), LOOK_EVERY_MS)
  quietly(drain().then(protect)) // not waited for: the page is ready before the network is
  setTimeout(() => quietly(keepPages(person())), AT_REST_MS)
}
