/* Keeps the pages of the days ahead, and what they are made of, for when there is no signal. */

import * as store from "./store.js"

const EVERY_MS = 5 * 60_000
const SHELL = "shell"
const LOCK = "rainthrough-pages"

export const cacheOf = (person) => `kept-${person}`

/** Pages of others are taken away: a phone may go from hand to hand. */
export async function forgetOthers(person) {
  for (const name of await caches.keys())
    if (name.startsWith("kept-") && name !== cacheOf(person)) await caches.delete(name)
}

async function fetched(address, cache = "no-store") {
  const response = await fetch(address, { credentials: "same-origin", redirect: "manual", cache })
  return response.status === 200 ? response : null
}

/** With when it was kept, which the worker tells the page. */
async function stamped(response) {
  const headers = new Headers(response.headers)
  headers.set("X-Kept-At", new Date().toISOString())
  headers.delete("Content-Encoding")
  return new Response(await response.blob(), { headers })
}

async function keepShell(files, version) {
  if ((await store.fact("shellVersion")) === version) return
  const cache = await caches.open(SHELL)
  for (const file of files) {
    const response = await fetched(file, "default") // most came with the pages: their names say what is in them
    if (!response) return // begun again next time
    await cache.put(file, response)
  }
  await store.keepFact("shellVersion", version)
}

async function keepEach(pages, cache) {
  const stamps = (await store.fact("pageStamps")) ?? {}
  const next = {}
  for (const { address, stamp } of pages) {
    const isThere = stamps[address] === stamp && (await cache.match(address))
    const response = isThere ? null : await fetched(address)
    if (response) await cache.put(address, await stamped(response))
    if (isThere || response) next[address] = stamp
    if (response) await store.keepFact("pageStamps", { ...stamps, ...next })
  }
  await store.keepFact("pageStamps", next)
}

async function dropOld(pages, files, cache) {
  const wanted = new Set(pages.map(({ address }) => new URL(address, location.href).href))
  for (const request of await cache.keys()) if (!wanted.has(request.url)) await cache.delete(request)
  const shell = await caches.open(SHELL)
  const made = new Set(files.map((file) => new URL(file, location.href).href))
  for (const request of await shell.keys()) if (!made.has(request.url)) await shell.delete(request)
}

async function keepAll(person) {
  await forgetOthers(person)
  const pinned = (await store.fact("pinned")) ?? []
  const query = new URLSearchParams(pinned.map((pk) => ["surface", pk]))
  const response = await fetched(`/field/pages/?${query}`)
  if (!response) return
  const { person: whose, pages, shell, version } = await response.json()
  if (whose !== person) return // another tab signed in as somebody else
  const cache = await caches.open(cacheOf(person))
  await keepShell(shell, version)
  await keepEach(pages, cache)
  await dropOld(pages, shell, cache)
  await store.keepFact("pagesOf", { person, count: pages.length, at: Date.now() })
  dispatchEvent(new Event("fieldpages"))
}

/**
 * Bring the kept pages up to date; one tab at a time.
 *
 * force: what is wanted changed, so that a look which is under way would miss it; else at most every few minutes.
 */
export async function keepPages(person, { force = false } = {}) {
  const of = await store.fact("pagesOf")
  const isFresh = of?.person === person && Math.abs(Date.now() - of.at) < EVERY_MS
  if ((isFresh && !force) || !("caches" in self) || document.documentElement.dataset.kept !== undefined) return
  try {
    await navigator.locks.request(LOCK, { ifAvailable: !force }, (lock) => lock && keepAll(person))
  } catch (error) {
    if (!(error instanceof TypeError)) throw error // no signal: what is kept stays
  }
}

/** Keep a surface's pages too, or no longer. */
export async function pin(surface, isWanted) {
  const pinned = ((await store.fact("pinned")) ?? []).filter((pk) => pk !== surface)
  await store.keepFact("pinned", isWanted ? [...pinned, surface] : pinned)
}
