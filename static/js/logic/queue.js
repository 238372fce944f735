import { gettext as _, ngettext } from "../words.js"

/**
 * The queue of what was recorded: pure rules, apart from the browser.
 *
 * An entry is being kept (its files are not all written yet), waiting, sending, sent (kept a while, and offered again to a
 * server that lost it) or parked (refused, with the reason; nothing but a person takes it away). An entry whose path names another in braces waits for that one alone.
 */
export const KEEPING = "keeping"
export const WAITING = "waiting"
export const SENDING = "sending"
export const SENT = "sent"
export const PARKED = "parked"

export const SENT_KEPT_MS = 30 * 24 * 3_600_000
export const LONGEST_WAIT_MS = 5 * 60_000
export const KEPT_WITHIN_MS = 60_000
const LONGEST_WORDS = 400 // of what the office is told of an entry
const FIRST_WAIT_MS = 2_000
const PARENT = /\{entry:([0-9a-f-]{36})\}/
const NO_ANSWER = { kind: "again" }

/** The entry whose row this one belongs to; null where its place is known to the server. */
export function parentOf(entry) {
  return PARENT.exec(entry.path)?.[1] ?? null
}

/**
 * An entry as it goes on after the page that was at it went away: what was being sent waits again, and what lost files
 * waits for a person.
 *
 * @param {object[]} files - what is kept of its files
 */
export function takenUp(entry, files, now) {
  if (entry.state === SENDING) return { ...entry, state: WAITING, nextAt: 0 }
  if (entry.state !== KEEPING || Math.abs(now - Date.parse(entry.madeAt)) < KEPT_WITHIN_MS) return entry
  return files.length === entry.files.length ? { ...entry, state: WAITING } : withoutFiles(entry, files)
}

/** An entry some of whose files are gone: parked, since nobody but a person can choose them again. */
export function withoutFiles(entry, files) {
  const numbers = files.map((file) => file.number)
  const how = entry.page
    ? _("Open it and choose them again, or send it as it is.")
    : _("Add the others where there is signal.")
  const [count, total] = [files.length, entry.files.length]
  const text = [_("{count} of {total} files could be kept on this phone.", { count, total }), how].join(" ")
  return { ...parked(entry, "files_lost", text), files: entry.files.filter((file) => numbers.includes(file.number)) }
}

/** How long to wait before the next try, in ms, after so many that failed. */
export function waitMs(attempts) {
  return Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.max(0, attempts - 1))
}

/** Whether its turn has come; a clock that was set back must not hold it for days. */
const isDue = (entry, now) => (entry.nextAt ?? 0) <= now || entry.nextAt > now + LONGEST_WAIT_MS

/** The entries of a person that wait for nothing but their turn. */
function free(entries, person) {
  const states = new Map(entries.map((entry) => [entry.id, entry.state]))
  const hasParent = (entry) => !states.has(parentOf(entry)) || states.get(parentOf(entry)) === SENT
  return entries.filter(
    (entry) => [WAITING, SENDING].includes(entry.state) && entry.person === person && hasParent(entry),
  )
}

/** The entries to send now, in the order they were made. */
export function ready(entries, person, now) {
  return free(entries, person)
    .filter((entry) => isDue(entry, now))
    .sort((a, b) => a.madeAt.localeCompare(b.madeAt) || a.number - b.number)
}

/** When something is to be tried again, in ms since 1970; null where nothing waits for its time. */
export function nextTry(entries, person) {
  const times = free(entries, person).map((entry) => entry.nextAt ?? 0)
  return times.length ? Math.min(...times) : null
}

/** What hangs on an entry, by itself or by another that does. */
export function childrenOf(entries, id) {
  const own = entries.filter((entry) => parentOf(entry) === id)
  return own.flatMap((entry) => [entry, ...childrenOf(entries, entry.id)])
}

/**
 * What an answer to the entry `id` means. `json` is null where it was no JSON: a sign-in page, a proxy's page, a fault of the server.
 *
 * stored: it is there; refused: a person must look at it; signedOut, otherPerson: it waits for the right person; token: the
 * form token is old; tooLarge: to be split; waits: its parent is not there yet; again: to be tried later.
 */
export function meaning(status, json, id) {
  if (status === 413) return { kind: "tooLarge" }
  if (json === null) return status === 403 ? { kind: "token" } : NO_ANSWER
  if (status === 200 && json.id === id) return { kind: "stored", ...json }
  if (status === 401 || json.code === "second_factor") return { kind: "signedOut" }
  if (json.code === "other_person") return { kind: "otherPerson" }
  if (status === 424) return { kind: "waits" }
  return status >= 400 && status < 500 && status !== 429 ? { kind: "refused", ...json } : NO_ANSWER
}

/**
 * The entry as it stands after an answer.
 *
 * @param {number} revision - of the entry as it was sent: what was mended meanwhile is sent once more
 */
export function afterAnswer(entry, answer, now, revision = entry.revision) {
  if (entry.revision !== revision) return again(entry)
  const plain = { ...entry, attempts: 0, nextAt: 0 }
  if (answer.kind === "stored") return { ...plain, state: SENT, sentAt: now, answer: told(answer) }
  if (answer.kind === "refused") return { ...plain, state: PARKED, answer: refusal(answer) }
  const attempts = (entry.attempts ?? 0) + 1
  return { ...entry, state: WAITING, attempts, nextAt: now + waitMs(attempts) }
}

function told({ url, pk, notes = [], warnings = [] }) {
  return { url, pk, notes, warnings, isSeen: warnings.length === 0 }
}

function refusal({ code = "", text = "", errors = [], asks = [], url = "" }) {
  return { code, text, errors, asks, url }
}

/** An entry that nothing but a person can help. */
export function parked(entry, code, text) {
  return { ...entry, state: PARKED, attempts: 0, nextAt: 0, answer: refusal({ code, text }) }
}

/** Why an entry is parked, as sentences. */
export function reasons(entry) {
  const { text = "", errors = [] } = entry.answer ?? {}
  const said = errors.map((error) => (error.label ? `${error.label}: ${error.text}` : error.text))
  return said.length ? said : [text]
}

/** An entry that was too large, as two with half of the files each; null where it cannot be divided. */
export function halves(entry, newId) {
  if (!entry.onlyFiles || entry.files.length < 2) return null
  const middle = Math.ceil(entry.files.length / 2)
  const part = (id, files, number) => ({ ...entry, id, files, number, state: WAITING, attempts: 0, nextAt: 0 })
  return [
    part(entry.id, entry.files.slice(0, middle), entry.number),
    part(newId, entry.files.slice(middle), entry.number + 1),
  ]
}

/** What goes beside the fields of an entry when it is sent. */
export function metaOf(entry, now) {
  return {
    path: entry.path,
    made_at: entry.madeAt,
    sent_at: now,
    device: entry.device,
    person: entry.person,
    firm: entry.firm,
    form_version: entry.formVersion,
    title: entry.title,
    about: entry.about,
    units: entry.units,
    by_clock: entry.byClock,
    known_offset_ms: entry.knownOffsetMs ?? null,
    known_at: entry.knownAt ?? null,
    fields: entry.fields,
  }
}

/** What the phone holds of a person, as the office is told. */
export function heldOf(entries, person) {
  return entries
    .filter((entry) => entry.state !== SENT && entry.person === person)
    .map((entry) => ({
      id: entry.id,
      firm: entry.firm,
      title: entry.title.slice(0, LONGEST_WORDS),
      about: entry.about.slice(0, LONGEST_WORDS),
      made_at: entry.madeAt,
      state: entry.state === PARKED ? PARKED : WAITING,
      reason: entry.state === PARKED ? reasons(entry).join(" ").slice(0, LONGEST_WORDS) : "",
    }))
}

/** The entries that the server no longer has, to be sent once more. */
export function lostByServer(entries, unknown) {
  return entries.filter((entry) => entry.state === SENT && unknown.includes(entry.id)).map((entry) => again(entry))
}

/** An entry to be sent as soon as may be. */
export function again(entry) {
  return { ...entry, state: WAITING, attempts: 0, nextAt: 0 }
}

/** An entry with what a person typed anew; what its page no longer asks stays as it was. */
export function mended(entry, fields, isAsked) {
  const kept = entry.fields.filter(([name]) => !isAsked(name))
  return { ...again(entry), fields: [...kept, ...fields], revision: (entry.revision ?? 0) + 1 }
}

/** An entry with the ticks that let it through as it is. */
export function keptAsIs(entry) {
  const { asks } = entry.answer
  return mended(
    entry,
    asks.map((name) => [name, "on"]),
    (name) => asks.includes(name),
  )
}

/** Ids of what was sent so long ago that it is no longer kept. */
export function outdated(entries, now) {
  return entries.filter((entry) => entry.state === SENT && now - entry.sentAt > SENT_KEPT_MS).map((entry) => entry.id)
}

/** How many of a person wait, are parked, or were stored with something to look at; and how many there are of others. */
export function counts(entries, person) {
  const mine = entries.filter((entry) => entry.person === person)
  const number = (...states) => mine.filter((entry) => states.includes(entry.state)).length
  return {
    waiting: number(KEEPING, WAITING, SENDING),
    parked: number(PARKED),
    toLookAt: mine.filter((entry) => entry.state === SENT && entry.answer?.isSeen === false).length,
    ofOthers: entries.filter((entry) => entry.person !== person && entry.state !== SENT).length,
  }
}

/** The counts as the bar says them; empty where nothing waits. */
export function inWords({ waiting, parked, toLookAt }) {
  const said = [
    waiting ? ngettext("{count} to send", "{count} to send", waiting) : "",
    parked ? ngettext("{count} refused", "{count} refused", parked) : "",
    toLookAt ? ngettext("{count} to look at", "{count} to look at", toLookAt) : "",
  ]
  return said.filter(Boolean).join(", ")
}

/** The offset of this clock against the server's, in ms: what is to be added to a time of this clock. */
export function offsetMs(serverNow, askedAt, answeredAt) {
  return Date.parse(serverNow) - (askedAt + answeredAt) / 2
}
