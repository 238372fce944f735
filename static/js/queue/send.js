/* Sends what waits, one tab at a time; whatever the answer, nothing is dropped. */

import {
  afterAnswer,
  again,
  halves,
  heldOf,
  KEEPING,
  lostByServer,
  meaning,
  metaOf,
  nextTry,
  offsetMs,
  outdated,
  PARKED,
  ready,
  SENDING,
  SENT,
  takenUp,
  WAITING,
  waitMs,
} from "../logic/queue.js"
import * as store from "./store.js"

const LOCK = "rainthrough-field"
const ANSWER_WITHIN_MS = 60_000
const FILES_WITHIN_MS = 300_000
const CONTACT_EVERY_MS = 60_000
const EVENT = "fieldqueue"
const channel = "BroadcastChannel" in self ? new BroadcastChannel(EVENT) : null
let timer = null
let failures = 0 // passes in a row that reached nobody

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
  try {
    const signal = AbortSignal.timeout(withinMs)
    const headers = { Accept: "application/json", ...options.headers }
    const plain = { credentials: "same-origin", redirect: "manual", cache: "no-store" }
    const response = await fetch(address, { ...plain, ...options, headers, signal })
    const isJson = (response.headers.get("Content-Type") ?? "").startsWith("application/json")
    return { status: response.status, json: isJson ? await response.json() : null }
  } catch {
    return null
  }
}

/** Who is signed in, the form token and the offset of this clock; null without signal or sign-in. */
async function whoIsThere() {
  const askedAt = Date.now()
  const answer = await ask("/field/who/")
  if ([401, 403].includes(answer?.status)) await store.keepFact("signedOut", true)
  if (answer?.status !== 200 || !answer.json?.person) return null
  await store.keepFact("signedOut", false)
  await store.keepFact("clock", {
    offsetMs: Math.round(offsetMs(answer.json.now, askedAt, Date.now())),
    at: answer.json.now,
  })
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
  const answer = await ask(`/field/entries/${entry.id}/`, options, files.length ? FILES_WITHIN_MS : ANSWER_WITHIN_MS)
  return answer === null ? { kind: "noSignal" } : meaning(answer.status, answer.json)
}

async function tooLarge(entry) {
  const parts = halves(entry, crypto.randomUUID())
  if (parts) return store.divide(...parts)
  const text = entry.files.length
    ? "The server does not take so much at once. Open it and choose fewer or smaller photos."
    : "The server does not take so much at once. Save a copy for the office."
  return store.changeEntry(entry.id, (there) => ({
    ...there,
    state: PARKED,
    answer: { code: "too_large", text, errors: [], asks: [] },
  }))
}

/** Send one entry; gives the kind of the answer. */
async function sendOne(entry, who) {
  await store.changeEntry(entry.id, (there) => ({ ...there, state: SENDING }))
  const files = await store.filesOf(entry.id)
  let answer = await put(entry, files, who.token)
  if (answer.kind === "token") {
    const fresh = await whoIsThere()
    if (fresh) answer = await put(entry, files, fresh.token)
  }
  if (answer.kind === "tooLarge") await tooLarge(entry)
  else await store.changeEntry(entry.id, (there) => afterAnswer(there, answer, Date.now()))
  changed()
  return answer.kind
}

/** What ends a round of sending: nothing else would get through either. */
const ENDS = ["noSignal", "signedOut", "otherPerson", "token"]

async function sendAll(who) {
  const tried = new Set()
  for (;;) {
    const entry = ready(await store.entries(), who.person, Date.now()).find((each) => !tried.has(each.id))
    if (!entry) return
    tried.add(entry.id)
    const kind = await sendOne(entry, who)
    if (ENDS.includes(kind)) return
    if (kind === "tooLarge") tried.delete(entry.id)
  }
}

/** Tell the server what this device holds; what it lost of what was sent is sent again. */
async function contact(who, force) {
  const last = (await store.fact("contactAt")) ?? 0
  if (!force && Math.abs(Date.now() - last) < CONTACT_EVERY_MS) return false
  const entries = await store.entries()
  const body = {
    device: await store.device(),
    agent: navigator.userAgent.slice(0, 200),
    persisted: (await navigator.storage?.persisted?.()) ?? null,
    held: heldOf(entries, who.person),
    sent: entries.filter((entry) => entry.state === SENT && entry.person === who.person).map((entry) => entry.id),
    now: new Date().toISOString(),
  }
  const headers = { "X-CSRFToken": who.token, "Content-Type": "application/json" }
  const answer = await ask("/field/contact/", { method: "POST", headers, body: JSON.stringify(body) })
  if (answer?.status !== 200 || !answer.json) return false
  await store.keepFact("contactAt", Date.now())
  const lost = lostByServer(entries, answer.json.unknown ?? [])
  for (const entry of lost) await store.keepEntry(entry)
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
  failures = who ? 0 : failures + 1
  if (!who) return
  const before = await store.entries()
  await sendAll(who)
  const sent =
    (await store.entries()).filter((entry) => entry.state !== WAITING).length !==
    before.filter((e) => e.state !== WAITING).length
  if (await contact(who, force || sent)) await sendAll(who)
  await tidy()
}

async function tryLater() {
  clearTimeout(timer)
  const at = nextTry(await store.entries(), document.body.dataset.person)
  if (at === null) return
  timer = setTimeout(() => drain(), Math.max(1_000, at - Date.now(), failures ? waitMs(failures) : 0))
}

/**
 * Send what waits; where another tab is at it, nothing.
 *
 * force: wait for the other tab, since it may have read the queue before, and tell the server what is held.
 */
export async function drain({ force = false } = {}) {
  await navigator.locks.request(LOCK, { ifAvailable: !force }, (lock) => lock && pass(force))
  changed()
  await tryLater()
}

/** Try at once what waits for its next turn: a person said so, or the signal is back. */
export async function drainNow() {
  for (const entry of await store.entries()) {
    if (entry.state === WAITING && entry.nextAt) await store.changeEntry(entry.id, (there) => again(there))
  }
  await drain({ force: true })
}
