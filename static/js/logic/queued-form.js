/* What a form that records becomes in the queue: pure rules, apart from the browser. */

import { SENT } from "./queue.js"
import { gettext as _ } from "../words.js"

const PAGE_ONLY = ["entry", "queued"] // of the address: for the page alone, not for the server
const ROUND = /^\/rounds\/([^/]+)\/tests\/new\/\?(?:.*&)?method=([a-z_]+)|^\/rounds\/([^/]+)\/tests\/new\//

/** An address without what is meant for the page alone. */
export function plainAddress(address) {
  const [path, query = ""] = address.split("?")
  const asked = new URLSearchParams(query)
  for (const name of PAGE_ONLY) asked.delete(name)
  const left = asked.toString()
  return left ? `${path}?${left}` : path
}

/**
 * Where a form's entries go.
 *
 * @param {string} address - path and query of the page
 * @param {string} pattern - with {parent} for the entry whose row this one belongs to; empty where the page's own will do
 * @returns {string | null} null where the page does not know the entry it belongs to
 */
export function targetOf(address, pattern) {
  if (!pattern) return plainAddress(address)
  const parent = new URLSearchParams(address.split("?")[1] ?? "").get("entry")
  return parent ? pattern.replace("{parent}", `{entry:${parent}}`) : null
}

/** The fields to keep: no files, no token, none of the page's own ids. */
export function fieldsOf(entries, madeAt) {
  return [...entries]
    .filter(([name, value]) => typeof value === "string" && name !== "csrfmiddlewaretoken")
    .map(([name, value]) => [name, name.endsWith("made_at") && !value ? madeAt : value])
}

const MOST_PHOTOS = 3 // in one entry: a slow network must get it through

/**
 * The entries of one sending: the readings first, and the files by themselves where the server takes them apart.
 *
 * @param {object} common - what all of them share
 * @param {string[][]} fields
 * @param {object[]} files - {field, name, type, size, number}
 * @param {string} filesTo - address that takes the files, with {row} for the row stored by the first; empty where there is none
 * @param {() => string} newId
 */
export function entriesOf(common, fields, files, filesTo, newId) {
  const apart = files.length > 0 && filesTo
  const first = {
    ...common,
    id: newId(),
    number: 0,
    fields,
    files: apart ? [] : files,
    onlyFiles: Boolean(common.isFiles),
  }
  return apart ? [first, ...photosOf(first, files, filesTo, newId)] : [first]
}

/** The entries of photos of what an entry stores. */
export function photosOf(entry, files, filesTo, newId) {
  const fields = entry.fields.filter(([name]) => ["caption", "keep_location"].includes(name))
  const plain = { ...entry, path: filesTo.replace("{row}", `{entry:${entry.id}}`), fields, onlyFiles: true, page: "" }
  const title = _("Photos: {of}", { of: entry.title })
  const parts = []
  for (let at = 0; at < files.length; at += MOST_PHOTOS) {
    parts.push({ ...plain, id: newId(), number: 1 + parts.length, title, files: files.slice(at, at + MOST_PHOTOS) })
  }
  return parts
}

const OF_THE_PAGE = ["made_at", "finished_at", "device_id"]

/** What was typed, apart from times and ids that a page fills in by itself. */
function typed(fields) {
  return JSON.stringify(fields.filter(([name]) => !OF_THE_PAGE.some((end) => name.endsWith(end))))
}

const idOf = (fields) => fields.find(([name]) => name.endsWith("device_id"))?.[1]

/**
 * The entry that an earlier saving of the same page with the same entries made: a second tap, or a step back.
 *
 * A kept page has the same id each time it is opened, so that nothing can be told there.
 *
 * @param {string} chosen - what tells the chosen files from others
 */
export function earlierSaving(entries, path, fields, chosen, isKeptPage) {
  const id = idOf(fields)
  if (isKeptPage || !id) return null
  const isSame = (entry) => entry.path === path && entry.chosen === chosen && typed(entry.fields) === typed(fields)
  return entries.find((entry) => isSame(entry) && idOf(entry.fields) === id) ?? null
}

/** An address of this site, or null: a link must not lead to another. */
export function ownAddress(address, origin) {
  const url = address ? new URL(address, origin) : null
  return url?.origin === origin ? url.pathname + url.search : null
}

/** The key of the round and the method that a test's path names; null for another path. */
export function roundOf(path) {
  const found = ROUND.exec(path)
  return found ? { round: found[1] ?? found[3], method: found[2] ?? "ring" } : null
}

/** Tests of a round that this device holds and its page does not know yet, in their order. */
export function testsHeld(entries, round, pageMadeAt, person) {
  return entries
    .filter((entry) => entry.person === person)
    .filter((entry) => roundOf(entry.path)?.round === round)
    .filter((entry) => entry.state !== SENT || entry.sentAt > pageMadeAt)
    .sort((a, b) => a.madeAt.localeCompare(b.madeAt))
}

/** The spots tested as the page tells them, with those of the held ring tests added. */
export function withHeld(spots, held) {
  const all = structuredClone(spots)
  for (const entry of held.filter((each) => roundOf(each.path).method === "ring")) {
    const value = (name) => entry.fields.find(([field]) => field === name)?.[1] ?? ""
    const number = (name) => (value(name) === "" ? null : Number(value(name)))
    const first = (all[value("location") || `spot ${value("spot")}`] ??= {
      tests: 0,
      ended_ms: Date.parse(value("finished_at") || entry.madeAt),
      rate_mm_h: null,
      bound: "=",
      prewet_time_s: number("prewet_time_s"),
      test_mass: number("test_mass"),
    })
    first.tests += 1
  }
  return all
}

/** The place to choose next: the first that is offered and not tested yet; the one chosen where it is still to do. */
export function nextPlace(chosen, offered, done) {
  if (!chosen || !done.includes(chosen)) return chosen
  return offered.find((place) => place && !done.includes(place)) ?? chosen
}

const NEAR_MS = 36 * 3_600_000 // a day, and the hours between time zones
const FRESH_MS = 2 * 3_600_000

/**
 * The day to show in a page that was made on another day: today's by this device's clock, in place of the page's own.
 *
 * @param {string} value - the day in the form
 * @param {number} pageMadeAt - by the server, in ms since 1970
 * @param {Date} now - by this device
 * @returns {string | null} null where the value is to stay: it is no day of the page's, or the page is of today
 */
export function dayInstead(value, pageMadeAt, now) {
  const isOfPage = Math.abs(Date.parse(`${value}T12:00Z`) - pageMadeAt) <= NEAR_MS
  const today = dayOf(now)
  return isOfPage && value !== today && Math.abs(now - pageMadeAt) > FRESH_MS ? today : null
}

/** The day of a time by this device's calendar, as a form takes it. */
export function dayOf(time) {
  const two = (number) => String(number).padStart(2, "0")
  return `${time.getFullYear()}-${two(time.getMonth() + 1)}-${two(time.getDate())}`
}

/** Whether an entry of another address is meant by a link to the form that made it; not by one that opens the entry itself. */
export function isAbout(entry, address) {
  const [path, asked] = parts(address)
  const [madeAt, made] = parts(entry.page)
  const otherMethod = asked.has("method") && made.has("method") && asked.get("method") !== made.get("method")
  return entry.state !== SENT && path === madeAt && !asked.has("queued") && !otherMethod
}

function parts(address) {
  const [path, query] = address.split("?")
  return [path, new URLSearchParams(query ?? "")]
}
