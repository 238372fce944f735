/* The page of what waits on this phone: why, since when, and what a person can do about it. */

import { part } from "../form-parts.js"
import {
  again,
  childrenOf,
  counts,
  inWords,
  KEEPING,
  keptAsIs,
  PARKED,
  parentOf,
  reasons,
  SENDING,
  SENT,
  WAITING,
} from "../logic/queue.js"
import { copiesOf } from "./copy.js"
import { keepPages } from "./pages.js"
import { changed, drainNow, onChange } from "./send.js"
import * as store from "./store.js"
import { gettext as _, moment as when, ngettext } from "../words.js"

const person = () => document.body.dataset.person
const MOST_SENT = 100

async function change(id, to) {
  await store.changeEntry(id, to)
  changed()
  await drainNow()
}

/** What hangs on an entry goes with it: without it nothing could ever take it in. */
async function takeAway(entry) {
  const children = childrenOf(await store.entries(), entry.id).filter((each) => each.state !== SENT)
  const warning = _("It is not on the server, and nobody can bring it back.")
  if (!confirm(`${whetherToTakeAway(entry, children.length)} ${warning}`)) return
  const gone = [entry, ...children].map(({ id }) => id)
  await store.keepFact("takenAway", [...((await store.fact("takenAway")) ?? []), ...gone])
  for (const id of gone) await store.forget(id)
  changed()
  await drainNow()
}

function whetherToTakeAway(entry, count) {
  const name = nameOf(entry)
  if (count === 0) return _('Take away "{name}" for good?', { name })
  return ngettext(
    'Take away "{name}" and {count} that belongs to it for good?',
    'Take away "{name}" and {count} that belong to it for good?',
    count,
    { name },
  )
}

const nameOf = (entry) => `${entry.title}, ${entry.about}`

/** A button or link that says which entry it is about to who hears it. */
function way(tag, entry, label, kind = "") {
  const made = part(tag, `button button--small ${kind}`.trim(), label)
  made.append(part("span", "visually-hidden", `: ${nameOf(entry)}`))
  return made
}

function button(entry, label, act, kind) {
  const made = Object.assign(way("button", entry, label, kind), { type: "button" })
  made.addEventListener("click", act)
  return made
}

function mendAddress(entry) {
  const address = new URL(entry.page, location.href)
  address.searchParams.set("queued", entry.id)
  return address.pathname + address.search
}

function waysOf(entry) {
  const ways = part("div", "form__actions", "")
  if (entry.answer?.asks?.length)
    ways.append(button(entry, _("Keep it as it is"), () => change(entry.id, keptAsIs), "button--primary"))
  if (entry.page) ways.append(Object.assign(way("a", entry, _("Open and mend")), { href: mendAddress(entry) }))
  ways.append(button(entry, _("Send once more"), () => change(entry.id, again)))
  ways.append(button(entry, _("Take it away"), () => takeAway(entry), "button--quiet"))
  return ways
}

const STATE_WORDS = {
  [KEEPING]: _("being kept"),
  [SENDING]: _("being sent"),
  [PARKED]: _("refused"),
  [WAITING]: _("to send"),
}

function unsentItem(entry, entries) {
  const item = part("li", "kept-entry", "")
  const head = part("p", "", "")
  const tag = part("span", `tag ${entry.state === PARKED ? "tag--bad" : ""}`.trim(), STATE_WORDS[entry.state])
  head.append(part("b", "", entry.title), `, ${entry.about} `, tag)
  const said = [_("Recorded {time}", { time: when(entry.madeAt) })]
  if (entry.files.length) said.push(ngettext("{count} file", "{count} files", entry.files.length))
  item.append(head, part("p", "soft", said.join(", ")))
  const parent = entries.find((each) => each.id === parentOf(entry) && each.state !== SENT)
  if (parent) item.append(part("p", "", _("Waits for: {name}", { name: nameOf(parent) })))
  if (entry.state === PARKED) item.append(...reasons(entry).map((text) => part("p", "", text)), waysOf(entry))
  return item
}

function sentItem(entry) {
  const item = part("li", "", "")
  const link = Object.assign(part("a", "", nameOf(entry)), { href: entry.answer.url })
  item.append(link, " ", part("span", "soft", _("sent {time}", { time: when(entry.sentAt) })))
  const { warnings = [], isSeen = true } = entry.answer
  item.append(...warnings.map((text) => part("p", "notice notice--caution", text)))
  const seen = (there) => ({ ...there, answer: { ...there.answer, isSeen: true } })
  if (!isSeen) item.append(button(entry, _("Seen"), () => store.changeEntry(entry.id, seen).then(changed)))
  return item
}

function fill(list, items, empty) {
  list.replaceChildren(...(items.length ? items : [part("li", "soft", empty)]))
}

async function stateLines(entries) {
  const found = counts(entries, person())
  const lines = [inWords(found) || _("Everything recorded here is on the server.")]
  if (await store.fact("signedOut")) lines.push(_("You are signed out. Sign in again, and it is sent."))
  const { ofOthers: count } = found
  if (count) lines.push(_("{count} of somebody else: sent when they sign in on this phone.", { count }))
  const contact = await store.fact("contactAt")
  lines.push(
    contact
      ? _("The server was last told at {time}.", { time: when(contact) })
      : _("The server was not told yet what this phone holds."),
  )
  const isProtected = await navigator.storage?.persisted?.()
  lines.push(
    isProtected
      ? _("What is kept here is protected: the browser does not clear it by itself.")
      : _("The browser may clear what is kept here when the phone runs out of room. Send it soon."),
  )
  return lines
}

async function pagesLine() {
  const of = await store.fact("pagesOf")
  if (of?.person !== person()) return _("None yet.")
  return _(
    "{count} pages, as of {time}: your visits from today to the sixth day after, and the surfaces you chose to keep.",
    { count: of.count, time: when(of.at) },
  )
}

/** What the page shows, as one text: painted anew only where it changed, so that nobody's place on it is lost. */
let shown = ""

async function show(box) {
  const find = (name) => box.querySelector(`[data-phone-${name}]`)
  const entries = await store.entries()
  const [lines, pages] = [await stateLines(entries), await pagesLine()]
  const now = JSON.stringify([
    entries.map(({ id, state, answer, nextAt }) => [id, state, answer, nextAt > 0]),
    lines,
    pages,
  ])
  if (now === shown) return
  shown = now
  const mine = entries.filter((entry) => entry.person === person())
  const byTime = (a, b) => a.madeAt.localeCompare(b.madeAt)
  const unsent = mine.filter((each) => each.state !== SENT).sort(byTime)
  const sent = mine.filter((each) => each.state === SENT).sort((a, b) => b.sentAt - a.sentAt)
  find("count").textContent = lines[0]
  find("state").replaceChildren(...lines.slice(1).map((line) => part("p", "soft", line)))
  fill(
    find("unsent"),
    unsent.map((each) => unsentItem(each, entries)),
    _("Nothing."),
  )
  fill(find("sent"), sent.slice(0, MOST_SENT).map(sentItem), _("Nothing."))
  find("pages").textContent = pages
}

function sayWhatIsMissing(box) {
  if (document.documentElement.dataset.missing === undefined) return
  const notice = box.querySelector("[data-phone-missing]")
  document.title = [_("No signal"), "Rainthrough"].join(" · ")
  document.querySelector("h1").textContent = _("This page is not kept")
  notice.hidden = false
  notice.focus()
}

/** As many files as the server takes one by one. */
async function saveCopy() {
  const day = new Date().toISOString().slice(0, 10)
  const copies = await copiesOf(person())
  copies.forEach((copy, number) => {
    const blob = new Blob([JSON.stringify(copy)], { type: "application/json" })
    const name = `field-entries-${day}${copies.length > 1 ? `-${number + 1}` : ""}.json`
    const link = Object.assign(document.createElement("a"), { href: URL.createObjectURL(blob), download: name })
    link.click()
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000)
  })
}

/** Keep the page as the phone stands. */
export async function enhance(box) {
  if (!isSecureContext || !("indexedDB" in self)) return
  const painted = () => show(box).catch((error) => console.error(error))
  onChange(painted)
  addEventListener("fieldpages", painted)
  const press = (name, act) => box.querySelector(`[data-phone-${name}]`).addEventListener("click", act)
  press("send", () => drainNow().then(painted))
  press("copy", () => saveCopy().catch((error) => alert(_("The copy could not be written: {reason}", { reason: error.message }))))
  press("keep", () => keepPages(person(), { force: true }).then(painted))
  sayWhatIsMissing(box)
  await painted()
}
