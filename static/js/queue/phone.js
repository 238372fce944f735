/* The page of what waits on this phone: why, since when, and what a person can do about it. */

import { part } from "../form-parts.js"
import { again, counts, inWords, KEEPING, PARKED, reasons, SENDING, SENT } from "../logic/queue.js"
import { copyOf } from "./copy.js"
import { keepPages } from "./pages.js"
import { changed, drainNow, onChange } from "./send.js"
import * as store from "./store.js"

const person = () => document.body.dataset.person
const when = (time) => new Date(time).toLocaleString()

function button(words, act, kind = "") {
  const made = Object.assign(part("button", `button button--small ${kind}`.trim(), words), { type: "button" })
  made.addEventListener("click", act)
  return made
}

async function change(id, to) {
  await store.changeEntry(id, to)
  changed()
  await drainNow()
}

async function takeAway(entry) {
  if (
    !confirm(
      `Take away "${entry.title}, ${entry.about}" for good? It is not on the server, and nobody can bring it back.`,
    )
  )
    return
  await store.forget(entry.id)
  changed()
}

function mendAddress(entry) {
  const address = new URL(entry.page, location.href)
  address.searchParams.set("queued", entry.id)
  return address.pathname + address.search
}

function waysOf(entry) {
  const ways = part("div", "form__actions", "")
  const asks = entry.answer?.asks ?? []
  if (asks.length) {
    const ticked = [...entry.fields.filter(([name]) => !asks.includes(name)), ...asks.map((name) => [name, "on"])]
    ways.append(button("Keep it as it is", () => change(entry.id, (there) => again(there, ticked)), "button--primary"))
  }
  if (entry.page)
    ways.append(Object.assign(part("a", "button button--small", "Open and mend"), { href: mendAddress(entry) }))
  ways.append(button("Send once more", () => change(entry.id, (there) => again(there))))
  ways.append(button("Take it away", () => takeAway(entry), "button--quiet"))
  return ways
}

const STATE_WORDS = { [KEEPING]: "being kept", [SENDING]: "being sent", [PARKED]: "refused", waiting: "to send" }

function unsentItem(entry) {
  const item = part("li", "kept-entry", "")
  const head = part("p", "", "")
  head.append(
    part("b", "", entry.title),
    `, ${entry.about} `,
    part("span", `tag ${entry.state === PARKED ? "tag--bad" : ""}`.trim(), STATE_WORDS[entry.state]),
  )
  const files = entry.files.length ? `, ${entry.files.length} ${entry.files.length > 1 ? "files" : "file"}` : ""
  item.append(head, part("p", "soft", `Recorded ${when(entry.madeAt)}${files}`))
  if (entry.state === PARKED) item.append(...reasons(entry).map((text) => part("p", "", text)), waysOf(entry))
  return item
}

function sentItem(entry) {
  const item = part("li", "", "")
  const link = Object.assign(part("a", "", `${entry.title}, ${entry.about}`), { href: entry.answer.url })
  item.append(link, part("span", "soft", ` sent ${when(entry.sentAt)}`))
  return item
}

function fill(list, items, empty) {
  list.replaceChildren(...(items.length ? items : [part("li", "soft", empty)]))
}

async function stateLines(entries) {
  const found = counts(entries, person())
  const lines = [inWords(found) || "Everything recorded here is on the server."]
  if (await store.fact("signedOut")) lines.push("You are signed out. Sign in again, and it is sent.")
  if (found.ofOthers) lines.push(`${found.ofOthers} of somebody else: sent when they sign in on this phone.`)
  const contact = await store.fact("contactAt")
  lines.push(
    contact ? `The server was last told at ${when(contact)}.` : "The server was not told yet what this phone holds.",
  )
  const isProtected = await navigator.storage?.persisted?.()
  lines.push(
    isProtected
      ? "What is kept here is protected: the browser does not clear it by itself."
      : "The browser may clear what is kept here when the phone runs out of room. Send it soon.",
  )
  return lines
}

async function pagesLine() {
  const of = await store.fact("pagesOf")
  if (of?.person !== person()) return "None yet."
  return `${of.count} pages, as of ${when(of.at)}: your visits from today to the sixth day after, and the surfaces you chose to keep.`
}

async function show(box) {
  const find = (name) => box.querySelector(`[data-phone-${name}]`)
  const entries = await store.entries()
  const mine = entries.filter((entry) => entry.person === person())
  const byTime = (a, b) => a.madeAt.localeCompare(b.madeAt)
  find("state").replaceChildren(...(await stateLines(entries)).map((line) => part("p", "", line)))
  fill(
    find("unsent"),
    mine
      .filter((each) => each.state !== SENT)
      .sort(byTime)
      .map(unsentItem),
    "Nothing.",
  )
  fill(
    find("sent"),
    mine
      .filter((each) => each.state === SENT)
      .sort((a, b) => b.sentAt - a.sentAt)
      .slice(0, 100)
      .map(sentItem),
    "Nothing.",
  )
  find("pages").textContent = await pagesLine()
  find("missing").hidden = document.documentElement.dataset.missing === undefined
}

async function saveCopy() {
  const blob = new Blob([JSON.stringify(await copyOf(person()))], { type: "application/json" })
  const link = Object.assign(document.createElement("a"), {
    href: URL.createObjectURL(blob),
    download: `field-entries-${new Date().toISOString().slice(0, 10)}.json`,
  })
  link.click()
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000)
}

/** Keep the page as the phone stands. */
export async function enhance(box) {
  if (!isSecureContext || !("indexedDB" in self)) return
  const painted = () => show(box).catch((error) => console.error(error))
  onChange(painted)
  addEventListener("fieldpages", painted)
  const press = (name, act) => box.querySelector(`[data-phone-${name}]`).addEventListener("click", act)
  press("send", () => drainNow().then(painted))
  press("copy", saveCopy)
  press("keep", () => keepPages(person(), { force: true }).then(painted))
  await painted()
}
