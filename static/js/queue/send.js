/* Sends what waits, one tab at a time; whatever the answer, nothing is dropped. */

import {
  afterAnswer,
  again,
  halves,
  heldOf,
  KEEPING,
  LONGEST_WAIT_MS,
  lostByServer,
  meaning,
  metaOf,
  nextTry,
  offsetMs,
  outdated,
  parentOf,
  parked,
  ready,
  SENDING,
  SENT,
  takenUp,
  WAITING,
  waitMs,
  withoutFiles,
} from "../logic/queue.js"
import * as store from "./store.js"
import { gettext as _ } from "../words.js"

const LOCK = "rainthrough-field"
const ANSWER_WITHIN_MS = 60_000
const SLOWEST_BYTES_PER_MS = 5 // 40 kbit/s: slower than a network that people still call one
const CONTACT_EVERY_MS = 60_000
const EVENT = "fieldqueue"
const ORPHAN = _("What it belongs to is neither on the server nor on this phone.")
const TOO_LARGE = _(
  "The server does not take so much at once. Open it and choose fewer photos, or save a copy for the office.",
)
const channel = "BroadcastChannel" in self ? new BroadcastChannel(EVENT) : null
let timer = null
let failures = 0 // passes in a row that reached nobody

const person = () => document.body.dataset.person

/** Tell this page and the other tabs that something changed. */
export function changed() {
  dispatchEvent(new Event(EVENT))
  channel?.postMessage("changed")
}

/** Call back when something changed, here or in another tab. */
export function onChange(callback) {
  addEventListener(EVENT, callback)
  channel?.addEventListener("message", callback)
}

/** Ask the server; null where it cannot be reached. A redirect is an answer of its own, never followed. */
async function ask(address, options = {}, withinMs = ANSWER_WITHIN_MS) {
  const giveUp = new AbortController()
  const alarm = setTimeout(() => giveUp.abort(), withinMs)
  try {
    const headers = { Accept: "application/json", ...options.headers }
    const plain = { credentials: "same-origin", redirect: "manual", cache: "no-store" }
    const response = await fetch(address, { ...plain, ...options, headers, signal: giveUp.signal })
    const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json")
    return { status: response.status, json: isJson ? await response.json() : null }
  } catch {
    return null
  } finally {
    clearTimeout(alarm)
  }
}

/** Who is signed in, the form token and the offset of this clock; null without signal or sign-in. */
async function whoIsThere() {
  const askedAt = Date.now()
  const answer = await ask("/field/who/")
  if ([401, 403].includes(answer?.status)) await store.note("signedOut", true)
  if (answer?.status !== 200 || !answer.json?.person) return null
  const offset = Math.round(offsetMs(answer.json.now, askedAt, Date.now()))
  await store.note("signedOut", false)
  await store.note("clock", { offsetMs: offset, at: answer.json.now })
  return answer.json
}

function bodyOf(entry, files) {
  const body = new FormData()
  body.set("meta", JSON.stringify(metaOf(entry, new Date().toISOString())))
  for (const file of files) body.append(file.field, new File([file.bytes], file.name, { type: file.type }))
  return body
}

async function put(entry, files, token) {
  const options = { method: "PUT", headers: { "X-CSRFToken": token }, body: bodyOf(entry, files) }
  const bytes = files.reduce((sum, file) => sum + file.bytes.byteLength, 0)
  const answer = await ask(`/field/entries/${entry.id}/`, options, ANSWER_WITHIN_MS + bytes / SLOWEST_BYTES_PER_MS)
  return answer === null ? { kind: "noSignal" } : meaning(answer.status, answer.json, entry.id)
}

/** What the entry becomes by an answer; the same one where two stand in its place now. */
async function settle(entry, answer) {
  if (answer.kind === "tooLarge") {
    const parts = halves(entry, crypto.randomUUID())
    if (parts) return store.divide(...parts)
    return store.changeEntry(entry.id, (there) => parked(there, "too_large", TOO_LARGE))
  }
  if (answer.kind === "waits" && !(await store.entry(parentOf(entry)))) {
    return store.changeEntry(entry.id, (there) => parked(there, "orphan", ORPHAN))
  }
  return store.changeEntry(entry.id, (there) => afterAnswer(there, answer, Date.now(), entry.revision))
}

/** Send one entry; gives the kind of the answer. */
async function sendOne(entry, who) {
  const files = await store.filesOf(entry.id)
  if (files.length !== entry.files.length) {
    await store.changeEntry(entry.id, (there) => withoutFiles(there, files))
    return changed()
  }
  // Without room on the phone it is sent all the same.
  await store.changeEntry(entry.id, (there) => ({ ...there, state: SENDING })).catch((error) => console.warn(error))
  let answer = await put(entry, files, who.token)
  if (answer.kind === "token") {
    const fresh = await whoIsThere()
    if (fresh) answer = await put(entry, files, fresh.token)
  }
  await settle(entry, answer)
  changed()
  return answer.kind
}

/** What ends a round of sending: nothing else would get through either. */
const ENDS = ["noSignal", "signedOut", "otherPerson", "token"]

/** Gives whether anything was tried. */
async function sendAll(who) {
  const tried = new Set()
  for (;;) {
    const entry = ready(await store.entries(), who.person, Date.now()).find((each) => !tried.has(each.id))
    if (!entry) return tried.size > 0
    tried.add(entry.id)
    const kind = await sendOne(entry, who)
    if (ENDS.includes(kind)) return true
    if (kind === "tooLarge") tried.delete(entry.id)
  }
}

async function contactBody(entries, takenAway) {
  const sent = entries.filter((entry) => entry.state === SENT && entry.person === person())
  return JSON.stringify({
    device: await store.device(),
    agent: navigator.userAgent.slice(0, 300),
    persisted: (await navigator.storage?.persisted?.()) ?? null,
    held: heldOf(entries, person()),
    sent: sent.map((entry) => entry.id),
    taken_away: takenAway,
    now: new Date().toISOString(),
  })
}

/** Tell the server what this device holds; what it lost of what was sent is sent again. Gives whether there is any. */
async function contact(who, force) {
  const last = (await store.fact("contactAt")) ?? 0
  if (!force && Math.abs(Date.now() - last) < CONTACT_EVERY_MS) return false
  const entries = await store.entries()
  const takenAway = (await store.fact("takenAway")) ?? []
  const headers = { "X-CSRFToken": who.token, "Content-Type": "application/json" }
  const body = await contactBody(entries, takenAway)
  const answer = await ask("/field/contact/", { method: "POST", headers, body })
  if (answer?.status !== 200 || !answer.json) return false
  await store.note("contactAt", Date.now())
  if (takenAway.length) await store.note("takenAway", [])
  const lost = lostByServer(entries, answer.json.unknown ?? [])
  if (lost.length) await store.keepEntries(lost)
  return lost.length > 0
}

async function tidy() {
  for (const id of outdated(await store.entries(), Date.now())) await store.forget(id)
}

/** What was being kept or sent when the page or the phone went away. */
async function takeUpAgain() {
  for (const entry of await store.entries()) {
    if (![KEEPING, SENDING].includes(entry.state)) continue
    const files = await store.filesOf(entry.id)
    await store.changeEntry(entry.id, (there) => takenUp(there, files, Date.now()))
  }
}

async function pass(force) {
  await takeUpAgain()
  const who = await whoIsThere()
  const isOurs = who?.person === person() // another tab may have signed in as somebody else
  failures = isOurs ? 0 : failures + 1
  if (!isOurs) return
  const didSend = await sendAll(who)
  if (await contact(who, force || didSend)) await sendAll(who)
  await tidy()
}

async function tryLater() {
  clearTimeout(timer)
  const at = nextTry(await store.entries(), person())
  if (at === null) return
  const wait = Math.max(1_000, at - Date.now(), failures ? waitMs(failures) : 0)
  timer = setTimeout(() => drain(), Math.min(wait, LONGEST_WAIT_MS))
}

/**
 * Send what waits; where another tab is at it, nothing.
 *
 * force: wait for the other tab, since it may have read the queue before, and tell the server what is held.
 */
export async function drain({ force = false } = {}) {
  try {
    await navigator.locks.request(LOCK, { ifAvailable: !force }, (lock) => lock && pass(force))
  } finally {
    changed()
    await tryLater() // also where a pass broke off: what waits must not wait for another page
  }
}

/** Try at once what waits for its next turn: a person said so, or the signal is back. */
export async function drainNow() {
  for (const entry of await store.entries()) {
    if (entry.state !== WAITING || !entry.nextAt) continue
    await store.changeEntry(entry.id, (there) => (there.state === WAITING ? again(there) : there))
  }
  await drain({ force: true })
}
